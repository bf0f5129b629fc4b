"""Distances to shaped tubes, against an exact B-rep kernel: Open CASCADE (cadquery-ocp)."""

import numpy as np
import pytest

from frame3d.model import Centreline, Profile, Straight, Turn
from frame3d.surfaces.revolution import Revolution
from frame3d.surfaces.surface import Surface
from frame3d.surfaces.sweep import Sweep

pytestmark = pytest.mark.peer

START, AHEAD, DATUM = (5.0, -3.0, 2.0), (1.0, 0.2, 0.1), (0.0, 0.0, 1.0)
FAR = 300.0  # how far the kernel's solids run on past both ends, to stand for endless ones
BENT = Centreline.of_runs(
    START, AHEAD, DATUM, [Straight(60), Turn(120, 35, 40), Straight(40), Turn(80, 50, 200)]
)
STRAIGHT = Centreline.of_runs(START, AHEAD, DATUM, [Straight(300)])


@pytest.fixture
def brep(need):
    need("OCP")
    import brep

    return brep


def around(line: Centreline, count: int, spread: float, inner: float = 0.0) -> np.ndarray:
    """Random points about the axis, `inner` of its length left out at both ends."""
    rng = np.random.default_rng(20)
    station = rng.uniform(inner * line.length, (1 - inner) * line.length, count)
    return line.at(station)[0] + rng.normal(size=(count, 3)) * spread


def agrees(brep, shape: object, surface: Surface, points: np.ndarray, limit: float) -> None:
    judged = brep.distances(shape, points)
    assert (judged < 0).sum() > len(points) // 20  # some inside, some outside
    assert (judged > 0).sum() > len(points) // 20
    np.testing.assert_allclose(surface.distance(points), judged, rtol=0, atol=limit)


def test_tapered_and_stepped_round_tube(brep):
    od = Profile.through([(0, 28.6), (60, 28.6), (180, 16.0), (180, 20.0), (260, 12.0)])
    (origin,), (ahead,), (datum,) = STRAIGHT.at(0.0)
    outline = [
        (s, d / 2) for s, d in zip((-FAR, *od.at, 600), (28.6, *od.value, 12.0), strict=True)
    ]
    shape = brep.revolve(origin, ahead, datum, outline)
    agrees(brep, shape, Revolution(origin, ahead, od), around(STRAIGHT, 1500, 12.0), 1e-9)


def test_round_tube_with_two_bends_in_different_planes(brep):
    wire = brep.spine(BENT, -FAR, BENT.length + FAR)
    shape = brep.sweep(wire, brep.section(BENT, -FAR, 12.0, 12.0, 0.0))
    surface = Sweep(BENT, Profile.constant(24.0), Profile.constant(24.0))
    agrees(brep, shape, surface, around(BENT, 1500, 15.0), 1e-9)


def test_oval_tube_with_two_bends_keeps_its_section_untwisted(brep):
    wire = brep.spine(BENT, -FAR, BENT.length + FAR)
    shape = brep.sweep(wire, brep.section(BENT, -FAR, 14.0, 8.0, 0.6))
    surface = Sweep(BENT, Profile.constant(28.0), Profile.constant(16.0), 0.6)
    agrees(brep, shape, surface, around(BENT, 1500, 15.0), 1e-9)


def test_straight_tube_from_round_to_oval_to_round(brep):
    first = Profile.through([(0, 24), (100, 30), (150, 30), (260, 14)])
    second = Profile.through([(0, 24), (100, 16), (150, 16), (260, 14)])
    stations = np.array([-FAR, 0, 100, 150, 260, 600])
    wires = [
        brep.section(STRAIGHT, s, a / 2, b / 2, 0.6)
        for s, a, b in zip(stations, first(stations), second(stations), strict=True)
    ]
    surface = Sweep(STRAIGHT, first, second, 0.6)
    agrees(brep, brep.loft(wires), surface, around(STRAIGHT, 600, 14.0), 1e-6)


@pytest.mark.parametrize("across", [24.0, 15.0], ids=["round", "oval"])
def test_tube_that_tapers_round_a_bend(brep, across):
    arc = Centreline.of_runs(START, AHEAD, DATUM, [Turn(120, 70, 40)])
    small = 0.6
    shape = brep.sweep(
        brep.spine(arc, 0.0, arc.length), brep.section(arc, 0.0, 12.0, across / 2, 0.6), small
    )
    ends = (0.0, arc.length)
    surface = Sweep(
        arc, Profile(ends, (24, 24 * small)), Profile(ends, (across, across * small)), 0.6
    )
    # The kernel's solid ends where the bend does, ours goes on: points stay away from the ends.
    agrees(brep, shape, surface, around(arc, 300, 5.0, inner=0.2), 1e-6)
