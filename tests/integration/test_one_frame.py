"""One job is one frame: every command tells the same saws, gaps, seats, lengths and verdicts."""

import json
from pathlib import Path

import numpy as np
import pytest
import trimesh
from click.testing import CliRunner

import frame3d
from frame3d.model import direction
from frame3d_cli.main import main

EXAMPLES = sorted((Path(__file__).parents[2] / "examples").glob("*/job.toml"))
PAGE_MM = 0.001  # pages are printed to a micrometre, files hold single precision
GUIDED = ("two-tubes", "small-wheels")  # guides of a whole frame take long


def told(*arguments: str) -> dict:
    result = CliRunner().invoke(main, [str(a) for a in arguments])
    assert result.exit_code == 0, result.output
    return json.loads(result.stdout)


def by_end(rows: list[dict]) -> dict[tuple[str, str], dict]:
    return {(row["tube"], row["end"]): row for row in rows}


@pytest.fixture(scope="module", params=EXAMPLES, ids=lambda job: job.parent.name)
def job(request) -> Path:
    return request.param


@pytest.fixture(scope="module")
def made(job: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    out = tmp_path_factory.mktemp("made") / "out"
    result = CliRunner().invoke(main, ["make", str(job), "-o", str(out)])
    assert result.exit_code == 0, result.output
    return out


@pytest.fixture(scope="module")
def report(job: Path) -> dict:
    return told("check", job, "--json")


def test_the_file_that_make_writes_is_what_check_tells(report: dict, made: Path) -> None:
    assert json.loads((made / "report.json").read_text(encoding="utf-8")) == report


def test_the_mills_pages_tell_the_checks_saws_gaps_and_verdict(job: Path, report: dict) -> None:
    pages, joints = told("setup", job, "--json"), by_end(report["joints"])
    choices = by_end(pages["saws"])
    assert choices.keys() == joints.keys()
    for end, choice in choices.items():
        joint = joints[end]
        assert choice["saws_mm"] == [mate["saw_mm"] for mate in joint["onto"]]
        assert choice["gap_mm"] == pytest.approx(joint["gap_mm"]["max"], abs=PAGE_MM)
        assert choice["limit_mm"] == pytest.approx(joint["limit_mm"], abs=PAGE_MM)
        assert (choice["cut_by"], choice["source"]) == (
            joint["cut"]["by"],
            joint["cut"]["source"],
        )
    cut = {(t["sheet"]["tube"], c["end"]) for t in pages["tubes"] for c in t["sheet"]["cuts"]}
    assert cut == {end for end, joint in joints.items() if joint["cut"]["by"] == "saw"}
    assert not any(tube["stop"] for tube in pages["tubes"]) and pages["failing"] == ""
    assert pages["trim"] == report.get("trim")
    lengths = {tube["name"]: tube["length_mm"] for tube in report["tubes"]}
    for tube in pages["tubes"]:
        tips = tube["measures"]["tips_mm"]
        if tips is not None and not tube["sheet"]["bends"]:
            assert tips == pytest.approx(lengths[tube["sheet"]["tube"]], abs=2 * PAGE_MM)


def test_the_odds_are_those_of_the_checks_joints(job: Path, report: dict) -> None:
    command = ["errors", str(job), "-n", "100", "--no-care", "--jig-only", "--json"]
    odds = by_end(json.loads(CliRunner().invoke(main, command).stdout)["joints"])
    for end, joint in by_end(report["joints"]).items():
        assert odds[end]["nominal_mm"] == pytest.approx(joint["gap_mm"]["max"], abs=PAGE_MM)
        assert odds[end]["limit_mm"] == pytest.approx(joint["limit_mm"], abs=1e-6)
        names = {error["name"] for error in odds[end]["errors"]}
        sawn = all(mate["saw_mm"] is not None for mate in joint["onto"])
        assert ("filing" in names) != sawn, (end, names)


def test_filler_takes_the_checks_joints(job: Path, report: dict) -> None:
    filled = by_end(told("filler", job, "--json")["joints"])
    assert filled.keys() == by_end(report["joints"]).keys()


def test_the_meshes_are_as_long_as_the_check_tells(job: Path, report: dict, made: Path) -> None:
    frame = frame3d.open(job).frame
    for tube in report["tubes"]:
        mesh = trimesh.load(made / "meshes" / f"{tube['name']}.stl")
        assert mesh.volume == pytest.approx(tube["volume_mm3"], rel=1e-5)
        if not frame.tube(tube["name"]).bends:
            along = np.asarray(mesh.vertices) @ direction(frame.tube(tube["name"]))
            # Between the vertices of a cope's tip the solid falls short by a chord's height.
            assert np.ptp(along) == pytest.approx(tube["length_mm"], abs=0.01)


def test_guides_tell_the_checks_lengths(job: Path, report: dict, tmp_path: Path) -> None:
    if job.parent.name not in GUIDED:
        pytest.skip("its guides are made by other tests")
    out = tmp_path / "out"
    command = ["guides", str(job), "-o", str(out), "--no-slice", "--no-sheet"]
    assert CliRunner().invoke(main, command).exit_code == 0
    lengths = {tube["name"]: tube["length_mm"] for tube in report["tubes"]}
    guides = json.loads((out / "guides" / "guides.json").read_text(encoding="utf-8"))["guides"]
    assert guides
    for guide in guides:
        assert guide["finished_mm"] == pytest.approx(lengths[guide["tube"]], abs=PAGE_MM)
