"""A rider into a frame, and back."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

from frame3d.bicycle.bicycle_error import BicycleError
from frame3d.bicycle.rider import (
    fit_points,
    place_rider,
    read_rider,
    steerer_above_head_tube,
    stem_for,
)
from frame3d.jobs.bicycle_tables import RiderTable
from frame3d.model.rider import Cockpit, Rider

# By hand: head tube angle with cos 3/5, sin 4/5 (53.13 degrees). A stem of 100 square to the
# steerer goes (80, 60); 25 + 15 + 40 / 2 = 60 along the steerer goes (-36, 48). Bar's reach 80.
SLACK = math.degrees(math.atan2(4, 3))
RIDER = Rider(saddle_height=650, saddle_setback=250, hands_above=700, hands_ahead=520)
COCKPIT = Cockpit(stem_length=100, spacers=15, upper_headset_stack=25, bar_reach=80, bar_rise=12)


def test_stack_and_reach_by_hand() -> None:
    points = fit_points(RIDER, COCKPIT, SLACK)
    assert points.reach == pytest.approx(520 - 80 - 80 + 36, abs=1e-9)
    assert points.stack == pytest.approx(700 - 12 - 60 - 48, abs=1e-9)
    assert points.seat_tube_angle == pytest.approx(math.degrees(math.atan2(600, 250)), abs=1e-9)


def test_a_stem_turned_up_by_hand() -> None:
    """Turned up by what is missing to level: 90 - 53.13, so the stem points 73.74 degrees up."""
    points = fit_points(RIDER, Cockpit(100, stem_angle=SLACK - 16.260204708311957), SLACK)
    # Square to the steerer (0.8, 0.6), turned by 36.87: (0.64 - 0.36, 0.48 + 0.48).
    assert points.reach == pytest.approx(520 - 28 + 0.6 * 45, abs=1e-9)
    assert points.stack == pytest.approx(700 - 96 - 0.8 * 45, abs=1e-9)


def test_a_post_with_setback_asks_for_a_steeper_seat_tube() -> None:
    """Saddle 650 away, 250 behind; the axis 25 in front of it, square: by the sine."""
    points = fit_points(RIDER, Cockpit(100, post_setback=25), 72)
    wanted = math.degrees(math.acos(250 / 650) + math.asin(25 / 650))
    assert points.seat_tube_angle == pytest.approx(wanted, abs=1e-9)


@given(
    st.floats(500, 900),
    st.floats(50, 350),
    st.floats(400, 900),
    st.floats(350, 700),
    st.floats(60, 80),
    st.builds(
        Cockpit,
        stem_length=st.floats(20, 140),
        stem_angle=st.floats(-40, 40),
        stem_height=st.floats(25, 60),
        spacers=st.floats(0, 60),
        upper_headset_stack=st.floats(0, 40),
        bar_reach=st.floats(-200, 120),
        bar_rise=st.floats(-50, 100),
        post_setback=st.floats(-20, 40),
    ),
)
def test_a_frame_made_for_a_rider_puts_the_rider_there(
    height: float, setback: float, above: float, ahead: float, head: float, cockpit: Cockpit
) -> None:
    rider = Rider(height, setback, above, ahead)
    points = fit_points(rider, cockpit, head)
    placed = place_rider(
        points.stack, points.reach, head, points.seat_tube_angle, cockpit, rider.saddle_height
    )
    assert placed.saddle_setback == pytest.approx(setback, abs=1e-9)
    assert placed.hands_above == pytest.approx(above, abs=1e-9)
    assert placed.hands_ahead == pytest.approx(ahead, abs=1e-9)
    stem, spacers = stem_for(rider, cockpit, points.stack, points.reach, head)
    assert stem == pytest.approx(cockpit.stem_length, abs=1e-9)
    assert spacers == pytest.approx(cockpit.spacers, abs=1e-9)


TABLE = {
    "saddle_height": "65 cm",
    "saddle_setback": 250,
    "hands_above": 700,
    "hands_ahead": 520,
    "stem_length": 100,
}


def test_a_rider_is_read_from_a_table() -> None:
    rider, cockpit = read_rider(RiderTable.model_validate(TABLE), upper_headset_stack=22)
    assert rider == RIDER
    assert cockpit == Cockpit(stem_length=100, upper_headset_stack=22)
    assert steerer_above_head_tube(cockpit) == 22 + 0 + 40


@pytest.mark.parametrize(
    ("changed", "key", "message"),
    [
        ({"saddle_hight": 650}, "saddle_hight", 'did you mean "saddle_height"'),
        ({"stem_length": "100"}, "stem_length", "a text without unit"),
        ({"stem_angle": "6 mm"}, "stem_angle", "expected degrees"),
        ({"stem_angle": 83}, "stem_angle", "-60 to 60"),
    ],
)
def test_a_value_that_cannot_be_used(changed: dict[str, object], key: str, message: str) -> None:
    with pytest.raises(ValidationError, match=message) as caught:
        RiderTable.model_validate({**TABLE, **changed})
    (found,) = caught.value.errors()
    assert key in (*found["loc"], found.get("ctx", {}).get("key"))


@pytest.mark.parametrize(
    ("changed", "key", "message"),
    [
        ({"saddle_setback": 700}, "saddle_height", "expected more than the setback"),
        ({"spacers": -5}, "spacers", "0 or more"),
    ],
)
def test_numbers_that_place_no_rider(changed: dict[str, object], key: str, message: str) -> None:
    with pytest.raises(BicycleError, match=message) as caught:
        read_rider(RiderTable.model_validate({**TABLE, **changed}))
    assert caught.value.key == key
