"""frame3d guides: what it writes, what it says, and its exit status."""

import json
import shutil
from pathlib import Path

import numpy as np
import pytest
import trimesh
from click.testing import CliRunner, Result
from pypdf import PdfReader

import frame3d
from frame3d.guides.sleeve import MARK_MM
from frame3d.model import direction
from frame3d_cli.main import main

EXAMPLES = Path(__file__).parents[3] / "examples"
BOSS = '[[hole]]\ntube = "rail"\nat = 130\nangle_deg = 0\ndiameter = 5\nkind = "bottle boss"\n'


@pytest.fixture
def job(tmp_path: Path) -> Path:
    """The example of two tubes, with a hole."""
    shutil.copy(EXAMPLES / "shop.toml", tmp_path / "shop.toml")
    text = (EXAMPLES / "two-tubes" / "job.toml").read_text(encoding="utf-8")
    path = tmp_path / "two-tubes" / "job.toml"
    path.parent.mkdir()
    path.write_text(f"{text}\n{BOSS}", encoding="utf-8")
    return path


def run(*words: object) -> Result:
    return CliRunner().invoke(main, ["guides", *map(str, words)])


def set_printer(job: Path, lines: str) -> int:
    """Add a [printer] table; the line on which its first key stands."""
    shop = job.parent.parent / "shop.toml"
    text = shop.read_text(encoding="utf-8")
    assert "[printer]" not in text
    shop.write_text(f"{text}\n[printer]\n{lines}\n", encoding="utf-8")
    return len(text.splitlines()) + 3


def test_files_record_and_sheet_are_written(job: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    result = run(job, "-o", out, "--blocks", "--no-slice")
    assert result.exit_code == 0, result.output
    assert max(map(len, result.output.splitlines())) <= 100
    record = json.loads((out / "guides" / "guides.json").read_text(encoding="utf-8"))
    assert record["format"] == "frame3d-guides/1" and record["refused"] == []
    assert [entry["end"] for entry in record["guides"]] == ["start"]
    assert [entry["at_mm"] for entry in record["drill_guides"]] == [[130.0]]
    assert {entry["od_mm"] for entry in record["blocks"]} == {28.575, 36.0}
    told = {e[key] for kind in ("guides", "drill_guides", "blocks") for e in record[kind]
            for key in ("file", "file_3mf")}  # fmt: skip
    assert told | {"guides.json", "guides.pdf"} == {p.name for p in (out / "guides").iterdir()}


def test_sheet_is_on_the_shop_s_paper_and_in_its_units(job: Path, tmp_path: Path) -> None:
    shop = job.parent.parent / "shop.toml"
    text = shop.read_text(encoding="utf-8")
    assert "[mill]" not in text
    shop.write_text(f'{text}\n[mill]\nunits = "inch"\npaper = "Letter"\n', encoding="utf-8")
    assert run(job, "-o", tmp_path / "out", "--no-slice").exit_code == 0
    folder = tmp_path / "out" / "guides"
    (entry,) = json.loads((folder / "guides.json").read_text(encoding="utf-8"))["guides"]
    pages = PdfReader(folder / "guides.pdf").pages
    assert {(page.mediabox.width, page.mediabox.height) for page in pages} == {(612, 792)}
    words = " ".join(" ".join(page.extract_text() for page in pages).split())
    for mm in (entry["setting_mm"], entry["setting_mm"] + MARK_MM):
        assert f"{mm / 25.4:.3f} in ({mm:g} mm)" in words


def test_matrix_puts_the_file_on_its_tube(job: Path, tmp_path: Path) -> None:
    """The STL, moved by the record's matrix: setting edge at its distance, nothing in the tube."""
    set_printer(job, "shrink = 0.5")
    run(job, "-o", tmp_path / "out", "--no-sheet", "--no-slice")
    folder = tmp_path / "out" / "guides"
    (entry,) = json.loads((folder / "guides.json").read_text(encoding="utf-8"))["guides"]
    tube = frame3d.open(job).frame.tube("rail")
    read = trimesh.load_mesh(folder / entry["file"])
    read.apply_transform(entry["matrix"])
    along = (read.vertices - tube.start) @ direction(tube)
    assert tube.length - along.max() == pytest.approx(entry["setting_mm"], abs=0.005)
    beside = read.vertices - tube.start - np.outer(along, direction(tube))
    bore = tube.od.value[0] / 2 + entry["clearance_mm"]
    assert np.linalg.norm(beside, axis=1).min() == pytest.approx(bore, abs=0.005)


@pytest.mark.parametrize(
    "line, words",
    [
        ("clearance = 0", "printer, clearance: found 0, expected more than 0 mm"),
        ("wall = -1", "printer, wall: found -1, expected more than 0 mm"),
        ("bed = [200, 200, 5]", "printer, bed: found 200 x 200 x 5, expected at least 40 mm"),
        ("bed = 200", "printer, bed: found 200, expected [width, depth, height]"),
        ('clamp = "rope"', "printer, clamp: found"),
        ("clearence = 0.2", 'unknown key, did you mean "clearance"?'),
        ("overhang = 85", "printer, overhang: found 85, expected 20 to 80 degrees"),
    ],
)
def test_a_printer_that_cannot_be_used_is_told_by_line(
    job: Path, tmp_path: Path, line: str, words: str
) -> None:
    number = set_printer(job, line)
    result = run(job, "-o", tmp_path / "out")
    assert result.exit_code == 2
    assert words in result.output and f"line {number}" in result.output
    assert not (tmp_path / "out").exists()


def test_an_end_without_a_guide_is_told_and_the_others_are_written(
    job: Path, tmp_path: Path
) -> None:
    text = job.read_text(encoding="utf-8").replace("at = 130", "at = 5")
    text += '\n[[hole]]\ntube = "rail"\nat = 150\nangle_deg = 0\ndiameter = 14\n'
    job.write_text(text, encoding="utf-8")
    result = run(job, "-o", tmp_path / "out", "--no-sheet", "--no-slice")
    assert result.exit_code == 1
    assert "no guide" in result.output and "no bushing" in result.output
    record = json.loads((tmp_path / "out" / "guides" / "guides.json").read_text(encoding="utf-8"))
    assert len(record["guides"]) == 1
    assert [end["tube"] for end in record["refused"]] == ["rail", "rail"]


def test_slicing_without_a_slicer_is_refused(
    job: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("PATH", str(tmp_path))
    result = run(job, "-o", tmp_path / "out", "--slice")
    assert result.exit_code == 2 and "prusa-slicer is not installed" in result.output


def test_sheet_holds_the_numbers_of_the_record(job: Path, tmp_path: Path) -> None:
    import pdfplumber

    run(job, "-o", tmp_path / "out", "--no-slice")
    folder = tmp_path / "out" / "guides"
    record = json.loads((folder / "guides.json").read_text(encoding="utf-8"))
    with pdfplumber.open(folder / "guides.pdf") as sheet:
        pages = [page.extract_text() for page in sheet.pages]
        for page in sheet.pages:
            assert all(w["x0"] > 0 and w["x1"] < page.width for w in page.extract_words())
        assert sheet.pages[2].images and not sheet.pages[1].images
    whole = "\n".join(pages)
    (entry,) = record["guides"]
    for number in (entry["setting_mm"], entry["mark_mm"], entry["clearance_mm"]):
        assert f"{number:g} mm" in whole
    for number in (entry["raw_to_mark_mm"], entry["raw_mm"], entry["finished_mm"]):
        assert f"{number:.1f} mm" in whole
    assert entry["off_first_mm"] == {} and "FIRST" not in whole
    assert entry["file"] in whole and "estimated" in whole
    assert f"page 1 of {len(pages)}" in pages[0]
    for caution in ("eye protection", "ISO 4210", "fumes"):
        assert caution in whole.replace("\n", " ")


SHORT = """
[[tube]]
name = "mast"
start = [150.0, -150.0, 16.0]
end = [150.0, 150.0, 56.0]
od = 36.0
wall = 1.2

[[joint]]
tube = "rail"
end = "end"
onto = ["mast"]
"""


def test_a_short_tubes_one_guide_is_told_everywhere(job: Path, tmp_path: Path) -> None:
    """One entry of the sheet with both files, and no distance to set."""
    text = job.read_text(encoding="utf-8").replace(BOSS, "")
    assert "end   = [250.0, 0.0, 60.0]" in text
    text = text.replace("end   = [250.0, 0.0, 60.0]", "end   = [150.0, 0.0, 36.0]")
    job.write_text(text + SHORT, encoding="utf-8")
    result = run(job, "-o", tmp_path / "out", "--no-slice")
    assert result.exit_code == 0, result.output
    said = " ".join(result.output.split())
    assert said.count("one guide with the other end's, no setting") == 2 and "set " not in said
    folder = tmp_path / "out" / "guides"
    record = json.loads((folder / "guides.json").read_text(encoding="utf-8"))
    first, second = record["guides"]
    for entry in (first, second):
        assert entry["set_by"] == "joined" and entry["not_joined"] is None
        assert entry["dowels_mm"] == [3.0, 15.0] and entry["setting_mm"] == 0.0
    tube = frame3d.open(job).frame.tube("rail")
    assert first["length_mm"] + second["length_mm"] == pytest.approx(tube.length, abs=1e-9)
    pages = [
        " ".join(page.extract_text().split()) for page in PdfReader(folder / "guides.pdf").pages
    ]
    assert "Two guides marked JOIN are one guide" in pages[0]
    (told,) = [page for page in pages if "rail, one guide: start onto post, end onto mast" in page]
    for words in (
        first["file"], second["file"], "cut first: start", "cut second: end",
        f"{first['raw_mm']:.1f} mm", "two rods 3 mm thick, 15 mm long",
    ):  # fmt: skip
        assert words in told
    assert "SET, edge" not in told and "MARK" not in told
