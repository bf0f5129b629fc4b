"""A slicer, a mesh checker and the 3MF Consortium's reader take the guides of all examples.

PrusaSlicer and ADMesh are Debian's.
"""

import json
import os
import re
import subprocess
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest
from click.testing import CliRunner
from draws import LONG

import frame3d
from frame3d.guides.drill_guides import drill_guides
from frame3d.guides.guide_files import File, write_guides
from frame3d.guides.plan import printed_guides
from frame3d.guides.record import block_entries, entries
from frame3d.guides.slicer import PrintCost, estimated, sliced
from frame3d.model import Frame, Printer
from frame3d.surfaces.cope import copes_of
from frame3d_cli.main import main

pytestmark = pytest.mark.peer
EXAMPLES = Path(__file__).parents[2] / "examples"
NAMES = sorted(path.parent.name for path in EXAMPLES.glob("*/job.toml"))
CLAMPED = [Printer(clamp="zip-ties"), Printer(opening="halves", bed=(150.0, 150.0, 50.0))]


def example(name: str) -> Frame:
    return frame3d.open(EXAMPLES / name / "job.toml").frame


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory):  # type: ignore[no-untyped-def]
    """All parts of an example: guides, drill guides and blocks, with their folder."""

    @cache
    def write(name: str) -> tuple[Path, list[File]]:
        folder, job = tmp_path_factory.mktemp(name), example(name)
        return folder, guides(job, folder)

    return write


def guides(job: Frame, folder: Path) -> list[File]:
    printed, _ = printed_guides(job)
    drills, _ = drill_guides(job, copes_of(job), printed)
    return write_guides([*entries(printed, drills), *block_entries(job)], job.shop.printer, folder)


def test_the_examples_are_many() -> None:
    assert len(NAMES) >= 6


@pytest.mark.parametrize("name", NAMES)
def test_admesh_finds_nothing_to_mend(name: str, written, need) -> None:  # type: ignore[no-untyped-def]
    need("admesh")
    folder, files = written(name)
    assert files
    for stem, _, _ in files:
        path = folder / f"{stem}.stl"
        said = subprocess.run(["admesh", path], capture_output=True, text=True, check=True).stdout
        count = {key.strip(): int(n) for key, n in re.findall(r"^(.+?)\s*:\s+(\d+)", said, re.M)}
        assert count["Number of parts"] == 1
        for fault in (
            "Total disconnected facets",
            "Degenerate facets",
            "Edges fixed",
            "Facets removed",
            "Facets added",
            "Facets reversed",
            "Backwards edges",
            "Normals fixed",
        ):
            assert count[fault] == 0, (path.name, fault)


@pytest.mark.parametrize("name", NAMES)
def test_lib3mf_reads_one_closed_oriented_body_in_millimetres(name: str, written) -> None:  # type: ignore[no-untyped-def]
    import lib3mf

    folder, files = written(name)
    for stem, entry, _ in files:
        model = lib3mf.get_wrapper().CreateModel()
        reader = model.QueryReader("3mf")
        reader.SetStrictModeActive(True)
        reader.ReadFromFile(str(folder / f"{stem}.3mf"))
        assert reader.GetWarningCount() == 0
        assert model.GetUnit() == lib3mf.ModelUnit.MilliMeter
        bodies = model.GetMeshObjects()
        assert bodies.Count() == 1 and bodies.MoveNext()
        body = bodies.GetCurrentMeshObject()
        assert body.IsManifoldAndOriented()
        assert body.GetTriangleCount() == entry.part.solid.num_tri()


@pytest.mark.parametrize("name", NAMES)
def test_slicer_takes_guides_of_the_examples_without_support(name: str, written, need) -> None:  # type: ignore[no-untyped-def]
    need("prusa-slicer")
    folder, files = written(name)
    printer = example(name).shop.printer
    files = some_of(files)
    for (stem, _, guess), cost in zip(files, slice_all(folder, files, printer), strict=True):
        # What is told without a slicer comes near to its word.
        assert guess.grams == pytest.approx(cost.grams, rel=0.3), stem
        assert guess.minutes == pytest.approx(cost.minutes, rel=0.5), stem


@pytest.mark.parametrize("printer", CLAMPED, ids=lambda p: f"{p.clamp} {p.opening}")
def test_slicer_takes_each_clamp_without_support(  # type: ignore[no-untyped-def]
    printer: Printer, tmp_path: Path, need
) -> None:
    need("prusa-slicer")
    job = example("two-tubes")
    job = replace(job, shop=replace(job.shop, printer=printer))
    slice_all(tmp_path, guides(job, tmp_path), printer)


def test_slicer_takes_both_sleeves_of_a_guide_for_two_ends(tmp_path: Path, need) -> None:  # type: ignore[no-untyped-def]
    """Their dowel holes need no support either."""
    need("prusa-slicer")
    job = example("two-tubes")
    rail, joint = job.tube("rail"), job.joints[0]
    rail = replace(rail, end=(140.0, 0.0, 0.0))
    far = replace(job.tube("post"), name="far", start=(140, 0, -100), end=(140, 0, 100))
    other = replace(joint, end="end", onto=("far",), saws=(None,))
    job = replace(job, tubes=(job.tube("post"), rail, far), joints=(joint, other))
    printed, _ = printed_guides(job)
    assert [own.guide.by for own in printed] == ["joined", "joined"]
    printer = job.shop.printer
    slice_all(tmp_path, write_guides(list(entries(printed)), printer, tmp_path), printer)


def some_of(files: list[File]) -> list[File]:
    """The smallest part, the largest and the one between; with FRAME3D_LONG all."""
    by_size = sorted(files, key=lambda file: file[1].part.solid.volume())
    return files if LONG else [by_size[0], by_size[len(files) // 2], by_size[-1]]


def slice_all(folder: Path, files: list[File], printer: Printer) -> list[PrintCost]:
    paths = [folder / f"{stem}.stl" for stem, _, _ in files]
    with ThreadPoolExecutor(os.cpu_count()) as pool:
        return list(pool.map(lambda path: slices(path, printer), paths))


def slices(path: Path, printer: Printer) -> PrintCost:
    """No repair, one part, no support: supports are allowed and none is asked for."""
    said = subprocess.run(
        ["prusa-slicer", "--info", path], capture_output=True, text=True, check=True
    ).stdout
    assert "manifold = yes" in said and re.search(r"number_of_parts =\s+1$", said, re.M)
    assert "repaired" not in said and "open_edges" not in said
    cost, code = sliced(path, printer, supports=True)
    assert ";LAYER_CHANGE" in code and "Support material" not in code, path.name
    assert cost.by == "prusa-slicer" and cost.minutes > 10 and 1 < cost.grams < 300
    return cost


def test_slicer_does_ask_for_support_where_there_is_overhang(tmp_path: Path, need) -> None:  # type: ignore[no-untyped-def]
    """So that its silence means something: the same guide, cope down."""
    import trimesh

    need("prusa-slicer")
    folder, job = tmp_path, example("two-tubes")
    stem = guides(job, folder)[0][0]
    turned = trimesh.load_mesh(folder / f"{stem}.stl")
    turned.apply_transform(trimesh.transformations.rotation_matrix(3.14159265, [1, 0, 0]))
    turned.export(folder / "turned.stl")
    code = sliced(folder / "turned.stl", job.shop.printer, supports=True)[1]
    assert "Support material" in code


def test_time_and_filament_on_sheet_and_record_are_the_slicers(tmp_path: Path, need) -> None:  # type: ignore[no-untyped-def]
    import pdfplumber

    need("prusa-slicer")
    job = EXAMPLES / "two-tubes" / "job.toml"
    result = CliRunner().invoke(main, ["guides", str(job), "-o", str(tmp_path / "out")])
    assert result.exit_code == 0, result.output
    folder = tmp_path / "out" / "guides"
    record = json.loads((folder / "guides.json").read_text(encoding="utf-8"))
    with pdfplumber.open(folder / "guides.pdf") as sheet:
        text = " ".join(page.extract_text() for page in sheet.pages)
    for entry in record["guides"]:
        cost, _ = sliced(folder / entry["file"], example("two-tubes").shop.printer)
        assert entry["print"]["by"] == "prusa-slicer"
        assert entry["print"]["minutes"] == pytest.approx(cost.minutes, abs=0.1)
        assert entry["print"]["filament_g"] == pytest.approx(cost.grams, abs=0.1)
        assert f"{cost.minutes / 60:.1f} h, {cost.grams:.0f} g" in text
    assert "estimated" not in text


def test_estimate_of_one_guide_is_marked_so(written) -> None:  # type: ignore[no-untyped-def]
    _, files = written("two-tubes")
    for _, entry, cost in files:
        assert cost == estimated(entry.part.solid, example("two-tubes").shop.printer)
        assert cost.by == "estimate"
