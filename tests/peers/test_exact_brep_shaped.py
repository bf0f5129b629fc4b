"""The examples' joints with tapered, oval and bent tubes, against the same exact B-rep kernel.

test_exact_brep.py judges all joints of straight round tubes; this file judges the others.
"""

from functools import cache

import numpy as np
import pytest
from test_exact_brep import JOBS, is_plain, job, ours

from frame3d.model import ENDS, Frame, Tube
from frame3d.solids.finished_tube import finished_tube

pytestmark = pytest.mark.peer

FAR = 200.0  # how far the kernel's shapes run on past both ends of the axis, to stand for endless
MICROMETRE = 1e-3
OURS = 2e-5


def shaped_joints() -> list:
    found = []
    for name in sorted(JOBS):
        frame = job(name)
        for joint in frame.joints:
            if not all(is_plain(frame.tube(t)) for t in (joint.tube, *joint.onto)):
                found.append(pytest.param(name, joint, id=f"{name}: {joint.tube}, {joint.end}"))
    return found


def shaped_tubes() -> list:
    """Tubes with such a joint, but for ovals: no kernel's loft has a bore with an even wall."""
    found = {}
    for name, joint in (param.values for param in shaped_joints()):
        if job(name).tube(joint.tube).oval is None:
            found[name, joint.tube] = pytest.param(name, joint.tube, id=f"{name}: {joint.tube}")
    return list(found.values())


@pytest.fixture(autouse=True)
def _kernel(need):
    need("OCP")


def shape(tube: Tube, low: float, high: float, depth: float = 1.0):
    """What the outside (depth 1) or the bore (0) holds from `low` to `high`, mm from the start."""
    import brep

    line = tube.centreline

    def radius(station):
        return tube.od(station) / 2 - (1 - depth) * tube.wall(station)

    profiles = (tube.od, tube.wall, *((tube.oval.across,) if tube.oval else ()))
    marks = sorted({at for profile in profiles for at in profile.at if low < at < high})
    # On both sides of a step, since it has two values there; elsewhere the kernel would stumble
    # over so short an edge.
    steps = {at for profile in profiles for at in profile.at if profile.at.count(at) > 1}
    inner = [at + side for at in marks for side in ((-1e-6, 1e-6) if at in steps else (0.0,))]
    stations = np.array([low, *inner, high])
    (origin,), (ahead,), (datum,) = line.at(0.0)
    if tube.bends:
        assert tube.od.is_constant
        assert tube.wall.is_constant
        r = float(radius(0.0))
        return brep.sweep(brep.spine(line, low, high), brep.section(line, low, r, r, 0.0))
    if tube.oval is None:
        return brep.revolve(origin, ahead, datum, np.column_stack([stations, radius(stations)]))
    assert depth == 1.0
    sides = tube.od(stations) / 2, tube.oval.across(stations) / 2
    angle = np.radians(tube.oval.angle)
    return brep.loft(
        [
            brep.section(line, s, float(a), float(b), angle)
            for s, a, b in zip(stations, *sides, strict=True)
        ]
    )


@cache
def mate_shape(name: str, mate: str):
    tube = job(name).tube(mate)
    return shape(tube, -FAR, tube.length + FAR)


def tool_shape(name: str, mate: str, saw: float | None, near):
    """What takes the metal away for one mate, before the end slides to its seat."""
    from reference.kernel import tool

    if saw is None:
        return mate_shape(name, mate)
    return tool(job(name).tube(mate), saw / 2, near, np.zeros(3))


@pytest.mark.parametrize(("name", "joint"), shaped_joints())
def test_the_end_lies_on_the_kernels_tools(name, joint):
    """All around both edges and the middle of the wall: on one tool, and inside none."""
    import brep

    cope = ours(name)[0][joint.tube, joint.end]
    theta, depth = (
        g.ravel() for g in np.meshgrid(np.linspace(0.1, 2 * np.pi, 16, False), [0.0, 0.5, 1.0])
    )
    points = cope.points(theta, depth) - cope.seat * cope.frame.out
    assert np.isfinite(points).all()
    away = [
        brep.distances(tool_shape(name, mate, saw, cope.frame.origin), points)
        for mate, saw in zip(joint.onto, joint.saws, strict=True)
    ]
    assert np.abs(np.min(away, axis=0)).max() < MICROMETRE


@pytest.mark.parametrize(("name", "joint"), shaped_joints())
def test_the_seated_end_just_touches_the_kernels_mates(name, joint):
    import brep

    cope = ours(name)[0][joint.tube, joint.end]
    theta, depth = cope.theta[::8], np.array([0.0, 1.0])
    points = cope.points(*(g.ravel() for g in np.meshgrid(theta, depth)))
    gap = np.min([brep.distances(mate_shape(name, mate), points) for mate in joint.onto], axis=0)
    assert gap.min() > -MICROMETRE
    assert gap.min() < 0.02  # these points need not hold the very point of touch


@pytest.mark.parametrize(("name", "tube"), shaped_tubes())
def test_volume(name, tube):
    from OCP.BRepAlgoAPI import BRepAlgoAPI_Cut
    from OCP.gp import gp_Trsf, gp_Vec
    from OCP.TopLoc import TopLoc_Location
    from reference.kernel import distance, solids, volume

    frame: Frame = job(name)
    copes, _ = ours(name)
    model = frame.tube(tube)
    own = {end: copes[tube, end] for end in ENDS if (tube, end) in copes}
    coped = finished_tube(model, own)
    # Longer than the longest tip by some millimetres: of a bare sliver the kernel cuts nothing off.
    low, high = coped.extent.start, coped.extent.end
    low, high = low - 4.0 * ("start" in own), high + 4.0 * ("end" in own)
    body = BRepAlgoAPI_Cut(shape(model, low, high), shape(model, low - 1, high + 1, 0.0)).Shape()
    for joint in (j for j in frame.joints if j.tube == tube):
        cope = copes[tube, joint.end]
        slide = gp_Trsf()
        slide.SetTranslation(gp_Vec(*map(float, cope.seat * cope.frame.out)))
        for mate, saw in zip(joint.onto, joint.saws, strict=True):
            cutter = tool_shape(name, mate, saw, cope.frame.origin)
            body = BRepAlgoAPI_Cut(body, cutter.Moved(TopLoc_Location(slide))).Shape()
    middle = model.centreline.at(model.length / 2)[0][0]
    piece = min(solids(body), key=lambda piece: distance(piece, middle))
    # Slots, plugs and pinched ends are judged by closed forms elsewhere; here the copes alone are.
    assert abs(coped.volume / volume(piece) - 1) < OURS


def test_every_joint_of_the_examples_is_judged():
    from test_exact_brep import plain_joints

    judged = len(plain_joints()) + len(shaped_joints())
    assert judged == sum(len(job(name).joints) for name in JOBS)
