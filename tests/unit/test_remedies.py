"""What is told to clear a part clears it when it is done, and a little less does not."""

import re
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from test_clearance import CRANKS, LIMITS, WHEELS, bicycle, measured, tube

from frame3d.bicycle.bought_parts import Wheel
from frame3d.check.clearances import Clearance, clearances
from frame3d.model import Bend, Cranks, Frame, Pair, Part, Room, Show, Tube
from frame3d.quantities import told_beside
from frame3d.solids.frame_solids import frame_solids

WHEEL = Part("wheel", "wheel", (0.0, 0.0, 0.0), 32.0, 343.0)


def beside(one: Tube, wheel: Part = WHEEL) -> Clearance:
    frame = Frame("x", "tig", (one,), (), LIMITS, show=Show(parts=(wheel,)))
    (line,) = clearances(frame, frame_solids(frame, {})).lines
    return line


def stay(y: float) -> Tube:
    return tube((250, y, 0), (500, y, 0))


def value(pattern: str, line: Clearance) -> float:
    found = re.search(pattern, line.remedy)
    assert found is not None, line.remedy
    return float(found[1])


def test_a_narrower_tyre_on_the_same_rim_clears_a_stay() -> None:
    """Of 32 mm the stay stands 31 - 10 - 16 = 5 off, 6 are wanted: 30 will do."""
    line = beside(stay(31.0))
    width = value(r"a tyre of (\d+) mm", line)
    assert width == 30.0
    bead = 2 * (343.0 - 32.0)
    for narrower, passes in ((width, True), (width + 1, False)):
        other = Wheel(narrower, bead)
        assert beside(stay(31.0), replace(WHEEL, width=narrower, radius=other.radius)).passes is (
            passes
        )


def test_a_stay_is_pressed_in_or_bent_away_by_what_is_lacking_where_it_is() -> None:
    line = beside(stay(31.0))
    assert value(r"pressed in by ([0-9.]+) mm", line) == 1.0
    low, high = (value(rf"from {word}", line) for word in (r"(\d+) to", r"\d+ to (\d+) mm"))
    # Beside the ring of 327 the side at 21 comes within 22 of it where |x - 327| <= sqrt(43).
    assert (low, high) == pytest.approx((77 - 6.56, 77 + 6.56), abs=1.6)
    assert value(r"bent away by ([0-9.]+) mm", line) == 1.0
    bent = replace(stay(31.0), bends=(Bend((327.0, 32.2, 0.0), 900.0),))
    assert beside(bent).passes


def test_a_bridge_is_moved_off_and_its_key_named() -> None:
    """343 + 10 + 4.2 from the axle, 6 wanted: 1.8 mm."""
    one = replace(tube((357.2, -40, 0), (357.2, 40, 0)), name="chain stay bridge")
    line = beside(one)
    assert value(r"bridge_gap ([0-9.]+) mm more", line) == 1.8
    assert beside(replace(one, start=(359.0, -40, 0), end=(359.0, 40, 0))).passes
    assert "pressed" not in line.remedy


def turning(cranks: Cranks, limits: dict[str, float]) -> dict[str, Clearance]:
    passing = tube((-420, -30, 0), (-30, -30, 0))
    frame = Frame("b", "tig", (passing,), (), LIMITS, room=Room(cranks, limits))
    return {line.what: line for line in clearances(frame, frame_solids(frame, {})).lines}


@pytest.mark.parametrize(
    ("what", "limits", "key", "step"),
    [
        ("chain ring", {}, "ring_line", 0.1),
        ("right crank", {"crank": 21.0}, "arm_inner", 0.1),
        ("right heel", {"heel": 39.0}, "pedal_centre", 0.1),
    ],
)
def test_a_key_of_the_cranks_is_told_with_the_value_that_clears(
    what: str, limits: dict[str, float], key: str, step: float
) -> None:
    line = turning(CRANKS, limits)[what]
    assert not line.passes
    wanted = value(rf"\[cranks\] {key} = ([0-9.]+)", line)
    changed = replace(CRANKS, **{key: wanted})  # type: ignore[arg-type]
    assert turning(changed, limits)[what].passes
    less = replace(CRANKS, **{key: wanted - step})  # type: ignore[arg-type]
    assert not turning(less, limits)[what].passes


def test_toe_and_lean_are_told_the_crank_and_how_far_the_wheel_or_the_shell_goes() -> None:
    toe = measured(bicycle(Room(CRANKS)))["toe", "front wheel"]  # 88.484 of 89
    length = value(r"\[cranks\] length = ([0-9.]+)", toe)
    assert length == 169.0
    assert measured(bicycle(Room(replace(CRANKS, length=length))))["toe", "front wheel"].passes
    assert value(r"front_centre ([0-9.]+) mm more", toe) == 0.6
    low = Room(CRANKS, {"pedal_lean": 35.0})
    lean = measured(bicycle(low))["pedal_lean", "ground"]
    higher = value(r"shell ([0-9.]+) mm higher", lean)
    wheels = tuple(
        replace(part, centre=(part.centre[0], 0.0, part.centre[2] - higher)) for part in WHEELS
    )
    raised = replace(bicycle(low), show=Show(parts=wheels))
    assert measured(raised)["pedal_lean", "ground"].passes


def test_two_parts_are_told_how_much_farther_apart() -> None:
    one, other = stay(0.0), replace(stay(20.4), name="other")
    room = Room(pairs=(Pair(("tube", "other"), 1.0),))
    frame = Frame("p", "tig", (one, other), (), LIMITS, room=room)
    (line,) = clearances(frame, frame_solids(frame, {})).lines
    assert value(r"([0-9.]+) mm farther apart", line) == pytest.approx(0.6, abs=0.11)


def test_what_passes_or_is_only_told_has_no_remedy() -> None:
    assert beside(stay(40.0)).remedy == ""


@given(
    limit=st.floats(0.1, 100).map(lambda x: round(x, 1)),
    off=st.floats(1e-6, 0.2),
    side=st.booleans(),
)
def test_a_number_beside_its_limit_shows_on_which_side_it_is(
    limit: float, off: float, side: bool
) -> None:
    found = limit + off if side else limit - off
    shown = float(told_beside(found, limit, 1))
    assert (shown > limit) is side
    assert shown != limit
    assert told_beside(4.9996, 5.0, 1) == "4.9996"
    assert told_beside(5.0, 5.0, 1) == "5.0"
    assert told_beside(7.24, 5.0, 1) == "7.2"
