"""Parts by their designations, in the tables and in the builder's own rows."""

import pytest
from pydantic import ValidationError

from frame3d.bicycle.bicycle_error import BicycleError
from frame3d.bicycle.bought_parts import headset, hub, seat_post, shell
from frame3d.jobs.bicycle_tables import BicycleTable
from frame3d.tables import rows
from tests.frames import bicycle_of

TABLES = ("bicycle_measures", "rims", "headset_bores", "steerers", "shells", "seat_posts", "hubs")

BICYCLE = {
    "front_wheel": "32-622",
    "rear_wheel": "32-622",
    "headset": "EC34/28.6 | EC34/30",
    "shell": "ISO 68",
    "seat_post": "27.2 mm",
    "front_hub": "100x9",
    "rear_hub": "130x10",
    "bb_drop": 70,
    "chain_stay_length": 430,
    "head_tube_angle": 72.5,
    "rake": 45,
    "fork_length": 393,
    "stack": 580,
    "reach": 385,
    "seat_tube_angle": 73,
    "seat_tube_length": 540,
}


@pytest.mark.parametrize("table", [*TABLES, "clearance_limits"])
def test_every_row_names_its_source(table: str) -> None:
    assert all(row["source"] for row in rows(table))
    keys = [next(iter(row.values())) for row in rows(table)]
    assert len(set(keys)) == len(keys)


def test_every_tabled_part_can_be_looked_up() -> None:
    for row in rows("shells"):
        assert 0 < shell(row["shell"]).bore < shell(row["shell"]).od < 60
    for row in rows("seat_posts"):
        post = seat_post(float(row["post_mm"]))
        # What the tube's top leaves, reamed, is the post's bore: within 0.35 mm of each other.
        assert post.bore - (post.seat_tube_od - 2 * post.wall_at_top) == pytest.approx(
            0.1, abs=0.25
        )
    for row in rows("hubs"):
        assert hub(row["hub"], row["end"]).spacing == float(row["spacing_mm"])
    for row in rows("headset_bores"):
        made = headset(f"{row['code']}/28.6 | {row['code']}/30")
        for half in (made.upper, made.lower):
            assert half.steerer < half.bore < half.head_tube_od - 2 * half.least_wall + 0.5


def test_the_traditional_headset_pair() -> None:
    """EC34/28.6 and EC34/30: the traditional 1 1/8 inch pair of the identification system."""
    made = headset("EC34/28.6|EC34/30")
    assert made.upper.steerer == made.lower.steerer == 28.6
    assert made.upper.bore == pytest.approx(34, abs=0.1)
    assert made.code == "EC34/28.6 | EC34/30"


def test_a_tapered_steerer_has_halves_of_its_own() -> None:
    """1 1/8 in above and 1 1/2 in below, by the identification system."""
    made = headset("ZS44/28.6 | EC49/40")
    assert (made.upper.steerer, made.lower.steerer) == (28.6, 38.1)
    assert (made.upper.bore, made.lower.bore) == (43.95, 49.57)


@pytest.mark.parametrize(
    ("code", "message"),
    [
        ("EC34", "upper and the lower"),
        ("EC34/28.6", "upper and the lower"),
        ("EC36/28.6 | EC34/30", 'has no "EC36"; did you mean "EC3'),
        ("EC34/30 | EC34/28.6", "no upper half"),
        ("EC44/38.1 | EC34/30", "no steerer widens upwards"),
    ],
)
def test_a_headset_that_cannot_be_used(code: str, message: str) -> None:
    with pytest.raises(BicycleError, match=message):
        headset(code)


def test_the_headset_gives_the_lower_stack_that_is_not_given() -> None:
    assert bicycle_of(BICYCLE).geometry["lower_headset_stack"] == 12
    assert bicycle_of(BICYCLE).geometry.assumed["lower_headset_stack"] == 12
    measured = bicycle_of({**BICYCLE, "lower_headset_stack": 10.5}).geometry
    assert measured["lower_headset_stack"] == 10.5


def test_a_measured_wheel_radius_wins_over_the_designation() -> None:
    measured = bicycle_of({**BICYCLE, "front_wheel_radius": 341.2})
    assert measured.geometry["front_wheel_radius"] == 341.2
    assert measured.front_wheel is not None
    assert measured.front_wheel.width == 32


def test_the_builders_own_rows_are_found_and_win() -> None:
    own = {
        "shells": [
            {"shell": "my 68", "width_mm": 68, "od_mm": 42, "bore_mm": 34, "thread": "none"}
        ],
        "hubs": [{"hub": "130x10", "end": "rear", "spacing_mm": 131, "axle_mm": 10, "dropout": ""}],
    }
    made = bicycle_of({**BICYCLE, "shell": "my 68"}, own)
    assert made.shell is not None
    assert made.shell.od == 42
    assert made.rear_hub is not None
    assert made.rear_hub.spacing == 131
    broken = {"shells": [{"shell": "my 68", "width_mm": "wide"}]}
    with pytest.raises(BicycleError, match="'wide' as width_mm"):
        bicycle_of({**BICYCLE, "shell": "my 68"}, broken)


@pytest.mark.parametrize(
    ("changed", "key", "message"),
    [
        ({"shell": "ISO 69"}, "shell", 'did you mean "ISO 68"'),
        ({"rear_hub": "12x142"}, "rear_hub", 'has no "12x142"; did you mean "142x12"'),
        ({"rear_hub": "10x130"}, "rear_hub", 'did you mean "130x10"'),
        ({"shell": "68 iso"}, "shell", 'did you mean "ISO 68"'),
        ({"rear_hub": "100x9"}, "rear_hub", "is a front hub, expected a rear one: 112x10"),
        ({"front_wheel": "700C"}, "front_wheel", "ISO 5775"),
        ({"seat_post": 27.3}, "seat_post", 'did you mean "27.'),
        ({"top_tube_length": 550}, "top_tube_length", "cannot be given"),
    ],
)
def test_a_table_that_cannot_be_used(changed: dict[str, object], key: str, message: str) -> None:
    with pytest.raises(BicycleError, match=message) as caught:
        bicycle_of({**BICYCLE, **changed})
    assert caught.value.key == key


@pytest.mark.parametrize(
    ("changed", "key", "message"),
    [
        ({"front_center": 590}, "front_center", 'did you mean "front_centre"'),
        ({"shell": 68}, "shell", "expected a text"),
        ({"reach": "385"}, "reach", "a text without unit"),
        ({"head_tube_angle": "72"}, "head_tube_angle", "a number in degrees"),
        ({"head_tube_angle": float("nan")}, "head_tube_angle", "a number in degrees"),
        ({"rake": True}, "rake", "expected a length"),
    ],
)
def test_a_value_that_cannot_be_read(changed: dict[str, object], key: str, message: str) -> None:
    with pytest.raises(ValidationError, match=message) as caught:
        BicycleTable.model_validate({**BICYCLE, **changed})
    (found,) = caught.value.errors()
    assert key in (*found["loc"], found.get("ctx", {}).get("key"))


def test_a_bicycle_without_wheels_is_told_what_to_give() -> None:
    without = {key: value for key, value in BICYCLE.items() if key != "rear_wheel"}
    with pytest.raises(BicycleError, match="give rear_wheel"):
        bicycle_of(without)


def test_numbers_that_leave_no_usual_headset_its_room_are_a_contradiction() -> None:
    """The head tube and the lower stack lie on one line: what the one is shorter, the other is
    longer, by hand. 12 mm and 4 mm to either side are the table's."""
    long = bicycle_of(BICYCLE).geometry["head_tube_length"]
    for shorter, off in ((60.0, "60.00 mm too much"), (-20.0, "20.00 mm too little")):
        with pytest.raises(BicycleError, match=f"has about 12 mm: {off}") as caught:
            bicycle_of({**BICYCLE, "head_tube_length": long - shorter})
        assert "head_tube_length" in str(caught.value)
        assert "stack make lower_headset_stack" in str(caught.value)
    near = bicycle_of({**BICYCLE, "head_tube_length": long - 3.5}).geometry
    assert near["lower_headset_stack"] == pytest.approx(15.5, abs=1e-9)
    assert "lower_headset_stack" not in near.assumed
    deep = {k: v for k, v in BICYCLE.items() if k != "stack"}
    measured = {**deep, "head_tube_length": long - 8, "lower_headset_stack": 20}
    assert bicycle_of(measured).geometry["stack"] == pytest.approx(580, abs=1e-9)


def test_an_own_headsets_stack_is_the_one_numbers_are_held_to() -> None:
    row = {"code": "EC34", "bore_mm": 33.95, "head_tube_od_mm": 36, "least_wall_mm": 0.9}
    own = {"headset_bores": [{**row, "upper_stack_mm": 25, "lower_stack_mm": 22}]}
    long = bicycle_of(BICYCLE).geometry["head_tube_length"]
    shorter = {**BICYCLE, "head_tube_length": long - 9}
    assert bicycle_of(shorter, own).geometry["lower_headset_stack"] == pytest.approx(21)
    with pytest.raises(BicycleError, match=r"has about 12 mm: 9\.00 mm too much"):
        bicycle_of(shorter)


def test_without_a_headset_no_number_makes_its_stack_longer_than_the_deepest_cups() -> None:
    long = bicycle_of(BICYCLE).geometry["head_tube_length"]
    bare = {k: v for k, v in BICYCLE.items() if k != "headset"}
    with pytest.raises(BicycleError, match=r"lower_headset_stack would be 42\.00 mm, expected 0"):
        bicycle_of({**bare, "head_tube_length": long - 30})
