"""Saws have teeth of some thickness: where they touch first, and that the stop trips deep enough.

Bi-metal hole saws: teeth of 1.3 to 1.8 mm over their set (from memory, no source read).
"""

import json
import math
from dataclasses import replace
from pathlib import Path

import pytest
from draws import draws
from hypothesis import assume, given
from hypothesis import strategies as st
from joints import Coped, coped_tubes, floats, tilted, whole

import frame3d
from frame3d.mill.blank import Blank, raw_blank
from frame3d.mill.metal import TOUCH_END, TOUCH_SIDE
from frame3d.mill.printed_numbers import as_json
from frame3d.mill.proof import astray
from frame3d.mill.setup import tube_sheet
from frame3d.mill.tube_sheet import Cut, TubeSheet
from frame3d.mill.virtual_mill import MillError, mill
from frame3d.model import Mill, Saw
from frame3d.surfaces.cope import copes_of

EXAMPLES = Path(__file__).parents[3] / "examples"
TEETH = (1.3, 1.55, 1.8)


def sheet_of(coped: Coped) -> TubeSheet:
    return tube_sheet(coped.frame, coped.tube, coped.copes)


def milled(coped: Coped, sheet: TubeSheet, tooth: float) -> bool:
    """Whether real teeth of that thickness, mm, make the designed tube by the page."""
    try:
        work = mill(json.loads(json.dumps(as_json(sheet))), tooth=tooth)
    except MillError:
        return False
    return not any(astray(cope, work, sheet.start_point) for cope in coped.copes.values())


@draws(few=8, many=25)
@given(coped_tubes(saws=(1, 2)), st.one_of(st.sampled_from(TEETH), floats(1.3, 1.8)))
def test_any_usual_teeth_get_through_at_random_joints(coped: Coped, tooth: float) -> None:
    assume(whole(coped))
    assert milled(coped, sheet_of(coped), tooth)


@pytest.mark.parametrize("cut_end", ["high", "low"])
@pytest.mark.parametrize("tilt", [50.0, 60.0, 70.0])
def test_steep_tilts_get_through_with_any_usual_teeth(tilt: float, cut_end: str) -> None:
    for waste in (1.0, 6.0, 15.0):
        coped = tilted(tilt, Saw(34.0), Mill(waste=waste, cut_end=cut_end))
        assert all(milled(coped, sheet_of(coped), tooth) for tooth in TEETH)


@pytest.mark.parametrize("job", ["touring", "step-through"])
def test_the_examples_seat_stays_get_through_with_any_usual_teeth(job: str) -> None:
    """Their tip stands inside the saw's circle, under its teeth."""
    frame = frame3d.open(EXAMPLES / job / "job.toml").frame
    tube = frame.tube("left seat stay")
    joint = frame.joint_at("left seat stay", "start")
    frame = replace(frame, joints=(joint,))
    copes = copes_of(frame)
    coped = Coped(frame, tube, copes)
    sheet = tube_sheet(frame, tube, copes, raw_blank(tube))
    assert all(milled(coped, sheet, tooth) for tooth in TEETH)


def test_teeth_thicker_than_the_page_counts_trip_the_stop_short() -> None:
    """The proof above would notice: pages for teeth without thickness fail with real ones."""
    short = []
    for waste in (1.0, 6.0, 15.0):
        coped = tilted(55.0, Saw(34.0).with_tooth(0.0), Mill(waste=waste))
        sheet = sheet_of(coped)
        assert milled(coped, sheet, 0.0)
        short.append(not milled(coped, sheet, 1.8))
    assert any(short)


def test_a_tip_inside_the_teeth_is_touched_on_their_inner_rim() -> None:
    """Worked out by hand for a flat cut end, saw upright over a level tube's tip.

    Tilted 45 degrees with its end high, the blank's top corner stands out / sqrt 2 - 14.3 / sqrt 2
    right of the spindle, and where that is within the teeth it is the highest.
    """
    coped = tilted(45.0, Saw(40.0).with_tooth(1.5), Mill())
    for corner in (18.6, 19.2, 19.9):
        blank = Blank(-15.0, 700.0 + corner * math.sqrt(2.0) + 14.3)
        (cut,) = tube_sheet(coped.frame, coped.tube, coped.copes, blank).cuts
        assert cut.touch_on == TOUCH_END
        assert cut.touch_right == pytest.approx(corner, abs=0.01)
        assert cut.touch_away == pytest.approx(0.0, abs=0.2)
    long = Blank(-15.0, 800.0)
    (cut,) = tube_sheet(coped.frame, coped.tube, coped.copes, long).cuts
    assert (cut.touch_on, cut.touch_right) == (TOUCH_SIDE, pytest.approx(20.0, abs=0.01))


def test_the_cup_holds_what_stands_inside_the_teeth_only() -> None:
    """Thicker teeth leave less inside them; where the thickness is not known more may stand in."""

    def cut(saw: Saw) -> Cut:
        return sheet_of(tilted(55.0, saw, Mill(waste=60.0))).cuts[0]

    cups = [cut(Saw(34.0).with_tooth(tooth)).cup for tooth in (0.5, 1.3, 1.8, 4.0)]
    assert cups == sorted(cups, reverse=True) and cups[0] > cups[-1]
    assert cut(Saw(34.0)).cup >= cups[1]
    assert cut(Saw(34.0)).run == cut(Saw(34.0).with_tooth(1.8)).run
