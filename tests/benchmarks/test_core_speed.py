"""Speed of the whole core on the diamond frame: pairs in one run, ratios only."""

from collections.abc import Callable
from pathlib import Path
from time import perf_counter

import numpy as np
import pytest
from manifold3d import Manifold

from frame3d import load
from frame3d.model import ENDS
from frame3d.share.meshes import arrays
from frame3d.solids.frame import frame_solids
from frame3d.solids.raw import raw_tube
from frame3d.solids.tools import tool_solid
from frame3d.solids.tube import _reach, bench_axes, raw_extent
from frame3d.surfaces.cope import copes_of

CHORD = 0.005
DIAMOND = Path(__file__).parents[2] / "examples" / "diamond" / "job.toml"


def best_of(times: int, *works: Callable[[], object]) -> list[float]:
    """The best time of each, seconds; taken in turns, so that a busy machine burdens all alike."""
    taken = [[] for _ in works]
    for _ in range(times):
        for work, own in zip(works, taken, strict=True):
            start = perf_counter()
            work()
            own.append(perf_counter() - start)
    return [min(own) for own in taken]


@pytest.fixture(scope="module")
def frame():
    return load(DIAMOND)


def product(frame):
    """Copes, solids and the arrays of their meshes."""
    return [arrays(tube) for tube in frame_solids(frame, copes_of(frame), CHORD).tubes.values()]


@pytest.mark.peer
def test_diamond_frame_is_at_least_4_times_as_fast_as_an_exact_kernel(frame, need, record_property):
    """The kernel is told seats and tips before the clock runs; it cuts, and meshes to the same
    chord error. It then has the fewer triangles, since ours keep the volume to 2e-5 as well."""
    need("OCP")
    from brep import triangles
    from reference.kernel import cut, planned

    works = [planned(frame, tube.name) for tube in frame.tubes]

    def theirs():
        return [triangles(cut(work), CHORD) for work in works]

    product(frame)
    ours_s, theirs_s = best_of(3, lambda: product(frame), theirs)
    ratio = theirs_s / ours_s
    record_property("times faster than the B-rep kernel", ratio)
    print(f"ours {ours_s:.3f} s, kernel {theirs_s:.3f} s: {ratio:.1f} times as fast")
    assert ratio >= 4


def test_diamond_frame_is_within_one_and_a_half_of_the_bare_booleans(frame, record_property):
    """The same facets and the same booleans, with all their meshes at hand before the clock runs:
    what remains is what the kernel of meshes itself takes."""
    copes = copes_of(frame)
    works = []
    for tube in frame.tubes:
        own = {end: copes[tube.name, end] for end in ENDS if (tube.name, end) in copes}
        extent = raw_extent(tube, own)
        cuts = []
        for cope in own.values():
            tools = [tool_solid(tool, _reach(cope, extent), CHORD) for tool in cope.tools]
            shift = tuple(cope.seat * cope.frame.out)
            bench, home = bench_axes(cope.frame, cope.theta[0])
            meshes = [tool.translate(shift).transform(bench).to_mesh64() for tool in tools]
            cuts.append((bench, meshes, home))
        works.append((raw_tube(tube, extent, CHORD).to_mesh64(), cuts))

    def bare():
        made = []
        for raw, cuts in works:
            body = Manifold(raw)
            for bench, tools, home in cuts:
                body = body.transform(bench)
                for tool in tools:
                    body = body - Manifold(tool)
                body = body.transform(home)
            pieces = body.simplify(CHORD / 100).decompose() if cuts else [body]
            made.append([np.asarray(piece.to_mesh64().tri_verts) for piece in pieces])
        return made

    product(frame), bare()
    ours_s, bare_s = best_of(9, lambda: product(frame), bare)
    ratio = ours_s / bare_s
    record_property("times the bare booleans", ratio)
    print(f"ours {ours_s:.3f} s, bare booleans {bare_s:.3f} s: {ratio:.2f} times")
    assert ratio <= 1.5
