"""A slicer, a mesh checker and the 3MF Consortium's reader take the guides as they are.

PrusaSlicer and ADMesh are Debian's. All guides of all examples are sliced with
FRAME3D_SLICE_ALL=1, which takes minutes; otherwise one of two examples and of other clamps.
"""

import os
import re
import subprocess
from dataclasses import replace
from pathlib import Path

import pytest

import frame3d
from frame3d.guides.plan import Printed, printed_guides
from frame3d.guides.record import entries
from frame3d.model import Frame, Printer
from frame3d.share.guide_files import write_guides
from frame3d.share.slicer import estimated, sliced

pytestmark = pytest.mark.peer
ALL = os.environ.get("FRAME3D_SLICE_ALL") == "1"
NAMES = ["two-tubes", "diamond", *(["trailer"] if ALL else [])]
EXAMPLES = Path(__file__).parents[2] / "examples"
CLAMPED = [Printer(clamp="zip-ties"), Printer(opening="halves", bed=(150.0, 150.0, 50.0))]


def guides(job: Frame, folder: Path) -> list[tuple[Path, Printed]]:
    printed, refused = printed_guides(job)
    files = write_guides(job, list(entries(printed)), refused, folder)
    return [(folder / f"{stem}.stl", entry.of) for stem, entry, _ in files]


def example(name: str) -> Frame:
    return frame3d.load(EXAMPLES / name / "job.toml")


def take(files: list[tuple[Path, Printed]]) -> list[Path]:
    paths = [path for path, _ in files]
    return paths if ALL else paths[:1]


@pytest.mark.parametrize("name", NAMES)
def test_admesh_finds_nothing_to_mend(name: str, tmp_path: Path, need) -> None:  # type: ignore[no-untyped-def]
    need("admesh")
    for path, _ in guides(example(name), tmp_path):
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
def test_lib3mf_reads_one_closed_oriented_body_in_millimetres(name: str, tmp_path: Path) -> None:
    import lib3mf

    for path, printed in guides(example(name), tmp_path):
        model = lib3mf.get_wrapper().CreateModel()
        reader = model.QueryReader("3mf")
        reader.SetStrictModeActive(True)
        reader.ReadFromFile(str(path.with_suffix(".3mf")))
        assert reader.GetWarningCount() == 0
        assert model.GetUnit() == lib3mf.ModelUnit.MilliMeter
        bodies = model.GetMeshObjects()
        assert bodies.Count() == 1 and bodies.MoveNext()
        body = bodies.GetCurrentMeshObject()
        assert body.IsManifoldAndOriented()
        assert body.GetTriangleCount() == sum(p.solid.num_tri() for p in printed.parts)


@pytest.mark.parametrize("name", NAMES)
def test_slicer_takes_the_examples_without_support(name: str, tmp_path: Path, need) -> None:  # type: ignore[no-untyped-def]
    need("prusa-slicer")
    job = example(name)
    files = guides(job, tmp_path)
    for path in take(files):
        _slices(path, job.shop.printer)
    # What is told without a slicer comes near to its word.
    (path, printed), printer = files[0], job.shop.printer
    cost, guess = sliced(path, printer)[0], estimated(printed.parts[0].solid, printer)
    assert guess.grams == pytest.approx(cost.grams, rel=0.25)
    assert guess.minutes == pytest.approx(cost.minutes, rel=0.35)


@pytest.mark.parametrize("printer", CLAMPED, ids=lambda p: f"{p.clamp} {p.opening}")
def test_slicer_takes_each_clamp_without_support(  # type: ignore[no-untyped-def]
    printer: Printer, tmp_path: Path, need
) -> None:
    need("prusa-slicer")
    job = example("two-tubes")
    job = replace(job, shop=replace(job.shop, printer=printer))
    for path in take(guides(job, tmp_path)):
        _slices(path, printer)


def _slices(path: Path, printer: Printer) -> None:
    said = subprocess.run(
        ["prusa-slicer", "--info", path], capture_output=True, text=True, check=True
    ).stdout
    assert "manifold = yes" in said and re.search(r"number_of_parts =\s+1$", said, re.M)
    assert "repaired" not in said and "open_edges" not in said
    cost, code = sliced(path, printer, supports=True)
    assert "Support material" not in code
    assert cost.minutes > 10 and 5 < cost.grams < 200
