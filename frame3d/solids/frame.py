"""All tubes of a frame as finished solids, and the volume that any two share."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from frame3d.model import ENDS, Frame, direction, end_frame
from frame3d.solids.facets import CHORD_MM
from frame3d.solids.holes import drilled
from frame3d.solids.rings import Array
from frame3d.solids.tube import FinishedTube, bench_axes, finished_tube
from frame3d.surfaces.cope import Copes


@dataclass(frozen=True)
class Clash:
    """Two tubes that stand in each other, and by how much, mm3."""

    tubes: tuple[str, str]
    volume: float


@dataclass(frozen=True, eq=False)
class Solids:
    """Finished tubes by name, in the job's order."""

    tubes: dict[str, FinishedTube]

    @cached_property
    def boxes(self) -> Array:
        """(T, 2, 3): least and greatest corner of each tube, mm."""
        return np.array([t.solid.bounding_box() for t in self.tubes.values()]).reshape(-1, 2, 3)


def frame_solids(
    frame: Frame,
    copes: Copes,
    chord: float = CHORD_MM,
    done: Callable[[str], None] = lambda name: None,
) -> Solids:
    """Cut every tube; `done` hears the name of each."""
    tubes = {}
    for tube in frame.tubes:
        own = {end: copes[tube.name, end] for end in ENDS if (tube.name, end) in copes}
        finished = finished_tube(tube, own, chord)
        holes = [hole for hole in frame.holes if hole.tube == tube.name]
        tubes[tube.name] = replace(finished, solid=drilled(finished.solid, tube, holes, chord))
        done(tube.name)
    return Solids(tubes)


def clashes(frame: Frame, solids: Solids) -> list[Clash]:
    """Pairs of tubes that stand in each other by more than the limit.

    A coped tube and its mate only touch: the cope ends it at the first entry, and the seat takes
    back what a saw left too long. All other pairs are measured.
    """
    joined = {frozenset((joint.tube, name)) for joint in frame.joints for name in joint.onto}
    names = list(solids.tubes)
    low, high = solids.boxes[:, 0], solids.boxes[:, 1]
    meet = (low[:, None] < high[None]).all(axis=2) & (low[None] < high[:, None]).all(axis=2)
    found = []
    for i, j in np.argwhere(np.triu(meet, 1)):
        pair = names[i], names[j]
        if frozenset(pair) in joined:
            continue
        one, other = (solids.tubes[name] for name in pair)
        if _axes_apart(one, other) >= one.tube.widest + other.tube.widest:
            continue
        bench, _ = bench_axes(end_frame(one.tube, "start"))  # where the kernel is fastest
        shared = one.solid.transform(bench) ^ other.solid.transform(bench)
        if shared.volume() > frame.limits.clash_mm3:
            found.append(Clash(pair, float(shared.volume())))
    return found


def _axes_apart(one: FinishedTube, other: FinishedTube) -> float:
    """Shortest distance between two tubes' axes, from raw end to raw end, mm; 0 if one is bent."""
    if one.tube.bends or other.tube.bends:
        return 0.0
    (p, u, a), (q, v, b) = (_axis(one), _axis(other))
    between, turn = q - p, float(u @ v)
    # The nearest points of the endless lines, then each clamped in turn to its own length.
    crossing = (between @ u - turn * (between @ v)) / max(1.0 - turn**2, 1e-12)
    t = np.clip((np.clip(crossing, 0.0, a) * u - between) @ v, 0.0, b)
    s = np.clip((t * v + between) @ u, 0.0, a)
    return float(np.linalg.norm(between + t * v - s * u))


def _axis(finished: FinishedTube) -> tuple[Array, Array, float]:
    """A raw end (3,), the direction (3,) and the length of the raw tube's axis, mm."""
    along, extent = direction(finished.tube), finished.extent
    return finished.tube.start + extent.start * along, along, extent.end - extent.start
