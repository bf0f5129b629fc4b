"""Any set of measures that determines a frame says the same frame."""

import re
from collections.abc import Mapping
from itertools import product
from typing import Any

import numpy as np
import pytest
from draws import draws
from hypothesis import assume, given
from hypothesis import strategies as st

from frame3d.bicycle.bicycle_error import BicycleError
from frame3d.bicycle.plane import BASIS, MEASURES, measures
from frame3d.bicycle.solve import determines, jacobian, solve
from frame3d.jobs.bicycle_tables import OUTCOMES

# How a builder may say each part of a frame; one of each row, and the rest of BASIS as it is.
FRONT = ("reach", "effective_top_tube", "wheelbase", "front_centre")
WHEELS = ("rear_wheel_radius", "front_wheel_radius")
STEERING = ("rake", "trail")
SHELL = ("bb_drop", "shell_height")
SEAT = (
    ("seat_tube_length", "seat_tube_above_top_tube"),
    ("seat_tube_centre_to_centre", "seat_tube_above_top_tube"),
    ("seat_tube_length", "seat_tube_centre_to_centre"),
)
SLOPE = ("head_tube_above_top_tube", "top_tube_slope")
ALWAYS = (
    "rear_wheel_radius",
    "front_wheel_radius",
    "chain_stay_length",
    "head_tube_angle",
    "seat_tube_angle",
    "head_tube_below_down_tube",
    "seat_stays_below_top_tube",
)
WAYS = [
    (
        *ALWAYS,
        front,
        *(
            key
            for key in ("head_tube_length", "fork_length", "lower_headset_stack")
            if key != height
        ),
        *(("stack",) if height != "stack" else ()),
        steering,
        shell,
        *seat,
        slope,
    )
    for front, height, steering, shell, seat, slope in product(
        FRONT,
        ("head_tube_length", "fork_length", "lower_headset_stack"),
        STEERING,
        SHELL,
        SEAT,
        SLOPE,
    )
] + [
    (
        *ALWAYS,
        front,
        "head_tube_length",
        "fork_length",
        "lower_headset_stack",
        steering,
        shell,
        *seat,
        slope,
    )
    for front, steering, shell, seat, slope in product(FRONT, STEERING, SHELL, SEAT, SLOPE)
]


def between(low: float, high: float) -> st.SearchStrategy[float]:
    return st.floats(low, high, allow_nan=False, width=32)


@st.composite
def frames(draw: st.DrawFn) -> dict[str, float]:
    """Sensible frames, from a child's small-wheeled to a tall tourer, by the numbers of BASIS."""
    wheel = draw(between(200, 370))
    basis = {
        "rear_wheel_radius": wheel,
        "front_wheel_radius": draw(st.sampled_from([wheel, draw(between(200, 370))])),
        "bb_drop": draw(between(20, 90)),
        "chain_stay_length": draw(between(390, 520)),
        "head_tube_angle": draw(between(65, 76)),
        "rake": draw(between(20, 75)),
        "fork_length": draw(between(300, 480)),
        "lower_headset_stack": draw(between(1, 20)),
        "head_tube_length": draw(between(90, 250)),
        "reach": draw(between(330, 480)),
        "seat_tube_angle": draw(between(68, 78)),
        "seat_tube_length": draw(between(380, 640)),
        "seat_tube_above_top_tube": draw(between(20, 80)),
        "head_tube_above_top_tube": draw(between(15, 45)),
        "head_tube_below_down_tube": draw(between(20, 45)),
        "seat_stays_below_top_tube": draw(between(-10, 40)),
    }
    values = measures(basis)
    assume(abs(values["top_tube_slope"]) < 30)
    return {key: float(value) for key, value in values.items()}


def same(solved: Mapping[str, float], frame: Mapping[str, float], within: float) -> None:
    off = {key: abs(solved[key] - frame[key]) for key in MEASURES}
    assert max(off.values()) < within, max(off, key=lambda key: off[key])


def test_every_way_determines_a_frame() -> None:
    assert len(WAYS) == 384
    assert all(determines(way) for way in WAYS)
    assert not determines(BASIS[:-1])
    assert not determines((*BASIS[:-1], "bb_drop"))
    assert not determines(tuple("shell_height" if k == "rake" else k for k in BASIS))


@draws(few=40, many=150)
@given(frames(), st.sampled_from(WAYS), st.sampled_from(WAYS))
def test_every_way_says_the_same_frame_and_back(
    frame: dict[str, float], one: tuple[str, ...], other: tuple[str, ...]
) -> None:
    there = solve({key: frame[key] for key in one})
    same(there.values, frame, 1e-9)
    assert not there.assumed
    back = solve({key: there.values[key] for key in other})
    same(back.values, frame, 1e-9)


@draws(few=20, many=60)
@given(frames(), st.permutations([key for key in MEASURES if key not in (*OUTCOMES, *WHEELS)]))
def test_any_determining_set_says_the_same_frame_or_asks_which(
    frame: dict[str, float], order: list[str]
) -> None:
    """Measures in any order, each taken while it says something new. Some such sets have a second
    frame (the shell as far above the axles as below): then the question is which, and the answer
    leads to the frame. Sets that hardly determine one (a thousandth of a millimetre here, more than
    a millimetre there) are left out."""
    keys = list(WHEELS)
    for key in order:
        if np.linalg.matrix_rank(rows_of([*keys, key], frame), tol=1e-5) > len(keys):
            keys.append(key)
    assume(len(keys) == len(BASIS) and np.linalg.cond(rows_of(keys, frame)) < 1e3)
    said = {key: frame[key] for key in keys}
    for _ in range(4):
        try:
            same(solve(said).values, frame, 1e-8)
            return
        except BicycleError as error:
            assert "more than one frame has these numbers" in str(error)
            assert error.key not in said
            said[str(error.key)] = frame[str(error.key)]
    raise AssertionError("asked too often")


def rows_of(keys: list[str], frame: dict[str, float]) -> Any:
    slopes = jacobian({key: frame[key] for key in BASIS})
    return np.array([slopes[MEASURES.index(key)] for key in keys])


COMMON = {
    "rear_wheel_radius": 343.0,
    "front_wheel_radius": 343.0,
    "bb_drop": 70.0,
    "chain_stay_length": 430.0,
    "head_tube_angle": 72.0,
    "rake": 45.0,
    "fork_length": 393.0,
    "lower_headset_stack": 12.0,
    "head_tube_length": 150.0,
    "reach": 385.0,
    "seat_tube_angle": 73.0,
    "seat_tube_length": 540.0,
}


def refused(**changed: float | None) -> BicycleError:
    with pytest.raises(BicycleError) as caught:
        solve({key: value for key, value in {**COMMON, **changed}.items() if value is not None})
    return caught.value


def test_a_missing_number_is_named_with_all_that_would_do() -> None:
    error = refused(reach=None)
    assert str(error) == (
        "1 number is missing: give one of reach, wheelbase, front_centre, effective_top_tube "
        "or top_tube_slope"
    )
    assert "2 numbers are missing" in str(refused(reach=None, rake=None))


def test_a_contradiction_names_both_sides_and_by_how_much() -> None:
    right = solve(COMMON).values
    error = refused(effective_top_tube=right["effective_top_tube"] + 3)
    assert error.key == "effective_top_tube"
    assert "3.00 mm too much" in str(error)
    assert "reach" in str(error)
    assert "seat_tube_angle" in str(error)
    assert "chain_stay_length" not in str(error)
    error = refused(shell_height=272.0)
    assert str(error) == (
        "shell_height is given as 272 mm, but rear_wheel_radius and bb_drop make it 273.00 mm: "
        "1.00 mm too little; leave out one of them, or change one alone: rear_wheel_radius to "
        "342.00 mm or bb_drop to 71.00 mm"
    )


FOLLOW = sorted({*MEASURES} - {*BASIS} - {*OUTCOMES})


def all_said() -> dict[str, float]:
    right = solve(COMMON).values
    return {key: right[key] for key in BASIS}


@pytest.mark.parametrize("key", FOLLOW)
def test_a_number_rounded_to_a_tenth_agrees_with_what_makes_it_and_is_told(key: str) -> None:
    right = solve(all_said()).values
    said = round(right[key], 1)
    found = solve({**all_said(), key: said})
    assert found.values == right
    assert found.rounded == ({key: said} if abs(said - right[key]) > 1e-6 else {})


@pytest.mark.parametrize("key", FOLLOW)
def test_each_number_that_is_told_as_the_one_to_change_makes_the_others_agree(key: str) -> None:
    wrong = {**all_said(), key: round(solve(COMMON).values[key] + 0.13, 2)}
    with pytest.raises(BicycleError) as refusal:
        solve(wrong)
    told = str(refusal.value).partition("change one alone: ")[2]
    ways = re.findall(r"(\w+) to (-?[\d.]+)", told)
    assert ways
    for other, value in ways:
        changed = {**wrong, other: float(value)}
        made = measures({name: changed[name] for name in BASIS})[key]
        # The value is told to a hundredth, and angles move lengths by some mm a degree.
        assert float(made) == pytest.approx(wrong[key], abs=0.13)
        assert abs(float(made) - wrong[key]) < 0.13 / 2


def test_more_digits_are_held_to_them() -> None:
    right = solve(COMMON).values["trail"]
    assert solve({**COMMON, "trail": round(right, 2)}).values["trail"] == right
    with pytest.raises(BicycleError):
        solve({**COMMON, "trail": round(right, 1) + 0.1})
    with pytest.raises(BicycleError):
        solve({**COMMON, "trail": round(right + 0.03, 2)})


def test_saying_the_same_twice_is_no_contradiction() -> None:
    right = solve(COMMON).values
    assert solve({**COMMON, "wheelbase": right["wheelbase"]}).values == right


def test_a_number_out_of_range_is_told_with_its_meaning() -> None:
    error = refused(head_tube_angle=17.0)
    assert (
        str(error)
        == "head_tube_angle is 17 deg, expected 45 to 90 deg: steering axis against the ground"
    )


def test_numbers_that_fit_no_frame_say_what_is_missed() -> None:
    assert "no frame within reason" in str(refused(reach=None, front_centre=210.0, rake=140.0))
    assert "no frame within reason" in str(refused(bb_drop=None, stack=990.0))


def test_two_frames_with_the_same_numbers_are_both_told() -> None:
    """With the shell as far above the axles as below, wheelbase and front centre are the same."""
    right = solve(COMMON).values
    error = refused(
        bb_drop=None, reach=None, wheelbase=right["wheelbase"], front_centre=right["front_centre"]
    )
    assert "more than one frame has these numbers" in str(error)


def test_defaults_fill_only_what_nothing_given_says() -> None:
    assert set(solve(COMMON).assumed) == {
        "seat_tube_above_top_tube",
        "head_tube_above_top_tube",
        "head_tube_below_down_tube",
        "seat_stays_below_top_tube",
    }
    level = solve({**COMMON, "top_tube_slope": 0.0})
    assert "seat_tube_above_top_tube" in level.assumed
    assert "head_tube_above_top_tube" not in level.assumed
    assert level.values["top_tube_slope"] == pytest.approx(0, abs=1e-12)
    given_stack = solve(
        {k: v for k, v in COMMON.items() if k != "lower_headset_stack"},
        {"lower_headset_stack": 9.0},
    )
    assert given_stack.values["lower_headset_stack"] == 9


def test_a_frame_beyond_reason_names_the_number_that_is_and_by_how_much() -> None:
    """A steep top tube from a long seat tube meets the head tube above its end: 60 mm of seat tube
    more, and 9 degrees of slope on about 550 mm."""
    numbers = {
        "rear_wheel_radius": 343.0,
        "front_wheel_radius": 343.0,
        "bb_drop": 70.0,
        "chain_stay_length": 430.0,
        "head_tube_angle": 72.0,
        "rake": 45.0,
        "fork_length": 395.0,
        "lower_headset_stack": 12.0,
        "stack": 570.0,
        "reach": 380.0,
        "seat_tube_angle": 73.0,
        "seat_tube_length": 600.0,
        "top_tube_slope": 9.0,
    }
    with pytest.raises(BicycleError, match=r"head_tube_above_top_tube would be -.*, \d+.* mm off"):
        solve(numbers)
