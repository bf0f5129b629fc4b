"""ISO 5775-1, as an encyclopedia's account of the standard gives it: bead seat diameters, and the
section height, about the nominal width; below 28 mm, 2.5 mm more."""

import pytest

from frame3d.bicycle.bicycle_error import BicycleError
from frame3d.bicycle.bought_parts import wheel
from frame3d.tables import rows

BEAD_SEATS = [622, 584, 571, 559, 507, 451, 406, 349, 305]


def test_the_table_has_the_standard_bead_seats() -> None:
    assert [float(row["bead_seat_mm"]) for row in rows("rims")] == BEAD_SEATS
    assert all(row["source"] for row in rows("rims"))


@pytest.mark.parametrize("bead_seat", BEAD_SEATS)
@pytest.mark.parametrize(
    ("width", "height"), [(23, 25.5), (27, 29.5), (28, 28), (32, 32), (54, 54)]
)
def test_radius_is_half_the_bead_seat_and_the_section_height(
    bead_seat: int, width: int, height: float
) -> None:
    made = wheel(f"{width}-{bead_seat}")
    assert made.radius == bead_seat / 2 + height
    assert made.width == width
    assert made.designation == f"{width}-{bead_seat}"


@pytest.mark.parametrize("text", ["32-623", "622-32", "700x32C", "", "32", "2-622", "500-622"])
def test_what_is_no_designation_is_refused(text: str) -> None:
    with pytest.raises(BicycleError):
        wheel(text)


def test_the_builders_own_rim_is_found() -> None:
    own = [{"bead_seat_mm": "630", "common_names": "27 in", "source": "measured"}]
    assert wheel("32-630", own).radius == 347
    assert wheel("32-622", own).radius == 343
