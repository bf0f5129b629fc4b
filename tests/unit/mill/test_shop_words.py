"""What the pages say of bent tubes, hand-cut ends, shallow saws, coarse gauges and inches."""

import json
import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner
from joints import LIMITS
from test_pages import pages_of

from frame3d.build import Build
from frame3d.check.saw_choice import with_shop_saws
from frame3d.mill.measures import measures
from frame3d.mill.outside_lines import line_between
from frame3d.mill.saw_alternatives import Alternative, SawChoice
from frame3d.mill.setup import tube_sheet
from frame3d.model import (
    Bend,
    CutMethod,
    Frame,
    Hole,
    Joint,
    Mill,
    Profile,
    ProvedSpeed,
    Saw,
    Shop,
    Tube,
)
from frame3d.model.tube_section import lateral
from frame3d.paper.cut_page import saw_words
from frame3d.paper.cut_steps import bend_words, steps
from frame3d.paper.pdf_page import drill_text, in_units, rule_text, turns_text
from frame3d.surfaces.cope import copes_of
from frame3d_cli.main import main

ROOT = Path(__file__).parents[3]
INCH = Mill(units="inch")


def bent() -> Tube:
    """A quarter turn upwards of 100 mm radius between straights of 150 and 200 mm; the datum of the
    level start is up, on the inside of the bend."""
    return Tube(
        "rail", (0, 0, 0), (250, 0, 300), Profile.constant(30.0), Profile.constant(1.0),
        bends=(Bend((250, 0, 0), 100.0),),
    )  # fmt: skip


def test_lines_along_a_bent_tube_are_shorter_inside_and_longer_outside() -> None:
    tube = bent()
    quarter = math.pi / 2
    assert line_between(tube, 0.0, 0.0, tube.length) == pytest.approx(350 + quarter * 85)
    assert line_between(tube, math.pi, 0.0, tube.length) == pytest.approx(350 + quarter * 115)
    assert line_between(tube, math.pi / 2, 0.0, tube.length) == pytest.approx(350 + quarter * 100)
    at = np.linspace(0.0, 260.0, 20001)
    points, ahead, mark = tube.centreline.at(at)
    across = lateral(tube, at, np.full_like(at, 0.7), 1.0)
    line = points + across[:, :1] * mark + across[:, 1:] * np.cross(ahead, mark)
    walked = np.linalg.norm(np.diff(line, axis=0), axis=1).sum()
    assert line_between(tube, 0.7, 0.0, 260.0) == pytest.approx(walked, abs=1e-4)


def test_the_ends_of_a_bent_tube_are_measured_from_the_bend() -> None:
    tube = bent()
    post = Tube("post", (0, -200, 0), (0, 200, 0), Profile.constant(40.0), Profile.constant(1.0))
    frame = Frame("x", "tig", (tube, post), (Joint("rail", "start", ("post",), (40.0,)),), LIMITS)
    found = measures(frame, tube, copes_of(frame))
    start, end = found.arms
    assert (start.end, end.end) == ("start", "end")
    # The tip beside a post of 20 mm radius, at 15 mm from its middle plane; the throat before it.
    assert start.tip == pytest.approx(150 - math.sqrt(20**2 - 15**2), abs=2e-3)
    assert start.throat == pytest.approx(150 - 20, abs=2e-3)
    assert (end.tip, end.throat) == (200.0, 200.0)


def test_a_bent_blank_is_told_as_bent_and_checked_by_its_straight_length() -> None:
    """The ends of 150 and 200 mm straights beyond a quarter of 100 mm radius: 250 along, 300 up."""
    tube = bent()
    post = Tube("post", (0, -200, 0), (0, 200, 0), Profile.constant(40.0), Profile.constant(1.0))
    frame = Frame("x", "tig", (tube, post), (Joint("rail", "start", ("post",), (40.0,)),), LIMITS)
    sheet = tube_sheet(frame, tube, copes_of(frame))
    before = sheet.start_from_sawn
    after = sheet.sawn - before - tube.length
    assert sheet.chord == pytest.approx(math.hypot(250 + before, 300 + after), abs=2e-3)
    words = bend_words(sheet, Mill())
    assert f"from {150 + before:.1f} mm on 90.00° at 100.0 mm radius" in words
    assert words.endswith(f"end to end, middles, {sheet.chord:.1f} mm")
    straight = tube_sheet(frame, post, copes_of(frame))
    assert straight.chord is None


def test_no_step_tightens_blocks_that_the_page_says_do_not_fit() -> None:
    pages = pages_of(ROOT / "examples" / "diamond" / "job.toml")
    bare = 0
    for tube in pages.tubes:
        for index, cut in enumerate(tube.sheet.cuts):
            rows = {label.split(" ", 1)[1]: (value, note) for label, value, note in steps(
                tube, index, Mill())}  # fmt: skip
            if tube.sheet.block(cut.end) is None:
                bare += 1
                assert rows["Block"][0].startswith("none fits")
                assert "tighten" not in rows["Phase"][1]
                assert tube.care_of(cut)
            else:
                assert "none fits" not in rows["Block"][0]
    assert bare > 0


def test_a_gauge_coarser_than_the_joint_allows_is_told() -> None:
    pages = pages_of(ROOT / "examples" / "two-tubes" / "job.toml")
    tube = pages.tubes[1]
    (cut,) = tube.sheet.cuts
    assert not tube.care_of(cut)
    coarse = replace(tube, sheet=replace(tube.sheet, gauge_step=5.0))
    (words,) = coarse.care_of(cut)
    assert words.startswith("the gauge's step of 5° is coarser")


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        ("leaves 0.254 mm, over", "leaves 0.01000 in, over"),
        ("one from 25.4 to 50.8 mm would", "one from 1.000 to 2.000 in would"),
        ("30.00 x 20.00 mm, holds", "1.1811 x 0.7874 in, holds"),
        ("at -12.7 mm", "at -0.500 in"),
        ("2 cuts, 90° up", "2 cuts, 90° up"),
    ],
)
def test_sentences_told_in_mm_are_printed_in_inches(words: str, expected: str) -> None:
    assert in_units(INCH, words) == expected
    assert in_units(Mill(), words) == words


@pytest.mark.parametrize(
    ("mm", "nearest", "not_less"),
    [
        (25.4, "1.000 in (1)", "1.000 in (1)"),
        (25.4 * 17.4139, "17.414 in (17 13/32)", "17.414 in (17 27/64)"),
        (25.4 * 0.997, "0.997 in (1)", "0.997 in (1)"),
        (0.1, "0.004 in (0)", "0.004 in (1/64)"),
    ],
)
def test_lengths_for_a_rule_are_told_in_64ths_too(mm: float, nearest: str, not_less: str) -> None:
    assert rule_text(INCH, mm) == nearest
    assert rule_text(INCH, mm, up=True) == not_less
    assert rule_text(Mill(), 25.4) == "25.4 mm"


@pytest.mark.parametrize(
    ("mm", "metric", "inch"),
    [(6.35, "1/4 in (6.35 mm)", "1/4 in (6.35 mm)"), (6.5, "6.5 mm", "0.2559 in")],
)
def test_drills_are_named_as_they_are_bought(mm: float, metric: str, inch: str) -> None:
    assert (drill_text(Mill(), mm), drill_text(INCH, mm)) == (metric, inch)


def test_a_job_whose_end_cannot_be_shaped_ends_with_1_and_says_why(tmp_path: Path) -> None:
    job = tmp_path / "job.toml"
    job.write_text(
        '[job]\nname = "x"\nprocess = "tig"\n'
        '[[tube]]\nname = "a"\nstart = [0, 0, 0]\nend = [500, 0, 0]\nod = 30\nwall = 1\n'
        '[[tube]]\nname = "b"\nstart = [100, 0, 0]\nend = [500, 0, 40]\nod = 20\nwall = 1\n'
        '[[joint]]\ntube = "b"\nend = "start"\nonto = ["a"]\n'
    )
    result = CliRunner().invoke(main, ["setup", str(job), "-o", str(tmp_path / "out")])
    assert result.exit_code == 1
    assert "do not cut b: start: the axes of b and a stand 5.71 degrees apart" in " ".join(
        result.output.split()
    )
    told = json.loads(CliRunner().invoke(main, ["setup", str(job), "--json"]).output)
    assert told["tubes"][1]["sheet"]["cuts"] == []


def test_a_shop_without_saws_still_gets_its_pages(tmp_path: Path) -> None:
    tube = bent()
    post = Tube("post", (0, -200, 0), (0, 200, 0), Profile.constant(40.0), Profile.constant(1.0))
    joints = (Joint("rail", "start", ("post",), (None,), CutMethod("saw", "job")),)
    frame = Frame("x", "tig", (tube, post), joints, LIMITS, Shop("s", (Saw(12.0),)))
    frame = with_shop_saws(frame)
    pages = Build(frame).pages()
    assert (pages.saws[0].cut_by, pages.saws[0].source) == ("hand", "job")
    assert pages.saws[0].note == "this shop has no saw near its size"
    assert "one" in pages.saws[0].advice
    assert not pages.tubes[0].sheet.cuts


@pytest.mark.parametrize(
    ("mm", "words"),
    [
        (2.0, ""),
        (-2.0, ""),
        (2.54, ": 1 turn + 0.00000 in"),
        (3.0, ": 1 turn + 0.01811 in"),
        (-7.0, ": 2 turns + 0.07559 in"),
    ],
)
def test_turns_of_a_wheel_are_counted_from_one_turn_up(mm: float, words: str) -> None:
    assert turns_text(replace(INCH, travel_per_turn=2.54), mm) == words
    assert turns_text(INCH, mm) == ""


def test_saws_are_told_as_in_the_heading_and_two_of_them_leave() -> None:
    other = Alternative((41.275,), 0.02)
    one = SawChoice("rail", "end", ("post",), "saw", "joint", "", (38.1,), 0.01, 0.4, (other,), "")
    assert saw_words(one, INCH) == "1.5000 in leaves 0.010 mm; 1.6250 in would leave 0.020 mm"
    both = replace(one, saws=(38.1, 28.575), alternatives=())
    assert saw_words(both, Mill()).startswith("38.10 mm and 28.57 mm leave 0.010 mm")
    assert saw_words(both, INCH).startswith("1.5000 in and 1.1250 in leave 0.010 mm")


def test_a_warning_of_several_tubes_is_said_once_with_their_names() -> None:
    pages = pages_of(ROOT / "examples" / "two-tubes" / "job.toml")
    said = [("shim it",), ("mind the seam", "shim it")]
    tubes = tuple(
        replace(tube, sheet=replace(tube.sheet, warnings=words))
        for tube, words in zip(pages.tubes, said, strict=True)
    )
    one, other = (tube.sheet.tube for tube in tubes)
    assert replace(pages, tubes=tubes).warnings == {
        "shim it": [one, other],
        "mind the seam": [other],
    }


def speed_words(frame: Frame) -> tuple[str, str]:
    (pages,) = (p for p in Build(frame).pages().tubes if p.sheet.cuts)
    return next(
        (value, note) for label, value, note in steps(pages, 0, frame.shop.mill) if "Speed" in label
    )


LADDER = Mill(spindle_rpm=(80, 135, 210, 325, 660, 1115))


def sawn_rail(saw: Saw, mill: Mill = LADDER, material: str = "steel") -> Frame:
    post = Tube("post", (0, -200, 0), (0, 200, 0), Profile.constant(28.6), Profile.constant(1.0))
    rail = Tube("rail", (0, 0, 0), (300, 0, 0), Profile.constant(25.4), Profile.constant(0.9))
    joint = Joint("rail", "start", ("post",), (saw.od,))
    tubes = (replace(rail, material=material), post)
    return Frame("x", "tig", tubes, (joint,), LIMITS, Shop("x", (saw,), mill))


def test_the_large_speed_is_the_one_to_start_with_and_practice_is_a_note() -> None:
    """Between 135 and 210 rpm the step is the lower one, though 210 is nearer to 201; practice,
    76.7 m/min, is four times the handbook's 60 feet a minute."""
    value, note = speed_words(sawn_rail(Saw(28.9)))
    assert value.startswith("135 rpm")
    assert note.endswith(
        "cutting fluid; start with this: solid stock, handbook 201 rpm, next lower step 135; thin "
        "wall, common practice 845 rpm, next lower step 660: 4.9 times this, in a rigid set-up only"
    )
    value, note = speed_words(sawn_rail(Saw(28.9), replace(LADDER, spindle_rpm=(400, 845))))
    assert value.startswith("400 rpm")
    assert "201 rpm, lowest step 400; thin wall, common practice 845 rpm, step 845: 2.1" in note
    assert "rigid" not in speed_words(sawn_rail(Saw(28.9), material="titanium"))[1]


def test_a_speed_that_this_shop_has_proved_wins_in_walls_up_to_its_own() -> None:
    thick, thin = ProvedSpeed("steel", 1.6, 325), ProvedSpeed("steel", 0.9, 660)
    saw = Saw(28.9, teeth=24, proved=(thick, thin))
    value, note = speed_words(sawn_rail(saw))
    assert value.startswith("660 rpm")
    assert "start with this: proved in this shop; solid stock, handbook" in note
    assert "0.00318 mm a tooth" in note  # 0.0762 mm a revolution over 24 teeth
    thicker = replace(saw, proved=(thick,))
    assert speed_words(sawn_rail(thicker))[0].startswith("325 rpm")
    thinner = replace(saw, proved=(ProvedSpeed("steel", 0.8, 660),))
    assert speed_words(sawn_rail(thinner))[0].startswith("135 rpm")
    assert speed_words(sawn_rail(saw, material="titanium"))[0].startswith("80 rpm")


def test_aluminium_takes_the_step_that_its_speed_names() -> None:
    """250 feet a minute are 656 rpm for a 37 mm saw: the 660 step is that speed, not half of it."""
    post = Tube("post", (0, -200, 0), (0, 200, 0), Profile.constant(36.6), Profile.constant(1.0))
    frame = sawn_rail(Saw(37.0), material="aluminium")
    value, note = speed_words(replace(frame, tubes=(frame.tubes[0], post)))
    assert value.startswith("660 rpm")
    assert note.endswith("handbook 656 rpm, step 660")


def rows_of(frame: Frame, name: str) -> list[dict[str, tuple[str, str]]]:
    """The steps of all cuts of a tube, by their labels."""
    pages = next(p for p in Build(frame).pages().tubes if p.sheet.tube == name)
    return [
        {label.split(" ", 1)[1]: (value, note) for label, value, note in steps(pages, k, Mill())}
        for k in range(len(pages.sheet.cuts))
    ]


def between_posts(long: float, *bends: Bend, far: tuple = (0.0, 0.0)) -> Frame:
    """A rail from one post to another, a saw at both ends."""
    rail = Tube(
        "rail", (0, 0, 0), (long, *far), Profile.constant(28.6), Profile.constant(0.9), bends=bends
    )
    posts = [
        Tube(n, (x, y, z - 99), (x, y, z + 99), Profile.constant(36), Profile.constant(1))
        for n, (x, y, z) in {"near post": (0, 0, 0), "far post": (long, *far)}.items()
    ]
    joints = (
        Joint("rail", "start", ("near post",), (36.5,)),
        Joint("rail", "end", ("far post",), (36.5,)),
    )
    return Frame("x", "tig", (rail, *posts), joints, LIMITS)


def test_all_that_is_measured_from_an_end_is_marked_before_that_end_is_cut() -> None:
    hole = Hole("rail", 200.0, 180.0, 6.0, "stop")
    first, second = rows_of(replace(between_posts(400.0), holes=(hole,)), "rail")
    mark, block = second["Mark"], second["Block"]
    assert f"mark now too: cut 2's at {mark[0].split(' from')[0]} on" in first["Mark"][1]
    assert "its holes" in first["Mark"][1]
    assert f"the end's block now too: {block[0].removeprefix('face at ')}" in first["Block"][1]
    for _, note in (mark, block):
        assert "scribed before cut 1" in note
    assert "cope for near post and one in the end's for far post" in second["Measure"][1]


def test_lengths_that_wait_for_an_end_cut_by_hand_say_so() -> None:
    frame = between_posts(400.0)
    near, far = frame.joints
    hand = replace(frame, joints=(near, replace(far, saws=(None,))))
    (row,) = rows_of(hand, "rail")
    assert row["Measure"][1].startswith("when the end is shaped by hand too: ")
    assert all("by hand" not in row.get("Measure", ("", ""))[1] for row in rows_of(frame, "rail"))


def test_one_block_for_both_ends_is_told_by_the_face_nearer_each_cut() -> None:
    frame = between_posts(100.0)
    tube = frame.tube("rail")
    (block,) = tube_sheet(frame, tube, copes_of(frame)).blocks
    assert block.end == "both"
    first, second = rows_of(frame, "rail")
    told = [float(row["Block"][0].split()[2]) for row in (first, second)]
    assert abs(told[1] - told[0]) == pytest.approx(block.length, abs=0.11)


def test_only_a_tube_bent_in_one_plane_is_told_to_lie_flat() -> None:
    flat = between_posts(700.0, Bend((250, 60, 0), 90.0), Bend((450, 60, 0), 90.0))
    twisted = between_posts(
        700.0, Bend((250, 60, 0), 90.0), Bend((450, 60, 60), 90.0), far=(0.0, 90.0)
    )
    for row in rows_of(flat, "rail"):
        assert "the tube flat" in row["Phase"][1]
    for row in rows_of(twisted, "rail"):
        assert "the tube flat" not in row["Phase"][1]
        assert "let the rest hang off" in row["Phase"][1]


@pytest.mark.parametrize(
    ("start", "end", "ends"),
    [
        ((0, 0, 0), (-30, 0, 120), ("lower", "upper")),  # a head tube
        ((0, -34, 0), (0, 34, 0), ("right", "left")),  # a shell
        ((0, 0, 500), (-500, 20, 480), ("front", "rear")),
    ],
)
def test_start_and_end_are_told_as_they_stand_in_the_frame(start, end, ends) -> None:
    tube = Tube("t", start, end, Profile.constant(36.0), Profile.constant(1.0))
    frame = Frame("x", "tig", (tube,), (), LIMITS)
    sheet = tube_sheet(frame, tube, copes_of(frame))
    assert (sheet.start_is, sheet.end_is) == ends
