"""A bicycle in a job file: whole frames from numbers, the builder's own word, errors with lines."""

import json
import shutil
from dataclasses import FrozenInstanceError
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner

import frame3d
from frame3d.build import Build
from frame3d.check.saw_choice import predicted
from frame3d.jobs import JobError
from frame3d.model import Frame
from frame3d.view.spec_tables import geometry_sheet
from frame3d_cli.main import main
from tests.unit.test_bad_jobs import refused

EXAMPLES = Path(__file__).parents[2] / "examples"
TOURING = EXAMPLES / "touring" / "job.toml"

NUMBERS = """\
[job]
name = "bike"
process = "fillet-braze"
shop = "shop.toml"

[bicycle]
front_wheel = "28-622"
rear_wheel = "28-622"
headset = "EC34/28.6 | EC34/30"
shell = "ISO 68"
rear_hub = "130x10"
bb_drop = 70
chain_stay_length = 430
head_tube_angle = 72.5
rake = 45
fork_length = 393
stack = 580
reach = 385
seat_tube_angle = 73
seat_tube_length = 540
"""
PICKED = """\
[[tube]]
name = "top tube"
od = 28.6
wall = 0.8

[[tube]]
name = "down tube"
od = 31.8
wall = 0.8

[[tube]]
name = "seat tube"
od = 28.6
wall = 0.7

[[tube]]
name = "chain stay"
od = 19.0
wall = 0.8

[[tube]]
name = "seat stay"
od = 14.0
wall = 0.8

[clearances]
tyre_mm = 1.0
"""
JOB = NUMBERS + "\n" + PICKED
SIDES = ("left", "right")
SHOP = '[shop]\nname = "x"\n[[saw]]\nod = 29.0\n[[saw]]\nod = 38.4\n'


def job(folder: Path, text: str = JOB, shop: str = SHOP) -> Path:
    (folder / "shop.toml").write_text(shop)
    path = folder / "job.toml"
    path.write_text(text)
    return path


def load(folder: Path, text: str = JOB, shop: str = SHOP) -> Frame:
    return frame3d.open(job(folder, text, shop)).frame


def numbers(path: Path, *more: str) -> dict:
    result = CliRunner().invoke(main, ["geometry", str(path), "--json", *more])
    assert result.exit_code == 0, result.output
    return json.loads(result.stdout)


@pytest.mark.parametrize("name", ["touring", "step-through"])
def test_all_gaps_of_whole_frames_with_exact_copes_are_0(name: str, tmp_path: Path) -> None:
    copied = Path(shutil.copytree(EXAMPLES, tmp_path / "examples")) / name / "job.toml"
    copied.write_text(copied.read_text().replace("[job]\n", '[job]\ncut = "hand"\n'))
    report = frame3d.open(copied).report
    assert report.passes
    assert len(report.tubes) >= 15
    assert len(report.joints) >= 20
    for joint in report.joints:
        assert joint.gap is not None
        assert abs(joint.gap.widest.value) < 1e-6, joint.joint
    mass = {tube.name: tube.mass for tube in report.tubes}
    for tube in mass:
        if tube.startswith("left "):
            assert mass[tube] == pytest.approx(mass[f"right {tube[5:]}"], rel=1e-4), tube


def test_the_step_through_has_skew_joints_and_the_small_wheels_a_bend() -> None:
    through = frame3d.open(EXAMPLES / "step-through" / "job.toml").report
    offsets = {
        (joint.joint.tube, mate.tube): mate.offset
        for joint in through.joints
        for mate in joint.mates
    }
    assert offsets["left lateral", "head tube"] > 5
    assert offsets["left strut", "seat tube"] > 1
    small = frame3d.open(EXAMPLES / "small-wheels" / "job.toml").frame
    assert small.tube("top tube").bends
    assert any(saw is not None for joint in small.joints for saw in joint.saws)


def test_tubes_stand_on_the_nodes_and_joints_come_by_themselves(tmp_path: Path) -> None:
    frame = load(tmp_path)
    nodes = frame3d.open(tmp_path / "job.toml").facts.jig.nodes
    top = frame.tube("top tube")
    assert top.start == pytest.approx(nodes["top tube on seat tube"], abs=1e-6)
    assert top.end == pytest.approx(nodes["top tube on head tube"], abs=1e-6)
    assert frame.joint_at("top tube", "end").onto == ("head tube",)
    assert frame.joint_at("down tube", "start").onto == ("shell", "seat tube")
    # Head tube and shell are those of the headset and of the shell's standard.
    head, shell = frame.tube("head tube"), frame.tube("shell")
    assert (head.od.greatest, head.wall.greatest) == pytest.approx((36.0, (36.0 - 33.95) / 2))
    assert (shell.od.greatest, shell.length) == (38.1, 68.0)
    assert Build(frame).report.passes


def test_the_builders_own_joint_start_end_and_tubes_win(tmp_path: Path) -> None:
    own = (
        JOB.replace('name = "top tube"', 'name = "top tube"\nend = [400, 0, 500]')
        + '[[tube]]\nname = "peg"\nstart = [100, 0, 111]\nend = [150, 0, 20]\nod = 10\nwall = 1\n'
        + '[[joint]]\ntube = "peg"\nend = "start"\nonto = ["down tube"]\n'
        + '[[joint]]\ntube = "seat tube"\nend = "start"\nonto = ["shell"]\nsaw = 38.4\n'
    )
    frame = load(tmp_path, own)
    assert frame.tube("top tube").end == (400, 0, 500)
    assert frame.tube("top tube").start == load(tmp_path).tube("top tube").start
    assert frame.joint_at("seat tube", "start").saws == (38.4,)
    assert frame.joint_at("peg", "start").onto == ("down tube",)
    assert len(frame.joints) == len(load(tmp_path).joints) + 1


def test_a_step_through_needs_no_top_tube_and_no_seat_stays(tmp_path: Path) -> None:
    bare = NUMBERS + PICKED[PICKED.index('[[tube]]\nname = "down') : PICKED.rindex("[[tube]]")]
    frame = load(tmp_path, bare)
    assert [t.name for t in frame.tubes if "top" in t.name or "seat stay" in t.name] == []
    assert frame3d.open(tmp_path / "job.toml").facts.handling.standover is None


def test_right_tubes_mirror_bends_and_ovals_of_the_left_ones(tmp_path: Path) -> None:
    shaped = JOB.replace(
        'name = "chain stay"\nod = 19.0',
        'name = "chain stay"\nbends = [{ corner = [-180, 33, 30], radius = 300 }]\n'
        "oval = { across = 18.0, angle = 30 }\nod = 19.0",
    )
    bridged = shaped + '[[tube]]\nname = "chain stay bridge"\nod = 12.7\nwall = 0.9\n'
    frame = load(tmp_path, bridged)
    left, right = frame.tube("left chain stay"), frame.tube("right chain stay")
    assert (left.oval.angle, right.oval.angle) == (30, -30)
    assert right.bends[0].corner == (-180, -33, 30)
    # The same metal, left and right, and a bridge that meets the bent axes.
    build = Build(frame)
    solids = build.solids()
    volumes = [solids.tubes[tube.name].volume for tube in (left, right)]
    assert volumes[0] == pytest.approx(volumes[1], rel=1e-4)
    bridge = frame.tube("chain stay bridge")
    foot = left.centreline.at(left.centreline.nearest(np.array([bridge.start])))[0]
    assert np.linalg.norm(foot - bridge.start) < 1e-6
    report = build.report
    assert {j.joint: j.reasons for j in report.joints if j.reasons} == {}


def test_shop_saws_are_taken_where_they_keep_the_gap(tmp_path: Path) -> None:
    frame = load(tmp_path, JOB.replace("[job]\n", '[job]\ncut = "saw"\n'))
    assert frame.joint_at("seat tube", "start").saws == (38.4,)
    assert frame.joint_at("down tube", "start").saws == (38.4, 29.0)
    # The shop has no saw near the head tube's 36 mm but the 38.4 mm one, which leaves too much.
    top = frame.joint_at("top tube", "end")
    assert (top.saws, top.cut_by) == ((None,), "hand")
    assert top.method.wanted == "saw"
    assert "38.4 mm saw, would leave" in top.method.note
    assert predicted(frame, top, (38.4,)).gap > 0.4
    assert Build(frame).report.passes


def test_shop_saws_are_taken_onto_shaped_mates_too(tmp_path: Path) -> None:
    """Tapered stays and a seat tube with a sleeve, bridges, and a saw of many sizes."""
    text = JOB.replace("[job]\n", '[job]\ncut = "saw"\n')
    text = text.replace("od = 19.0", "od = [[0, 20.6], [150, 20.6], [390, 13.0]]")
    text = text.replace(
        "od = 28.6\nwall = 0.7",
        "od = [[0, 28.6], [480, 28.6], [480, 30.2], [540, 30.2]]\nwall = 0.7",
    )
    assert text.count("[[0") == 2
    bridge = '\n[[tube]]\nname = "chain stay bridge"\nod = 12.7\nwall = 0.9\n'
    more = "".join(f"[[saw]]\nod = {od}\n" for od in (19.4, 25.6, 32.2, 37.0))
    frame = load(tmp_path, text + bridge, SHOP + more)
    assert frame.joint_at("chain stay bridge", "start").saws != (None,)
    assert frame.joint_at("down tube", "start").saws == (38.4, 29.0)
    assert Build(frame).report.passes


def test_a_rider_stands_in_for_stack_reach_and_seat_angle(tmp_path: Path) -> None:
    rider = RIDER
    open_numbers = NUMBERS
    for key in ("stack = 580\n", "reach = 385\n", "seat_tube_angle = 73\n"):
        open_numbers = open_numbers.replace(key, "")
    said = numbers(job(tmp_path, rider + open_numbers))
    assert said["rider"]["placed"] == pytest.approx(said["rider"]["wanted"])
    assert said["geometry"]["from_rider"] == ["stack_mm", "reach_mm", "seat_tube_angle_deg"]
    # The head tube's angle, where it follows from the trail, gives the same frame.
    trail = said["geometry"]["trail_mm"]
    other = open_numbers.replace("head_tube_angle = 72.5", f"trail = {trail!r}")
    again = numbers(job(tmp_path, rider + other))
    assert again["geometry"]["stack_mm"] == pytest.approx(said["geometry"]["stack_mm"], abs=1e-4)
    # On a frame whose numbers are all given, the rider is told where they sit instead.
    given = numbers(job(tmp_path, rider + NUMBERS))
    assert given["geometry"]["stack_mm"] == 580
    rider_there = given["rider"]
    assert rider_there["placed"]["hands_above_mm"] != pytest.approx(680, abs=1)
    mended = rider.replace(
        "stem_length = 100",
        f"stem_length = {rider_there['stem_length_for_hands_mm']}\n"
        f"spacers = {rider_there['spacers_for_hands_mm']}",
    )
    placed = numbers(job(tmp_path, mended + NUMBERS))["rider"]["placed"]
    assert placed["hands_above_mm"] == pytest.approx(680, abs=1e-4)
    assert placed["hands_ahead_mm"] == pytest.approx(470, abs=1e-4)


RIDER = (
    "[rider]\nsaddle_height = 720\nsaddle_setback = 200\nhands_above = 680\n"
    "hands_ahead = 470\nstem_length = 100\n"
)


def test_what_is_assumed_between_frame_and_rider_is_told_as_such(tmp_path: Path) -> None:
    path = job(tmp_path, RIDER + "spacers = 10\n" + NUMBERS)
    cockpit = numbers(path)["rider"]["cockpit"]
    assert cockpit["stem_height_mm"] == 40
    assert cockpit["upper_headset_stack_mm"] == 25  # of the headset that is named
    assert set(cockpit["assumed"]) == {
        "stem_angle_deg", "stem_height_mm", "upper_headset_stack_mm", "bar_reach_mm",
        "bar_rise_mm", "post_setback_mm",
    }  # fmt: skip
    said = " ".join(CliRunner().invoke(main, ["geometry", str(path)]).stdout.split())
    assert "stem height 40.00 mm assumed" in said
    assert "upper headset stack 25.00 mm assumed" in said
    assert "spacers 10.00 mm upper headset stack" in said


@pytest.mark.parametrize(
    ("stack", "impossible"), [(560, False), (640, True)], ids=["low enough", "too tall"]
)
def test_a_stem_that_cannot_be_built_is_told_to_be_so(
    stack: int, impossible: bool, tmp_path: Path
) -> None:
    """The stem that mends the hands sits on spacers; fewer than none there are not."""
    text = RIDER + NUMBERS.replace("stack = 580", f"stack = {stack}")
    path = job(tmp_path, text)
    spacers = numbers(path)["rider"]["spacers_for_hands_mm"]
    assert (spacers < 0) is impossible
    result = CliRunner().invoke(main, ["geometry", str(path)])
    assert max(map(len, result.stdout.splitlines())) <= 100
    said = " ".join(result.stdout.split())
    told = f"cannot be built: head tube and headset end {-spacers:.1f} mm too high for this stem"
    assert (told in said) is impossible
    assert ("cannot be built" in said) is impossible


def test_own_rows_of_the_shop_file_are_known(tmp_path: Path) -> None:
    rows = (
        "[[rims]]\nbead_seat_mm = 630\n"
        '[[hubs]]\nhub = "128x10"\nend = "rear"\nspacing_mm = 128\naxle_mm = 10\n'
        "[[seat_posts]]\npost_mm = 27.0\nbore_mm = 27.1\nseat_tube_od_mm = 28.6\n"
        "wall_at_top_mm = 0.7\n"
        '[[shells]]\nshell = "mine"\nwidth_mm = "2 7/8 in"\nod_mm = 40\nbore_mm = 33.6\n'
    )
    text = NUMBERS.replace("28-622", "28-630").replace("130x10", "128x10")
    text = text.replace('"ISO 68"', '"mine"\nseat_post = 27.0')
    said = numbers(job(tmp_path, text, SHOP + rows))
    assert said["geometry"]["rear_wheel_radius_mm"] == 630 / 2 + 28
    assert said["parts"]["seat_tube_bore_mm"]["wanted"] == 27.1
    frame = load(tmp_path, text + PICKED, SHOP + rows)
    assert frame.tube("shell").length == 73.025
    left = frame.tube("left chain stay")
    assert left.end[1] == 128 / 2 + 2.5


def test_check_tells_the_numbers_too(tmp_path: Path) -> None:
    result = CliRunner().invoke(main, ["check", str(job(tmp_path)), "--json"])
    assert result.exit_code == 0
    report = json.loads(result.stdout)
    assert report["format"] == "frame3d-report/1"
    assert report["jig"]["nodes_mm"]["shell"] == [0, 0, 0]
    assert report["handling"]["wheelbase_mm"] == report["geometry"]["wheelbase_mm"]
    said = numbers(job(tmp_path))
    assert said["format"] == "frame3d-geometry/1"
    own = {"format", "job"}
    assert {key: report[key] for key in said.keys() - own} == {
        key: said[key] for key in said.keys() - own
    }


def test_a_bicycle_s_facts_are_attributes_that_stay_as_they_are(tmp_path: Path) -> None:
    build = frame3d.open(job(tmp_path))
    facts, told = build.facts, numbers(job(tmp_path))
    assert build.report.facts is facts
    assert facts.geometry["stack"] == told["geometry"]["stack_mm"]
    assert facts.handling.trail == told["handling"]["trail_mm"]
    assert facts.jig.angles == told["jig"]["angles_deg"]
    with pytest.raises(FrozenInstanceError):
        facts.handling.trail = 0.0


@pytest.mark.parametrize("picked", ["", PICKED])
def test_the_numbers_are_told_before_and_after_the_tubes_are_picked(
    picked: str, tmp_path: Path
) -> None:
    path = job(tmp_path, NUMBERS + picked)
    result = CliRunner().invoke(main, ["geometry", str(path)])
    assert result.exit_code == 0
    assert max(map(len, result.stdout.splitlines())) <= 100
    said = " ".join(result.stdout.split())
    assert "trail 59.70 mm" in said  # (339 cos 72.5 - 45) / sin 72.5
    assert ("standover" in said) is bool(picked)
    assert ("to the top tube's upper side, at its middle" in said) is bool(picked)


# What is replaced in the good job, by what, and what the message must say.
BAD = {
    "no tubes": (PICKED, "", ["line 6", "bicycle", "no tube is picked for", "chain stay"]),
    "a tube missing": (
        '[[tube]]\nname = "down tube"\nod = 31.8\nwall = 0.8\n',
        "",
        ["line 6", "no tube is picked for down tube"],
    ),
    "a tube misspelt": ('"down tube"', '"downtube"', ["line 28", '"downtube"', '"down tube"']),
    "one side alone": ('"chain stay"', '"left chain stay"', ["line 38", 'mean "chain stay"']),
    "unknown number": ("bb_drop", "bb_drp", ["line 12", "bicycle, bb_drp", 'mean "bb_drop"']),
    "number in another order": (
        "chain_stay_length",
        "length_chain_stay",
        ["line 13", "bicycle, length_chain_stay", 'did you mean "chain_stay_length"'],
    ),
    "a number too few": ("reach = 385\n", "", ["line 6", "1 number is missing", "reach"]),
    "two numbers too few": (
        "reach = 385\nseat_tube_angle = 73\n",
        "",
        ["line 6", "2 numbers are missing"],
    ),
    "a contradiction": (
        "reach = 385\n",
        "reach = 385\ntrail = 70\n",
        ["line 19", "bicycle, trail", "make it 59.70 mm" , "too much"],
    ),
    "an outcome": (
        "reach = 385\n",
        "top_tube_length = 560\n",
        ["line 18", "top_tube_length", "cannot be given"],
    ),
    "an angle as text": ("= 72.5", '= "72.5"', ["line 14", 'head_tube_angle: found "72.5"']),
    "a length in ells": ("= 430", '= "1 ell"', ["line 13", "chain_stay_length", '"ell"']),
    "out of range": ("bb_drop = 70", "bb_drop = 700", ["line 12", "bb_drop", "expected -250 to"]),
    "unknown rim": ('rear_wheel = "28-622"', 'rear_wheel = "28-623"', ["line 8", '"622"']),
    "wheel as a number": ('rear_wheel = "28-622"', "rear_wheel = 622", ["line 8", "a text"]),
    "unknown hub": ('"130x10"', '"130x9"', ["line 11", "rear_hub", '"130x9"']),
    "front hub behind": ('"130x10"', '"100x9"', ["line 11", "rear_hub", "a front hub"]),
    "no rear hub": ('rear_hub = "130x10"\n', "", ["line 6", "rear_hub is missing"]),
    "unknown layout": (
        "[[tube]]\nname = \"top",
        "[bicycle.rear]\nbridge = 3\n[[tube]]\nname = \"top",
        ["line 23", "bicycle, rear, bridge", 'did you mean "bridge_gap"'],
    ),
    "layout below zero": (
        "[[tube]]\nname = \"top",
        "[bicycle.rear]\nbridge_gap = -3\n[[tube]]\nname = \"top",
        ["line 23", "bicycle, rear, bridge_gap", "found -3"],
    ),
    "layout a number": ("bb_drop = 70", "rear = 3\nbb_drop = 70", ["line 12", "expected a table"]),
    "bicycle a number": ("[job]", "bicycle = 3\n[job]", ["found a second [bicycle], expected one"]),
    "stay too thick": (
        "od = 14.0",
        "od = 19.0",
        ["line 42", 'tube "seat stay"', "do not both land", "mm"],
    ),
    "taper past the stay": (
        "od = 19.0",
        "od = [[0, 19.0], [700, 12]]",
        ["line 39", 'tube "chain stay", od', "station at 700 mm"],
    ),
    "same tube twice": (
        "od = 14.0",
        'od = 14.0\nwall = 0.7\n[[tube]]\nname = "chain stay"\nod = 22.0',
        ["line 47", '"chain stay" a second time'],
    ),
    "by hand and by numbers": (
        "od = 14.0",
        'od = 14.0\nwall = 0.7\n[[tube]]\nname = "left seat stay"\nstart = [0, 0, 0]\n'
        "end = [0, 0, 90]\nod = 22.0",
        ["line 47", '"left seat stay" a second time'],
    ),
    "joint in a circle": (
        "wall = 0.8\n\n[[tube]]\nname = \"down",
        'wall = 0.8\n\n[[joint]]\ntube = "seat tube"\nend = "end"\nonto = ["top tube"]\n\n'
        '[[tube]]\nname = "down',
        ["line 30", "circle"],
    ),
    "rider without hands": (
        "[[tube]]\nname = \"top",
        "[rider]\nsaddle_height = 720\n[[tube]]\nname = \"top",
        ["line 22", "rider, saddle_setback: is missing; so are hands_ahead, hands_above, stem_"],
    ),
    "rider key misspelt": (
        "[[tube]]\nname = \"top",
        "[rider]\nsadle_height = 720\n[[tube]]\nname = \"top",
        ["line 23", "rider, sadle_height", 'mean "saddle_height"'],
    ),
}  # fmt: skip


@pytest.mark.parametrize("case", BAD)
def test_bad_numbers_are_named_with_their_line(case: str, tmp_path: Path) -> None:
    old, new, expected = BAD[case]
    assert JOB.count(old) >= 1
    head, _, tail = JOB.rpartition(old)
    message = refused(job(tmp_path, head + new + tail), tmp_path)
    for part in expected:
        assert part in message


def test_a_rider_without_a_bicycle_and_a_job_without_numbers_are_refused(tmp_path: Path) -> None:
    alone = PICKED.replace("od = ", "start = [0, 0, 0]\nend = [0, 0, 500]\nod = ")
    head = '[job]\nname = "x"\nprocess = "tig"\n'
    with pytest.raises(JobError, match="bicycle: is missing"):
        frame3d.open(job(tmp_path, head + RIDER + alone))
    result = CliRunner().invoke(main, ["geometry", str(job(tmp_path, head + alone))])
    assert result.exit_code == 2
    assert "bicycle: is missing" in result.stderr


@pytest.mark.parametrize(
    ("shop", "expected"),
    {
        "[[rims]]\nbead_seat = 630\n": 'line 1, rims number 1: unknown key "bead_seat", did you',
        "[[hubs]]\nhub = \"128x10\"\n": "line 1, hubs number 1: end is missing",
        "[[rims]]\nbead_seat_mm = \"far\"\n": 'line 1, rims number 1: bead_seat_mm: found "far"',
        "rims = 3\n": "line 1, rims: found 3, expected a list",
    }.items(),
)  # fmt: skip
def test_a_bad_row_of_the_shop_file_is_named(shop: str, expected: str, tmp_path: Path) -> None:
    result = CliRunner().invoke(main, ["check", str(job(tmp_path, JOB, shop))])
    assert result.exit_code == 2
    assert expected in result.stderr


def test_numbers_are_told_though_a_stay_is_longer_than_its_axis(tmp_path: Path) -> None:
    """The builder asks what the numbers come to before the raw stay is laid or cut."""
    raw = "od = [[0, 19.0], [200, 19.0], [480, 12.5]]\nwall = 0.8"
    path = job(tmp_path, JOB.replace("od = 19.0\nwall = 0.8", raw))
    result = CliRunner().invoke(main, ["geometry", str(path), "--json"])
    assert result.exit_code == 1
    assert json.loads(result.stdout)["geometry"]["trail_mm"] > 0
    assert "without the tubes: " in result.stderr
    assert 'tube "chain stay", od: found a station at 480 mm, expected 0 to' in result.stderr


# What the report tells of each bicycle, however far it is.
NAMED = [
    *(
        ("tyre", "rear wheel", f"{side} {stay} stay")
        for side in SIDES
        for stay in ("chain", "seat")
    ),
    *(("tyre", "rear wheel", f"{stay} stay bridge") for stay in ("chain", "seat")),
    ("tyre", "rear wheel", "seat tube"),
    ("tyre", "front wheel", "crown"),
    *(("tyre", "front wheel", f"{side} fork blade") for side in SIDES),
    ("chain_ring", "chain ring", "right chain stay"),
    *(("crank", f"{side} crank", f"{side} chain stay") for side in SIDES),
    *(
        ("heel", f"{side} heel", f"{side} {stay} stay")
        for side in SIDES
        for stay in ("chain", "seat")
    ),
    ("toe", "pedal's centre", "front wheel"),
    ("pedal_lean", "pedal", "ground"),
]


@pytest.mark.parametrize("name", ["touring", "small-wheels"])
def test_every_clearance_of_a_bicycle_is_a_line_of_the_report(name: str) -> None:
    said = frame3d.open(EXAMPLES / name / "job.toml").report.as_json()["clearances"]
    lines = {(line["kind"], line["what"], line["to"]) for line in said}  # type: ignore[attr-defined]
    assert not [wanted for wanted in NAMED if wanted not in lines]


def test_clearances_of_cranks_that_the_job_says_nothing_of_are_only_told(tmp_path: Path) -> None:
    def of(text: str) -> dict[str, dict]:
        said = Build(load(tmp_path, text)).report.as_json()["clearances"]
        return {line["what"]: line for line in reversed(said)}  # type: ignore[call-overload]

    usual, own = of(JOB), of(JOB + "\n[cranks]\nring_line = 30\n")
    assert not usual["chain ring"]["judged"]
    assert usual["chain ring"]["note"] == "usual cranks"
    assert usual["rear wheel"]["judged"]
    assert (own["chain ring"]["judged"], own["chain ring"]["verdict"]) == (True, "fail")


def test_a_tube_on_an_axis_of_its_own_is_what_the_jig_is_set_to(tmp_path: Path) -> None:
    """In place of 73.5 degrees and 540 mm: 550 mm at 70.9."""
    angle, length = np.radians(70.9), 550.0
    x, z = (round(float(length * part(angle)), 6) for part in (np.cos, np.sin))
    end = [-x, 0.0, z]
    own = f'name = "seat tube"\nstart = [0, 0, 0]\nend = {end}\n'
    path = job(tmp_path, NUMBERS + PICKED.replace('name = "seat tube"\n', own), SHOP)
    found = json.loads(CliRunner().invoke(main, ["geometry", str(path), "--json"]).stdout)
    jig = found["jig"]
    assert jig["angles_deg"]["seat tube, ground"] == pytest.approx(70.9, abs=1e-5)
    assert jig["lengths_mm"]["seat tube"] == pytest.approx(550.0, abs=1e-5)
    assert jig["nodes_mm"]["seat tube, upper end"] == pytest.approx(end, abs=1e-6)
    head = found["geometry"]["head_tube_angle_deg"]
    assert jig["angles_deg"]["head tube, ground"] == pytest.approx(head)
    down, ground = (jig["angles_deg"][f"down tube, {other}"] for other in ("seat tube", "ground"))
    assert down == pytest.approx(180 - 70.9 - ground, abs=1e-5)
    assert found["geometry"]["own_axes"] == pytest.approx(
        {"seat_tube_angle_deg": 70.9, "seat_tube_length_mm": 550.0}, abs=1e-5
    )
    said = " ".join(CliRunner().invoke(main, ["geometry", str(path)]).stdout.split())
    assert "the tube's own axis has 70.90 °" in said and "the tube's own axis has 550.00 mm" in said
    sheet = dict(geometry_sheet(frame3d.open(path).report).rows)  # the customer is told the same
    assert (sheet["seat tube angle"], sheet["seat tube length"]) == ("70.90°", "550.0 mm")
