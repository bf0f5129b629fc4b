"""A tube of which the copes leave nothing, or that is given a mate it never meets: a failing joint
with a reason, told and shown by every command."""

from pathlib import Path

import pytest
from click.testing import CliRunner

import frame3d
from frame3d_cli.main import main

JOB = """
[job]
name = "away"
process = "fillet-braze"

[[tube]]
name = "post"
start = [0, 0, -100]
end = [0, 0, 100]
od = 36
wall = 1.2

[[tube]]
name = "rail"
start = [0, 0, 0]
end = [{reach}, 0, 20]
od = 28.6
wall = 0.9

[[tube]]
name = "other"
start = [{reach}, -80, 20]
end = [{reach}, 80, 20]
od = 31.8
wall = 0.9

[[joint]]
tube = "rail"
end = "start"
onto = {onto}
saw = {saw}

[[joint]]
tube = "rail"
end = "end"
onto = ["other"]

[[hole]]
tube = "rail"
at = 8
angle_deg = 90
diameter = 5

[[clearance]]
between = ["rail", "other"]
least = 1

[[part]]
kind = "wheel"
name = "wheel"
centre = [0, 300, 0]
radius = 100
width = 20
"""
GONE = {"reach": 20, "onto": '["post"]', "saw": 60}
WRONG_MATE = {"reach": 150, "onto": '["post", "other"]', "saw": 36}
COMMANDS = (
    ["check"],
    ["check", "--json"],
    ["make"],
    ["share"],
    ["setup"],
    ["guides", "--no-slice"],
    ["preview", "--png"],
    ["errors", "-n", "100", "--no-care"],
    ["filler"],
)


def job(folder: Path, values: dict[str, object]) -> Path:
    path = folder / "job.toml"
    path.write_text(JOB.format(**values), encoding="utf-8")
    return path


@pytest.mark.parametrize(
    ("values", "words"),
    [*((GONE, words) for words in COMMANDS), (WRONG_MATE, ["share"])],
    ids=lambda value: " ".join(value) if isinstance(value, list) else value["onto"],
)
def test_no_command_ends_in_a_crash(
    tmp_path: Path, values: dict[str, object], words: list[str]
) -> None:
    more: list[str] = []
    if words[0] in ("make", "share", "setup", "guides"):
        more = ["-o", str(tmp_path / "out")]
    elif words[0] == "preview":
        more = [str(tmp_path / "x.png"), "--size", "200x150"]
    result = CliRunner().invoke(main, [words[0], str(job(tmp_path, values)), *words[1:], *more])
    assert isinstance(result.exception, SystemExit | None), result.exception
    assert result.exit_code == 1, result.output


def test_nothing_is_left_of_the_tube_and_the_check_says_why(tmp_path: Path) -> None:
    path = job(tmp_path, GONE)
    solids = frame3d.open(path).solids()
    assert solids.tubes["rail"].volume == 0 and list(solids.metal) == ["post", "other"]
    said = " ".join(CliRunner().invoke(main, ["check", str(path)]).stdout.split())
    assert "the copes at both ends of rail meet: no metal is left" in said


def test_a_mate_that_stands_at_the_other_end_is_told_and_takes_no_metal(tmp_path: Path) -> None:
    """The contract's line from the middle of the tube outward never runs into it."""
    path = job(tmp_path, WRONG_MATE)
    wrong = frame3d.open(path).solids()
    right = frame3d.open(job(tmp_path, {**WRONG_MATE, "onto": '["post"]'})).solids()
    volumes = [solids.tubes["rail"].volume for solids in (wrong, right)]
    assert volumes[0] == pytest.approx(volumes[1], rel=1e-9) and volumes[0] > 5000
    job(tmp_path, WRONG_MATE)
    said = " ".join(CliRunner().invoke(main, ["check", str(path)]).stdout.split())
    assert "rail, start: rail does not meet other at its start" in said
    assert "leave other out of onto" in said
