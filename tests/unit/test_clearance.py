"""Clearances on the solids, against closed forms, dense sampling and the kernel's own distance."""

import math
from dataclasses import replace

import numpy as np
import pytest
from draws import draws
from hypothesis import given
from hypothesis import strategies as st
from manifold3d import CrossSection, Manifold

from frame3d.check.clearances import Clearance, clearances, ring_radius
from frame3d.check.envelopes import Disc, Ghost, Ring
from frame3d.check.nearest import between, to_ghost
from frame3d.model import (
    Bend,
    Cranks,
    Frame,
    Limits,
    Pair,
    Part,
    Plate,
    Profile,
    Room,
    Show,
    Tube,
)
from frame3d.solids.frame_solids import Solids, frame_solids
from frame3d.surfaces.outer import outer_surface

LIMITS = Limits(end_margin_mm=3.0, least_angle_deg=10.0, feather_mm=0.02, clash_mm3=1.0)
ACROSS = np.array([0.0, 1.0, 0.0])
ORIGIN = np.zeros(3)
TYRE = Ring(ORIGIN, ACROSS, 327.0, 16.0)
FACETS = 0.006  # a flat stands 5 µm inside its tube


def tube(start: tuple[float, ...], end: tuple[float, ...], od: float = 20.0) -> Tube:
    return Tube("tube", start, end, Profile.constant(od), Profile.constant(1.0))  # type: ignore[arg-type]


def solids(*tubes: Tube) -> Solids:
    return frame_solids(Frame("x", "tig", tubes, (), LIMITS), {})


def body(one: Tube) -> Manifold:
    return solids(one).tubes["tube"].solid


def test_a_bridge_before_a_tyre_is_as_far_as_the_radii_leave() -> None:
    """Parallel to the axle at 380: 380 - 10 - 343 = 27 between bridge and tyre."""
    found = to_ghost(body(tube((380, -40, 0), (380, 40, 0))), TYRE)
    assert found.distance == pytest.approx(27, abs=FACETS)
    assert found.one == pytest.approx([370, 0, 0], abs=0.1)
    assert found.other == pytest.approx([343, 0, 0], abs=0.1)


def test_a_stay_beside_a_tyre_is_as_far_as_the_halves_leave() -> None:
    """Along the wheel's plane, 36 from it: 36 - 10 - 16 = 10, at the height of the axle."""
    found = to_ghost(body(tube((250, 36, 0), (500, 36, 0))), TYRE)
    assert found.distance == pytest.approx(10, abs=FACETS)
    assert found.one == pytest.approx([327, 26, 0], abs=0.1)


def test_a_tube_in_the_tyre_is_told_by_how_much() -> None:
    found = to_ghost(body(tube((348, -40, 0), (348, 40, 0))), TYRE)
    assert found.distance == pytest.approx(348 - 10 - 343, abs=0.06)


def test_a_stay_beside_a_chain_ring_and_one_above_it() -> None:
    ring = Disc(np.array([0.0, -44.0, 0.0]), ACROSS, 97.0, 4.0)
    beside = to_ghost(body(tube((-300, -25, 0), (50, -25, 0))), ring)
    assert beside.distance == pytest.approx(44 - 25 - 10 - 4, abs=FACETS)
    above = to_ghost(body(tube((0, -100, 120), (0, 100, 120))), ring)
    assert above.distance == pytest.approx(120 - 10 - 97, abs=FACETS)
    corner = to_ghost(body(tube((-300, -30, 110), (300, -30, 110))), ring)
    # the disc's edge at its top: 10 from the stay's axis across, 13 up
    assert corner.distance == pytest.approx(math.hypot(10, 13) - 10, abs=FACETS)
    crossed = to_ghost(body(tube((0, -100, 50), (0, 100, 50))), ring)
    assert crossed.distance == pytest.approx(-4, abs=0.06)


@draws(few=10, many=30)
@given(
    x=st.floats(-420, 420),
    y=st.floats(-80, 80),
    z=st.floats(-420, 420),
    turn=st.floats(0, 2 * math.pi),
    rise=st.floats(-1.5, 1.5),
    ghost=st.sampled_from([TYRE, Disc(ORIGIN, ACROSS, 180.0, 7.0)]),
)
def test_any_tube_is_as_near_as_dense_points_of_its_exact_outside(
    x: float, y: float, z: float, turn: float, rise: float, ghost: Ghost
) -> None:
    along = np.array([math.cos(turn), math.sin(turn) * math.cos(rise), math.sin(rise)])
    along = along / np.linalg.norm(along)
    start = np.array([x, y, z])
    one = tube(tuple(start.tolist()), tuple((start + 150 * along).tolist()))
    found = to_ghost(body(one), ghost)
    _, _, datums = one.centreline.at(0.0)
    side = np.cross(along, datums[0])
    at, theta = np.meshgrid(np.linspace(0, 150, 301), np.linspace(0, 2 * np.pi, 181))
    skins = [10.0, *np.linspace(9.0, 10.0, 3)]
    dense = np.inf
    for radius in skins:
        ring = radius * (np.cos(theta)[..., None] * datums[0] + np.sin(theta)[..., None] * side)
        points = (start + at[..., None] * along + ring).reshape(-1, 3)
        dense = min(dense, float(ghost.distance(points.T).min()))
    assert found.distance <= dense + (FACETS if dense > 0 else 0.06)
    assert found.distance >= dense - 0.6  # how far apart the dense points stand
    assert abs(float(outer_surface(one).distance(found.one[None])[0])) < 1.01  # within the wall
    assert abs(float(ghost.distance(found.other[:, None])[0])) < 1e-6


def test_a_bent_stay_is_measured_by_the_kernel_alike() -> None:
    bent = replace(tube((250, 60, -20), (420, 30, 60)), bends=(Bend((330.0, 25.0, 20.0), 80.0),))
    section = CrossSection.circle(16.0, 120).translate((327.0, 0.0))
    torus = Manifold.revolve(section, 1000, 15.0).rotate((90.0, 0.0, 0.0))  # where it is nearest
    metal = body(bent)
    assert to_ghost(metal, TYRE).distance == pytest.approx(metal.min_gap(torus, 5), abs=0.015)


def test_two_skew_tubes_are_as_far_as_their_axes_less_both_radii() -> None:
    one = tube((-100, 0, 0), (100, 0, 0))
    other = replace(tube((-60, -80, 50), (90, 120, 50), od=30.0), name="other")
    parts = solids(one, other).tubes
    found = between(parts["tube"].solid, parts["other"].solid)
    assert found.distance == pytest.approx(50 - 10 - 15, abs=2 * FACETS)
    assert found.one == pytest.approx([0, 0, 10], abs=0.5)
    assert found.other == pytest.approx([0, 0, 35], abs=0.5)


def test_two_tubes_in_each_other_have_no_clearance() -> None:
    one = tube((-100, 0, 0), (100, 0, 0))
    other = replace(tube((0, -80, 5), (0, 80, 5)), name="other")
    parts = solids(one, other).tubes
    assert between(parts["tube"].solid, parts["other"].solid).distance == 0.0


# A bicycle worked by hand in tests/validation/test_16cfr_1512_17.py: shell at the origin, chain
# stays of 430 with a drop of 70, head angle 72, no rake: front axle on the steering axis.
AHEAD = 1000 - math.sqrt(430**2 - 70**2)
CRANKS = Cranks((0.0, 0.0, 0.0), 170, 60, 14, 13, 46, 43.5, 8, 110, 155, 12, 155, 45, 65)
WHEELS = (
    Part("rear wheel", "wheel", (AHEAD - 1000, 0.0, 70.0), 32.0, 343.0),
    Part("front wheel", "wheel", (AHEAD, 0.0, 70.0), 32.0, 343.0),
)


def bicycle(room: Room, raised: float = 0.0) -> Frame:
    """The head tube stands on the line through the axle, or `raised` behind it."""
    up = np.array([-math.cos(math.radians(72)), 0.0, math.sin(math.radians(72))])
    foot = np.array([AHEAD, 0.0, 70.0]) - raised * np.array([up[2], 0.0, -up[0]])
    start, end = (tuple((foot + at * up).tolist()) for at in (400.0, 550.0))
    head = Tube("head tube", start, end, Profile.constant(36.0), Profile.constant(1.6))
    shell = Tube("shell", (0, -34, 0), (0, 34, 0), Profile.constant(40.0), Profile.constant(3.0))
    return Frame("b", "tig", (head, shell), (), LIMITS, show=Show(parts=WHEELS), room=room)


def measured(frame: Frame) -> dict[tuple[str, str], Clearance]:
    lines = clearances(frame, frame_solids(frame, {})).lines
    return {(line.kind, line.to): line for line in lines}


def test_toe_and_lean_of_a_frame_are_the_hand_worked_ones() -> None:
    """Toe: AHEAD - 170 - sqrt(343^2 - 110^2 - 70^2) = 88.484, short of the rule's 89. Lean on
    tyres of 32: the pedal's corner 155 out and 273 - 182 = 91 above the ground."""
    lines = measured(bicycle(Room(CRANKS)))
    toe = lines["toe", "front wheel"]
    assert toe.value == pytest.approx(88.484, abs=0.001)
    assert (toe.limit, toe.passes) == (89, False)
    lean = lines["pedal_lean", "ground"]
    wanted = math.atan2(91 - 16, 155) + math.asin(16 / math.hypot(91 - 16, 155))
    assert lean.value == pytest.approx(math.degrees(wanted), abs=1e-6)
    assert (lean.limit, lean.unit, lean.passes) == (25, "deg", True)


def test_rake_is_read_off_the_head_tube() -> None:
    from frame3d.bicycle.toe_clearance import toe_clearance
    from tests.frames import bicycle_of

    numbers = {
        "rear_wheel_radius": 343,
        "front_wheel_radius": 343,
        "bb_drop": 70,
        "chain_stay_length": 430,
        "head_tube_angle": 72,
        "rake": 50,
        "fork_length": 393,
        "head_tube_length": 150,
        "lower_headset_stack": 12,
        "wheelbase": 1000,
        "seat_tube_angle": 73,
        "seat_tube_length": 540,
    }
    geometry = bicycle_of(numbers).geometry
    wanted = toe_clearance(geometry, (170, 110, 0), 32.0).distance
    toe = measured(bicycle(Room(CRANKS), raised=50.0))["toe", "front wheel"]
    assert toe.value == pytest.approx(wanted, abs=1e-6)


def test_with_foot_retention_toe_clearance_is_only_told() -> None:
    toe = measured(bicycle(Room(CRANKS, foot_retention=True)))["toe", "front wheel"]
    assert toe.value < toe.limit
    assert toe.passes


def test_a_mudguard_is_what_the_toe_meets() -> None:
    toe = measured(bicycle(Room(CRANKS, mudguard=(45.0, 360.0))))["toe", "front mudguard"]
    by_hand = AHEAD - 170 - math.sqrt(360**2 - 110**2 - 70**2)
    assert toe.value == pytest.approx(by_hand, abs=1e-6)


def test_cranks_ring_and_heels_are_measured_to_the_stay_they_pass() -> None:
    """A stay along x at y = -30 of 20: its side at -40. Ring: middle at -43.5, half 4: -0.5 mm;
    crank: inner side at -60: 20 mm; heel's ball: 110 - 32.5 = 77.5: 37.5 mm where the circle's
    height, 45 over the shell and 170 around, passes the stay's."""
    stay = Tube("stay", (-420, -30, 0), (-30, -30, 0), Profile.constant(20.0), Profile.constant(1))
    frame = Frame("b", "tig", (stay,), (), LIMITS, room=Room(CRANKS))
    found = {
        (line.kind, line.what): line for line in clearances(frame, frame_solids(frame, {})).lines
    }
    ring = found["chain_ring", "chain ring"]
    assert ring.value == pytest.approx(43.5 - 4 - 40, abs=0.06)
    assert not ring.passes
    assert found["crank", "right crank"].value == pytest.approx(20, abs=FACETS)
    assert found["heel", "right heel"].value == pytest.approx(37.5, abs=FACETS)
    assert found["crank", "left crank"].value == pytest.approx(80, abs=FACETS)
    assert ring_radius(CRANKS) == pytest.approx(12.7 / 2 / math.sin(math.pi / 46) + 4.3)


def test_a_job_sets_its_own_limits() -> None:
    stay = Tube("stay", (-420, -30, 0), (-30, -30, 0), Profile.constant(20.0), Profile.constant(1))
    frame = Frame("b", "tig", (stay,), (), LIMITS, room=Room(CRANKS, {"crank": 21.0, "heel": 12.0}))
    lines = clearances(frame, frame_solids(frame, {})).lines
    by_name = {line.what: line for line in lines}
    assert not by_name["right crank"].passes
    assert by_name["right heel"].limit == 12.0


def test_named_parts_are_measured_whether_built_or_only_drawn() -> None:
    post = Tube("post", (0, 0, -50), (0, 0, 50), Profile.constant(20.0), Profile.constant(1.0))
    plate = Plate("tab", ((0, 0), (10, 0), (10, 10), (0, 10)), 4.0, (30.0, 0.0, 0.0))
    rod = Part("cable", "rod", (0.0, 40.0, -50.0), 6.0, end=(0.0, 40.0, 50.0))
    room = Room(pairs=(Pair(("post", "tab"), 25.0), Pair(("cable", "post"), 5.0)))
    frame = Frame(
        "b", "tig", (post,), (), LIMITS, plates=(plate,), show=Show(parts=(rod,)), room=room
    )
    tab, cable = clearances(frame, frame_solids(frame, {})).lines
    assert tab.value == pytest.approx(20.0, abs=FACETS)
    assert not tab.passes
    assert cable.value == pytest.approx(40 - 10 - 3, abs=FACETS)
    assert cable.passes


def test_a_frame_without_wheels_and_cranks_has_nothing_to_measure() -> None:
    frame = Frame("b", "tig", (tube((0, 0, 0), (100, 0, 0)),), (), LIMITS)
    assert clearances(frame, frame_solids(frame, {})).lines == ()
