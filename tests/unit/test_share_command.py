"""frame3d share: what it writes, and that it writes all or nothing."""

import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from frame3d_cli.main import main

TWO = "examples/two-tubes/job.toml"
WRITTEN = {
    "frame.html", "frame.pdf", "frame.glb", "frame.3mf", "frame.obj", "frame.mtl", "frame.ply",
    "frame.stl", "meshes", "three-quarter.png", "side.png", "front.png", "top.png",
}  # fmt: skip


@pytest.fixture
def failing(tmp_path: Path) -> Path:
    path = tmp_path / "fails.toml"
    text = (
        Path(TWO)
        .read_text(encoding="utf-8")
        .replace("37.0 ", "41.0 ")
        .replace("../shop.toml", "shop.toml")
    )
    (tmp_path / "shop.toml").write_text("", encoding="utf-8")
    path.write_text(text.replace('shop    = "shop.toml"', ""), encoding="utf-8")
    return path


def test_share_writes_everything_in_one_folder(tmp_path: Path):
    out = tmp_path / "out"
    result = CliRunner().invoke(main, ["share", TWO, "-o", str(out)])
    assert result.exit_code == 0, result.output
    assert {path.name for path in out.iterdir()} == WRITTEN
    assert {path.suffix for path in (out / "meshes").iterdir()} == {
        ".stl",
        ".obj",
        ".mtl",
        ".ply",
        ".3mf",
        ".glb",
    }
    assert "saw" not in data_of(out)["versions"][0]["pieces"][1]["details"]
    assert data_of(out)["legend"] is None


def test_two_jobs_stand_on_one_page_and_a_failing_joint_is_told(tmp_path: Path, failing: Path):
    out = tmp_path / "out"
    arguments = ["share", TWO, "--beside", str(failing), "--private", "-o", str(out)]
    result = CliRunner().invoke(main, arguments)
    assert result.exit_code == 1
    assert "1 of 1 joints fail" in result.output
    data = data_of(out)
    assert len(data["versions"]) == 2 and data["legend"]["limits"] == [0.4]


def test_a_bad_second_job_writes_nothing(tmp_path: Path):
    bad = tmp_path / "bad.toml"
    bad.write_text("[job", encoding="utf-8")
    out = tmp_path / "out"
    result = CliRunner().invoke(main, ["share", TWO, "--beside", str(bad), "-o", str(out)])
    assert result.exit_code == 2 and "bad.toml" in result.output
    assert not out.exists()


def test_make_plots_every_gap_when_asked(tmp_path: Path):
    out = tmp_path / "out"
    assert CliRunner().invoke(main, ["make", TWO, "--plots", "-o", str(out)]).exit_code == 0
    assert {path.name for path in (out / "gaps").iterdir()} == {"rail start.svg", "rail start.png"}
    (joint,) = json.loads((out / "report.json").read_text(encoding="utf-8"))["joints"]
    assert joint["gap_plots"] == ["gaps/rail start.svg", "gaps/rail start.png"]
    assert all((out / name).is_file() for name in joint["gap_plots"])


def data_of(out: Path) -> dict:
    html = (out / "frame.html").read_text(encoding="utf-8")
    return json.loads(html.split('id="data">')[1].split("</script>")[0])
