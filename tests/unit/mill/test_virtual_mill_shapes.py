"""The proof of the mill pages for tubes that are bent, oval or tapered."""

from dataclasses import replace

import numpy as np
import pytest
from draws import draws
from hypothesis import assume, given
from joints import Coped, bent_tubes, coped_tubes, oval_tubes, tapered_tubes, whole
from test_virtual_mill import fixed, followed, pages, strays

from frame3d.mill.setup import tube_sheet
from frame3d.mill.virtual_tube import Fresh
from frame3d.model import Bend, Joint, Oval, Profile, Tube, end_frame
from frame3d.surfaces.cope import copes_of

HUNDREDS = draws(few=16, many=100)


def all_cut(coped: Coped, sheet: dict) -> bool:
    """Whether every sawn end has its numbers."""
    return {cut["end"] for cut in sheet["cuts"]} == {end for _, end in coped.copes}


@HUNDREDS
@given(coped_tubes(saws=(0, 1, 2), tubes=bent_tubes()))
def test_bent_tubes_come_out_as_designed(coped: Coped) -> None:
    assume(whole(coped))
    sheet = pages(coped)
    assume(all_cut(coped, sheet))
    assert strays(coped, sheet) == 0


@HUNDREDS
@given(coped_tubes(saws=(0, 1, 2), tubes=oval_tubes()))
def test_oval_tubes_come_out_as_designed(coped: Coped) -> None:
    assume(whole(coped))
    sheet = pages(coped)
    assume(all_cut(coped, sheet))
    assert strays(coped, sheet) == 0


@HUNDREDS
@given(coped_tubes(saws=(0, 1, 2), tubes=tapered_tubes()))
def test_tapered_tubes_come_out_as_designed(coped: Coped) -> None:
    assume(whole(coped))
    assert strays(coped, pages(coped)) == 0


def test_a_wide_end_is_cut_away_by_the_first_saw_though_its_lines_run_in_the_air_before_it() -> (
    None
):
    """The first saw comes up through the thin part; what stands wider beyond it is gone too, and
    the second saw's teeth must not be thought to touch it."""
    tube = Tube("rail", (0, 0, 0), (-700, 0, 0), Profile.constant(12.0), Profile.constant(1.0))
    across = Profile((0.0, 20.0, 676.0, 700.0), (12.0, 7.5, 7.5, 12.0))
    tube = replace(tube, oval=Oval(across, 0.0))
    mates, saws = [], (14.0, 18.0)
    for name, saw, side in (("one", 14.0, (0.0, 1.0)), ("two", 18.0, (1.0, 0.0))):
        along = np.array([-np.cos(np.radians(15)), *(np.sin(np.radians(15)) * np.array(side))])
        ends = (tuple(np.array([-700.0, 0, 0]) + far * along) for far in (-400.0, 100.0))
        mates.append(Tube(name, *ends, Profile.constant(saw), Profile.constant(1.0)))
    coped = fixed()
    joint = Joint("rail", "end", ("one", "two"), saws)
    frame = replace(coped.frame, tubes=(tube, *mates), joints=(joint,))
    coped = Coped(frame, tube, copes_of(frame))
    sheet = pages(coped)
    assert [cut["onto"] for cut in sheet["cuts"]] == ["two", "one"]
    assert strays(coped, sheet) == 0


@draws(few=12, many=60)
@given(bent_tubes())
def test_the_printed_bends_make_the_designed_axis(tube: Tube) -> None:
    """A fresh tube bent by the table has its far end and its datum there where the drawing has."""
    sheet = tube_sheet(fixed().frame, tube, {})
    (start, x, y, z), (end, ahead, datum, _) = (
        Fresh({**as_plain(sheet)}).path(sheet.start_point + at) for at in (0.0, tube.length)
    )
    first, last = end_frame(tube, "start"), end_frame(tube, "end")
    axes = np.stack([-first.out, first.datum, first.side])
    assert np.allclose(np.stack([x, y, z]), np.eye(3), atol=1e-12)
    assert np.linalg.norm(first.origin + (end - start) @ axes - last.origin) < 0.02
    assert np.linalg.norm(ahead @ axes - last.out) < 1e-5
    assert np.linalg.norm(datum @ axes - last.datum) < 1e-5


def as_plain(sheet) -> dict:
    from frame3d.mill.printed_numbers import as_json

    return as_json(sheet)


def shaped(kind: str) -> Coped:
    """The generic tube of three cuts, bent out of plane or oval all along."""
    coped = fixed()
    tube = coped.tube
    if kind == "bent":
        bends = (Bend((300.0, 90.0, 150.0), 120.0), Bend((470.0, 40.0, 260.0), 90.0))
        tube = replace(tube, bends=bends)
    elif kind == "oval":
        tube = replace(tube, oval=Oval(Profile.constant(25.0), 33.0))
    frame = replace(coped.frame, tubes=(tube, *coped.frame.tubes[1:]))
    return Coped(frame, tube, copes_of(frame))


NUMBERS = {
    "saw_mm": 0.02, "half_mm": 0.02, "across_mm": 0.02, "offset_mm": 0.02, "mark_mm": 0.02,
    "x_move_mm": 0.02, "tilt_deg": 0.05, "line_up_deg": 0.05, "around_mm": 0.02, "gauge_deg": 0.08,
    "drop_mm": 0.2, "face_up": 1, "cup_mm": -5.0, "run_mm": -2.5,
}  # fmt: skip
OWN = {
    "round": {"block_turn_deg": 0.05},
    "bent": {"block_turn_deg": 0.05, "aside_mm": 0.2},
    "oval": {"bore_turn_deg": 0.05},
}


@pytest.mark.parametrize("kind", ["round", "bent", "oval"])
def test_any_number_of_any_kind_of_tube_that_is_wrong_spoils_it(kind: str) -> None:
    coped = shaped(kind)
    assert whole(coped)
    sheet = pages(coped)
    assert len(sheet["cuts"]) == 3
    assert strays(coped, sheet) == 0
    for number in range(3):
        for key, by in {**NUMBERS, **OWN[kind]}.items():
            wrong = pages(coped)
            wrong["cuts"][number][key] += by
            assert not followed(wrong, coped), (number, key)
    heads = ["start_point_mm", "edge_tip_mm", "saw_off_start_mm"]
    if kind == "bent":  # only a bent tube is measured from its far end too
        heads += ["blank_mm", "saw_off_end_mm"]
    for key in heads:
        wrong = pages(coped)
        wrong[key] += 0.05
        assert not followed(wrong, coped), key
    for block in (0, 1):
        wrong = pages(coped)
        wrong["blocks"][block]["bore_mm"] -= 0.5
        assert not followed(wrong, coped), block
        nearer = pages(coped), pages(coped)  # one way or the other is under the saw
        for sheet, by in zip(nearer, (-10.0, 10.0), strict=True):
            sheet["blocks"][block]["at_mm"] += by
        assert not all(followed(sheet, coped) for sheet in nearer), block


def test_a_bend_that_is_told_wrong_spoils_the_tube() -> None:
    coped = shaped("bent")
    for number in (0, 1):
        for key, by in (("plane_deg", 0.05), ("at_mm", 300.0)):
            sheet = pages(coped)
            sheet["bends"][number][key] += by
            assert not followed(sheet, coped), (number, key)


def test_a_bent_end_with_too_short_a_straight_gets_a_reason_and_the_other_its_numbers() -> None:
    coped = fixed()
    tube = replace(coped.tube, bends=(Bend((60.0, 28.0, 50.0), 60.0),))
    frame = replace(coped.frame, tubes=(tube, *coped.frame.tubes[1:]))
    sheet = tube_sheet(frame, tube, copes_of(frame))
    assert {cut.end for cut in sheet.cuts} == {"end"}
    (words,) = [words for words in sheet.warnings if words.startswith("bent")]
    assert "straight of" in words and "start" in words and "wrap" in words


def test_an_oval_that_changes_all_along_gets_a_reason_and_what_to_use() -> None:
    coped = fixed()
    tube = replace(coped.tube, oval=Oval(Profile.through([(-50, 30.0), (900, 24.0)])))
    frame = replace(coped.frame, tubes=(tube, *coped.frame.tubes[1:]))
    sheet = tube_sheet(frame, tube, copes_of(frame))
    assert not sheet.cuts
    assert any("guide" in words and "wrap" in words for words in sheet.warnings)


@pytest.mark.parametrize(("end", "part"), [("start", 0), ("end", 1)])
def test_the_block_of_an_oval_end_stands_on_the_part_that_is_named(end: str, part: int) -> None:
    coped = fixed()
    across = [(0, 31.7), (60, 26.0), (250, 26.0), (400, 24.0), (600, 24.0), (700, 31.7)]
    tube = replace(coped.tube, oval=Oval(Profile.through(across), 20.0))
    frame = replace(coped.frame, tubes=(tube, *coped.frame.tubes[1:]))
    coped = Coped(frame, tube, copes_of(frame))
    sheet = tube_sheet(frame, tube, coped.copes)
    block = sheet.block(end)
    assert block is not None
    assert block.bore_across == (26.0, 24.0)[part]
    assert f"31.70 x {(26, 24)[part]:.2f} mm" in block.part
    assert strays(coped, pages(coped)) == 0
