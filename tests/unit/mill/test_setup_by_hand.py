"""Set-ups worked out by hand, with a tube along x (forward) whose datum faces up (z)."""

import math

import pytest
from joints import LIMITS

from frame3d.mill.setup import tube_sheet
from frame3d.mill.tube_sheet import Cut, TubeSheet
from frame3d.model import Frame, Joint, Mill, Profile, Saw, Shop, Tube
from frame3d.surfaces.cope import copes_of


def sheet_of(
    *mates: tuple[str, tuple[float, float, float], tuple[float, float, float]],
    saw: float = 40.0,
    od: float = 40.0,
    depth: float | None = None,
    mill: Mill = Mill(),  # noqa: B008
) -> TubeSheet:
    """Mates as (end, a point of the axis, its direction); a tube of 1 1/8 in from x = 0 to 500."""
    tube = Tube("rail", (0, 0, 0), (500, 0, 0), Profile.constant(28.575), Profile.constant(0.9))
    tubes, joints = [tube], []
    for end, point, way in mates:
        ends = [tuple(p + s * 300 * w for p, w in zip(point, way, strict=True)) for s in (-1, 1)]
        tubes.append(Tube(end, ends[0], ends[1], Profile.constant(od), Profile.constant(1)))
        joints.append(Joint("rail", end, (end,), (saw,)))
    frame = Frame(
        "x", "tig", tuple(tubes), tuple(joints), LIMITS, Shop("x", (Saw(saw, depth),), mill)
    )
    return tube_sheet(frame, tube, copes_of(frame))


def one(*mates, **how) -> Cut:
    (cut,) = sheet_of(*mates, **how).cuts
    return cut


UP = (0.0, 0.0, 1.0)


def test_an_offset_to_the_left_is_towards_the_column_at_the_end_and_towards_you_at_the_start():
    """The end points right and z up: away from the builder is y, the left of the frame. Turned end
    for end it is the frame's right."""
    left = one(("end", (500, 4, 0), UP))
    assert (left.line_up, left.tilt, left.offset) == (0.0, 0.0, 4.0)
    assert left.offset_to == "towards the column"
    turned = one(("start", (0, 4, 0), UP))
    assert (turned.offset, turned.offset_to) == (4.0, "towards you")


def test_a_head_tube_of_73_degrees_takes_17_degrees_with_the_underside_up() -> None:
    """Its top leans back over the tube; with the cut end high the underside makes it upright."""
    lean = math.radians(73)
    head = ("end", (500.0, 0.0, 0.0), (-math.cos(lean), 0.0, math.sin(lean)))
    cut = one(head)
    assert (cut.tilt, cut.high, cut.line_up) == (pytest.approx(17.0), "cut end high", 180.0)
    low = one(head, mill=Mill(cut_end="low"))
    assert (low.tilt, low.high, low.line_up) == (pytest.approx(17.0), "cut end low", 0.0)


def test_lines_count_clockwise_as_seen_from_the_start() -> None:
    """Looking forward with z up, the frame's left (y) is a quarter turn anticlockwise: 270."""
    cut = one(("end", (500, 0, 0), (math.sin(0.3), math.cos(0.3), 0.0)))
    assert cut.line_up == 270.0
    assert cut.around == pytest.approx(0.75 * math.pi * 28.575, abs=1e-3)


def test_two_parallel_mates_are_cut_in_phase_on_opposite_faces() -> None:
    """Leaning the same way, one leans over the tube and the other away from it."""
    way = (0.2, 0.0, 0.98)
    first, second = sheet_of(("start", (0, 0, 0), way), ("end", (500, 0, 0), way)).cuts
    assert (first.face_up, second.face_up) == (1, 3)
    assert (first.block_turn, second.block_turn) == (0.0, 0.0)


def test_mates_square_to_each_other_are_a_quarter_turn_apart() -> None:
    first, second = sheet_of(("start", (0, 0, 0), UP), ("end", (500, 0, 0), (0, 1, 0))).cuts
    assert first.face_up == 1
    assert second.face_up in (2, 4)
    assert second.block_turn == 0.0


def test_a_phase_of_20_degrees_is_a_reading_across_the_second_block() -> None:
    turn = math.radians(20)
    way = (0.0, -math.sin(turn), math.cos(turn))  # 20 degrees clockwise, looking forward
    first, second = sheet_of(("start", (0, 0, 0), UP), ("end", (500, 0, 0), way)).cuts
    assert (first.block_turn, second.block_turn) == (0.0, pytest.approx(20.0))
    assert second.face_up == 1


def test_the_seat_moves_the_mark_outward_by_the_oversize() -> None:
    """A saw 1 mm over the mate's size takes 0.5 mm too much in the plane of the axes, and less at
    the sides; where the tube then touches, its jig length is right only if the mark moves too."""
    fitting = one(("end", (500, 0, 0), UP), od=40.0)
    oversize = one(("end", (500, 0, 0), UP), od=39.0)
    moved = (oversize.mark + oversize.x_move) - (fitting.mark + fitting.x_move)
    # Touching at the sides: sqrt(20^2 - r^2) - sqrt(19.5^2 - r^2) with r the tube's radius.
    r = 28.575 / 2
    touch = [math.sqrt(R**2 - q**2) for q in (r, r - 0.9) for R in (20.0, 19.5)]
    slides = (20.0 - 19.5, touch[0] - touch[1], touch[2] - touch[3])
    # The blank grows with the tip, and the mark with it; both are measured from the start.
    assert moved == pytest.approx(min(slides), abs=2e-3)


def test_a_shallow_saw_asks_for_waste_off_before_all_marks() -> None:
    steep = ("end", (500.0, 0.0, 0.0), (0.6, 0.0, 0.8))
    deep = sheet_of(steep)
    assert (deep.saw_off_start, deep.saw_off_end) == (0.0, 0.0)
    depth = deep.cuts[0].cup - 4.0
    shallow = sheet_of(steep, depth=depth)
    assert shallow.saw_off_end > 0.0
    assert shallow.saw_off_start == 0.0
    assert shallow.cuts[0].cup <= depth
    assert shallow.cuts[0].clear == 0.0
    at_start = sheet_of(("start", (0.0, 0.0, 0.0), (0.6, 0.0, 0.8)), depth=depth)
    assert at_start.saw_off_start > 0.0
    whole = sheet_of(("start", (0.0, 0.0, 0.0), (0.6, 0.0, 0.8)))
    # Marks are measured from the end as it is sawn off; the spindle stands where it did.
    places = [
        (sheet.start_from_sawn - cut.mark) * math.cos(math.radians(cut.tilt)) + cut.x_move
        for sheet in (whole, at_start)
        for cut in sheet.cuts
    ]
    assert places[0] == pytest.approx(places[1], abs=3e-3)


def test_a_saw_too_shallow_for_one_run_is_cleared_between_steps_or_told_to_be_replaced() -> None:
    steep = ("end", (500.0, 0.0, 0.0), (0.6, 0.0, 0.8))
    sheet = sheet_of(steep, depth=20.0)
    (cut,) = sheet.cuts
    assert 5.0 <= cut.clear < cut.run
    assert cut.cup <= 20.0
    assert any(f"steps of {cut.clear:g} mm" in words for words in sheet.warnings)
    assert any("use a deeper saw" in words for words in sheet_of(steep, depth=6.0).warnings)


def test_the_marks_are_on_metal_and_the_block_is_inward_of_them() -> None:
    sheet = sheet_of(("start", (0, 0, 0), UP), ("end", (500, 0, 0), (0.5, 0.0, 0.85)))
    for cut in sheet.cuts:
        assert 2.0 <= cut.mark <= sheet.blank - 2.0
    blocks = {block.end: block.at for block in sheet.blocks}
    marks = {cut.end: cut.mark for cut in sheet.cuts}
    assert marks["start"] < blocks["start"] < blocks["end"] < marks["end"]


def test_butts_stand_where_the_blank_lies() -> None:
    """Profiles on the page are measured from the blank's start end."""
    sheet = sheet_of(("start", (0, 0, 0), UP))
    assert sheet.start_point > 0.0
    assert sheet.wall == ((0.0, 0.9),)
    tube = Tube(
        "b", (0, 0, 0), (300, 0, 0), Profile.constant(20), Profile.through([(50, 0.9), (80, 0.6)])
    )
    mate = Tube("m", (0, 0, -99), (0, 0, 99), Profile.constant(30), Profile.constant(1))
    frame = Frame("x", "tig", (tube, mate), (Joint("b", "start", ("m",), (30.0,)),), LIMITS)
    butted = tube_sheet(frame, tube, copes_of(frame))
    assert butted.wall[0] == (pytest.approx(50 + butted.start_point), 0.9)
