"""The proof of the mill pages: their numbers alone make the designed tube."""

import copy
import json
from dataclasses import replace

import pytest
from draws import draws
from hypothesis import assume, given, note
from hypothesis import strategies as st
from joints import LIMITS, Coped, coped_tubes, whole

from frame3d.mill.printed_numbers import as_json
from frame3d.mill.proof import astray
from frame3d.mill.setup import tube_sheet
from frame3d.mill.virtual_mill import MillError, mill
from frame3d.model import Frame, Joint, Mill, Profile, Saw, Shop, Tube
from frame3d.surfaces.cope import copes_of

constant = Profile.constant

HUNDREDS = draws(few=40, many=500)


def pages(coped: Coped) -> dict:
    """The printed numbers as text and back, so that nothing else can come along."""
    return json.loads(json.dumps(as_json(tube_sheet(coped.frame, coped.tube, coped.copes))))


def strays(coped: Coped, sheet: dict) -> int:
    """Lines outside the 2 µm skin, over all ends."""
    work = mill(sheet)
    return sum(astray(cope, work, sheet["start_point_mm"]) for cope in coped.copes.values())


@HUNDREDS
@given(coped_tubes(saws=(0, 1), skew=False))
def test_in_plane_ends_come_out_as_designed(coped: Coped) -> None:
    assume(whole(coped))
    assert strays(coped, pages(coped)) == 0


@HUNDREDS
@given(coped_tubes(saws=(0, 1)))
def test_skew_ends_come_out_as_designed(coped: Coped) -> None:
    assume(whole(coped))
    assert strays(coped, pages(coped)) == 0


@HUNDREDS
@given(coped_tubes(saws=(1, 2)))
def test_ends_of_one_and_two_saws_come_out_as_designed(coped: Coped) -> None:
    assume(whole(coped))
    assert strays(coped, pages(coped)) == 0


def fixed(cut_end: str = "high") -> Coped:
    """A tube with two skew cuts at its start and one at its end; nothing about it is square."""
    tube = Tube("rail", (10, 20, 30), (650, 110, 300), constant(31.7), constant(0.9))
    post = Tube("post", (-30, 24, -200), (60, 15, 300), constant(36.0), constant(1.0))
    shell = Tube("shell", (14, -30, 26), (12, 90, 10), constant(40.0), constant(2.0))
    head = Tube("head", (690, 113, 200), (610, 108, 430), constant(36.0), constant(1.0))
    joints = (
        Joint("rail", "start", ("post", "shell"), (37.0, 41.0)),
        Joint("rail", "end", ("head",), (38.0,)),
    )
    shop = Shop("x", (Saw(37.0, 70.0), Saw(38.0, 70.0), Saw(41.0, 70.0)), Mill(cut_end=cut_end))
    frame = Frame("fixed", "tig", (tube, post, shell, head), joints, LIMITS, shop)
    return Coped(frame, tube, copes_of(frame))


def followed(sheet: dict, coped: Coped) -> bool:
    """Whether the numbers can be followed and make the designed tube."""
    try:
        return strays(coped, sheet) == 0
    except MillError:
        return False


@pytest.mark.parametrize("cut_end", ["high", "low"])
def test_a_generic_tube_of_three_cuts_comes_out_as_designed(cut_end: str) -> None:
    coped = fixed(cut_end)
    sheet = pages(coped)
    assert [cut["number"] for cut in sheet["cuts"]] == [1, 2, 3]
    assert {cut["high"] for cut in sheet["cuts"]} == {f"cut end {cut_end}"}
    assert strays(coped, sheet) == 0


LENGTHS = ("saw_mm", "half_mm", "offset_mm", "mark_mm", "x_move_mm")
ANGLES = ("block_turn_deg", "tilt_deg")


@pytest.mark.parametrize("number", [0, 1, 2])
@pytest.mark.parametrize("key", LENGTHS + ANGLES)
@pytest.mark.parametrize("sign", [-1, 1])
def test_any_number_that_is_a_little_wrong_spoils_the_tube(number: int, key: str, sign: int):
    coped = fixed()
    sheet = pages(coped)
    sheet["cuts"][number][key] += sign * (0.02 if key in LENGTHS else 0.05)
    assert not followed(sheet, coped)


FLIPS = {
    "end": {"start": "end", "end": "start"},
    "high": {"cut end high": "cut end low", "cut end low": "cut end high"},
    "offset_to": {"towards you": "towards the column", "towards the column": "towards you"},
    "face_up": {1: 3, 2: 4, 3: 1, 4: 2},
    "block_turn_deg": lambda value: -value,
    "x_move_mm": lambda value: -value,
    "offset_mm": lambda value: -value,
    "tilt_deg": lambda value: 90.0 - value,
    "mark_mm": lambda value: 682.0 - value,
    "run_mm": lambda value: value - 2.5,
    "cup_mm": lambda value: value - 5.0,
    "across_mm": lambda value: value + 0.1,
}


@pytest.mark.parametrize("number", [0, 1, 2])
@pytest.mark.parametrize("key", FLIPS)
def test_a_wrong_sign_side_or_depth_anywhere_spoils_the_tube(number: int, key: str) -> None:
    coped = fixed()
    sheet = pages(coped)
    cut = sheet["cuts"][number]
    flip = FLIPS[key]
    flipped = flip(cut[key]) if callable(flip) else flip[cut[key]]
    if flipped == cut[key]:
        assert key in ("block_turn_deg", "x_move_mm") and flipped == 0.0
        return
    cut[key] = flipped
    assert not followed(sheet, coped)


@pytest.mark.parametrize("key", ["face_one_deg", "start_point_mm", "edge_tip_mm"])
def test_a_wrong_number_at_the_head_of_the_page_spoils_the_tube(key: str) -> None:
    coped = fixed()
    sheet = pages(coped)
    sheet[key] += 0.05
    assert not followed(sheet, coped)


def test_the_order_of_the_cuts_belongs_to_the_numbers() -> None:
    coped = fixed()
    sheet = pages(coped)
    sheet["cuts"] = [sheet["cuts"][2], *sheet["cuts"][:2]]
    assert not followed(sheet, coped)


def test_a_block_in_the_way_of_the_saw_is_noticed() -> None:
    coped = fixed()
    sheet = pages(coped)
    for block in sheet["blocks"]:
        moved = copy.deepcopy(sheet)
        near = next(b for b in moved["blocks"] if b["end"] == block["end"])
        near["at_mm"] += 8.0 if block["end"] == "end" else -8.0
        assert not followed(moved, coped)


@draws(few=16, many=100)
@given(coped_tubes(saws=(1, 2)), st.data())
def test_random_pages_with_one_number_changed_are_caught(coped: Coped, data: st.DataObject) -> None:
    assume(whole(coped))
    sheet = pages(coped)
    cut = data.draw(st.sampled_from(sheet["cuts"]))
    only = [c for c in sheet["cuts"] if c["end"] == cut["end"]]
    assume(len(only) == 1)  # of two cuts one may stand wholly in the waste of the other
    key = data.draw(st.sampled_from(LENGTHS + ANGLES))
    assume(key != "offset_mm" or cut["offset_mm"])
    cut[key] += data.draw(st.sampled_from([-1, 1])) * (0.05 if key in LENGTHS else 0.2)
    note(f"{key} of cut {cut}")
    assert not followed(sheet, coped)


@pytest.mark.parametrize("cut_end", ["high", "low"])
@pytest.mark.parametrize("taper", [[(0, 28.6), (60, 28.6), (500, 34.0)], [(80, 31.9), (520, 28.6)]])
def test_a_tapered_tube_comes_out_as_designed(taper: list, cut_end: str) -> None:
    """The blocks and the marks take the diameter where they stand."""
    coped = fixed(cut_end)
    od = Profile.through(taper)
    tube = replace(coped.tube, od=od)
    tubes = (tube, *coped.frame.tubes[1:])
    frame = replace(coped.frame, tubes=tubes)
    coped = Coped(frame, tube, copes_of(frame))
    assert whole(coped)
    sheet = pages(coped)
    assert len(sheet["cuts"]) == 3
    assert strays(coped, sheet) == 0
