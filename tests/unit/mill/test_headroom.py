"""Room about a tube in the vise, worked out by hand.

A straight tube of 28.6 mm, 700 mm long and tilted 30 degrees, its end under a 34 mm saw. Its blank
runs a little past both end points.
"""

import math

import pytest
from joints import tilted

from frame3d.mill.setup import tube_sheet
from frame3d.mill.tube_sheet import Cut, TubeSheet
from frame3d.model import Mill, Saw

SIZES = {"vise_height": 110.0, "daylight": 450.0, "saw_length": 95.0}
RISE = math.radians(30.0)
RADIUS = 14.3


def sheet_of(cut_end: str = "high", tilt: float = 30.0, **sizes: float) -> TubeSheet:
    coped = tilted(tilt, Saw(34.0), Mill(waste=60.0, cut_end=cut_end, **sizes))
    return tube_sheet(coped.frame, coped.tube, coped.copes)


def held(sheet: TubeSheet, cut: Cut) -> float:
    """Along the tube, from the mark back to the middle of its block."""
    block = sheet.block(cut.end)
    assert block is not None
    return cut.mark - (block.at - block.length / 2)


def test_a_straight_tube_that_hangs_low_is_told_without_the_mills_sizes() -> None:
    sheet = sheet_of()
    (cut,) = sheet.cuts
    assert cut.drop == pytest.approx(cut.mark * math.sin(RISE), abs=0.01)
    assert sheet.warnings[-1] == (
        f"end: the far end hangs {cut.drop:.0f} mm lower: set the vise at the table's edge, or "
        "raise it, and prop the tube"
    )
    assert (cut.under_spindle, cut.over_table, cut.beside_head) == (None, None, None)


def test_a_straight_tube_that_stands_beside_the_head_is_told() -> None:
    sheet = sheet_of("low")
    assert any("the far end rises" in words and "head" in words for words in sheet.warnings)


@pytest.mark.parametrize("cut_end", ["high", "low"])
def test_a_tube_near_level_needs_no_word(cut_end: str) -> None:
    assert not any("far end" in words for words in sheet_of(cut_end, 5.0).warnings)


def test_a_far_end_below_the_tables_top_is_told_by_how_much() -> None:
    sheet = sheet_of(**SIZES)
    (cut,) = sheet.cuts
    # The block's middle is 110 mm over the table; the far end hangs from there.
    below = (cut.mark - held(sheet, cut)) * math.sin(RISE) + RADIUS - 110.0
    assert cut.over_table == pytest.approx(-below, abs=0.01)
    assert f", {below:.0f} mm lower than the table's top: set" in sheet.warnings[-1]
    high = sheet_of(**{**SIZES, "vise_height": 400.0})
    assert high.cuts[0].over_table == pytest.approx(290.0 - below, abs=0.01)
    assert not any("far end" in words for words in high.warnings)


def test_room_under_the_spindle_is_daylight_less_vise_saw_and_tube() -> None:
    sheet = sheet_of(**SIZES)
    (cut,) = sheet.cuts
    # The saw touches the upper side at its right; the mark stands `x_move` left of the spindle.
    right_of_mark = cut.x_move + cut.touch_right
    # On the upper line, from the mark's place on it, so much along x is x tan(30) up.
    touch = RADIUS * math.cos(RISE) + (right_of_mark) * math.tan(RISE)
    over_block = touch + held(sheet, cut) * math.sin(RISE)
    assert cut.under_spindle == pytest.approx(450.0 - 95.0 - 110.0 - over_block, abs=0.02)
    low = sheet_of(**{**SIZES, "daylight": 250.0})
    (less,) = low.cuts
    words = f"end: {-less.under_spindle:.0f} mm too little room under the spindle"
    assert any(said.startswith(words) for said in low.warnings)


def test_a_tube_that_rises_stands_so_far_left_of_the_spindle_at_its_nose() -> None:
    """The nose is 95 mm over the teeth; the tube's upper side falls 1 in sqrt 3 to the right."""
    sheet = sheet_of("low", **SIZES)
    (cut,) = sheet.cuts
    # The teeth touch the upper side `touch_right` of the spindle: it is 95 mm higher so far left.
    assert cut.beside_head == pytest.approx(95.0 * math.sqrt(3.0) - cut.touch_right, abs=0.02)
    assert any(f", {cut.beside_head:.0f} mm left of the spindle" in w for w in sheet.warnings)
