"""What is shared says what the library says: plots, sheets and meshes, read back."""

import json
import struct
from dataclasses import replace
from pathlib import Path

import lib3mf
import numpy as np
import pytest
import trimesh
from frames import HOSTILE, diamond, hostile, two_tubes
from pypdf import PdfReader

import frame3d
from frame3d.build import Build
from frame3d.mesh.formats import write_all_formats
from frame3d.mesh.mesh_files import file_stems
from frame3d.model import Part, Show
from frame3d.paper.customer_pdf import write_customer_pdf
from frame3d.view.gap_plot import gap_figure, write_gap_plot
from frame3d.view.lettering import spelled
from frame3d.view.viewer_glb import write_phone_glb
from frame3d.web.page import page_html

SINGLE = 1e-5  # of a volume from coordinates in single precision, as STL has them


def checked(frame):
    build = Build(frame, chord=0.05)
    return build.copes, build.solids(), build.report


def test_gap_plot_draws_both_edges_the_limit_and_the_widest_gap():
    frame = two_tubes(saw=39.0)
    copes, _, report = checked(frame)
    axes = gap_figure(report.joints[0], copes["rail", "start"]).axes[0]
    lines = {line.get_label().split(" ")[0]: line.get_xydata() for line in axes.get_lines()}
    gap = report.joints[0].gap
    assert lines["outer"][:, 1].max() == pytest.approx(gap.outer.value, abs=1e-5)
    assert lines["inner"][:, 1].max() == pytest.approx(gap.inner.value, abs=1e-5)
    assert lines["limit"][0, 1] == report.joints[0].limit == 0.4
    assert lines["widest"][0].tolist() == pytest.approx(
        [np.degrees(gap.widest.theta), gap.widest.value]
    )
    assert lines["outer"][[0, -1], 0].tolist() == [0.0, 360.0]


def test_gap_plot_of_an_end_without_a_gap_says_so():
    frame = two_tubes(saw=None)
    copes, _, report = checked(frame)
    axes = gap_figure(report.joints[0], copes["rail", "start"]).axes[0]
    assert "no gap" in " ".join(text.get_text() for text in axes.get_legend().get_texts())
    assert axes.get_ylim()[0] < 0.0, "the line stands clear of the axis"


@pytest.mark.filterwarnings("error")
@pytest.mark.parametrize("name", HOSTILE)
def test_gap_plot_takes_any_name(name, tmp_path: Path):
    frame = two_tubes(rail=name)
    copes, _, report = checked(frame)
    for suffix in ("svg", "png"):
        path = tmp_path / f"plot.{suffix}"
        write_gap_plot(report.joints[0], copes[name, "start"], path)
        again = tmp_path / f"again.{suffix}"
        write_gap_plot(report.joints[0], copes[name, "start"], again)
        assert path.read_bytes() == again.read_bytes()
    svg = (tmp_path / "plot.svg").read_text(encoding="utf-8")
    assert "<script" not in svg and "<img" not in svg


def test_customer_pdf_has_the_numbers_and_nothing_private(tmp_path: Path):
    version = Build(diamond()).version(gaps=True)
    write_customer_pdf(version, tmp_path / "frame.pdf")
    reader = PdfReader(tmp_path / "frame.pdf")
    text = "\n".join(page.extract_text() for page in reader.pages)
    for tube in version.report.tubes:
        assert tube.name in text
        assert f"{tube.length:.1f}" in text
    assert f"{sum(tube.mass for tube in version.report.tubes):.0f}" in text
    assert "Agreed: customer" in text and "ISO 4210" in text
    for word in ("saw", "gap", "limit", "38.5"):
        assert word not in text
    assert reader.metadata.title == "Heron, no. 12"


@pytest.mark.parametrize("paper, size", [("A4", (595.3, 841.9)), ("Letter", (612.0, 792.0))])
def test_customer_pdf_is_on_the_shop_s_paper(tmp_path: Path, paper: str, size: tuple[float, float]):
    """ISO 216 A4 and ANSI Letter, 8 1/2 by 11 inches."""
    frame = diamond()
    shop = replace(frame.shop, mill=replace(frame.shop.mill, paper=paper))
    write_customer_pdf(Build(replace(frame, shop=shop)).version(), tmp_path / "frame.pdf")
    pages = PdfReader(tmp_path / "frame.pdf").pages
    for page in pages:
        assert (page.mediabox.width, page.mediabox.height) == pytest.approx(size, abs=0.1)
    assert f"on {paper} paper" in pages[0].extract_text()


@pytest.mark.parametrize("job, pages", [("diamond", 1), ("touring", 2), ("trailer", 2)])
def test_the_signature_does_not_stand_on_a_page_of_its_own(tmp_path: Path, job: str, pages: int):
    frame = frame3d.open(Path(__file__).parents[2] / "examples" / job / "job.toml").frame
    write_customer_pdf(Build(frame).version(), tmp_path / "frame.pdf")
    found = [page.extract_text() for page in PdfReader(tmp_path / "frame.pdf").pages]
    assert len(found) == pages
    assert "Agreed: customer" in found[-1] and len(found[-1]) > 500, "a table stands there too"


def test_customer_pdf_takes_any_name(tmp_path: Path):
    frame = hostile()
    write_customer_pdf(Build(frame).version(), tmp_path / "names.pdf")
    reader = PdfReader(tmp_path / "names.pdf")
    text = "".join(page.extract_text() for page in reader.pages).replace("\n", "")
    for name in HOSTILE[:3]:
        assert spelled(name).replace(" ", "") in text.replace(" ", "")
    assert "long" in text and "name!" in text
    assert not any("/JS" in page or "/AA" in page for page in reader.pages)


def test_page_holds_every_hostile_name_without_its_markup():
    frame = hostile()
    html = page_html(frame.name, "", (Build(frame).version(),))
    assert html.count("<script") == 2 and html.count("</script>") == 2
    assert "<img" not in html
    data = json.loads(html.split('id="data">')[1].split("</script>")[0])
    assert [piece["name"] for piece in data["versions"][0]["pieces"]][1:] == list(HOSTILE)


def test_every_format_holds_the_solids_and_their_names(tmp_path: Path):
    frame = hostile()
    _, solids, _ = checked(frame)
    write_all_formats(solids, tmp_path)
    whole = trimesh.load(tmp_path / "frame.obj", split_object=True, group_material=False)
    volume = sum(tube.volume for tube in solids.tubes.values())
    assert sum(part.volume for part in whole.geometry.values()) == pytest.approx(volume, rel=1e-6)
    stems = file_stems(list(solids.tubes))
    for name, tube in solids.tubes.items():
        for suffix, exact in (("obj", 1e-6), ("ply", SINGLE), ("stl", SINGLE)):
            part = trimesh.load(tmp_path / "meshes" / f"{stems[name]}.{suffix}", force="mesh")
            assert part.volume == pytest.approx(tube.volume, rel=exact)
        (named,) = trimesh.load(tmp_path / "meshes" / f"{stems[name]}.glb").geometry.items()
        assert named[0] == name and named[1].volume * 1e9 == pytest.approx(tube.volume, rel=1e-4)
        model = lib3mf.get_wrapper().CreateModel()
        model.QueryReader("3mf").ReadFromFile(str(tmp_path / "meshes" / f"{stems[name]}.3mf"))
        bodies = model.GetMeshObjects()
        assert bodies.MoveNext() and bodies.GetCurrentMeshObject().GetName() == name
        assert bodies.GetCurrentMeshObject().GetTriangleCount() == tube.solid.num_tri()
        assert not bodies.MoveNext()
    stl = trimesh.load(tmp_path / "frame.stl")
    assert stl.volume == pytest.approx(volume, rel=SINGLE)
    ply = trimesh.load(tmp_path / "frame.ply")
    assert ply.volume == pytest.approx(volume, rel=SINGLE)
    assert [
        line
        for line in (tmp_path / "frame.obj").read_text(encoding="utf-8").splitlines()
        if line.startswith("o ")
    ][1:] == [f"o {name}" for name in HOSTILE]


def test_phone_glb_has_true_size_names_normals_and_paint(tmp_path: Path):
    frame = diamond()
    scene = Build(frame).version().scene
    write_phone_glb(scene, tmp_path / "frame.glb")
    data = (tmp_path / "frame.glb").read_bytes()
    (length,) = struct.unpack_from("<I", data, 12)
    tree = json.loads(data[20 : 20 + length])
    assert {node.get("name") for node in tree["nodes"]} >= {tube.name for tube in frame.tubes}
    for mesh in tree["meshes"]:
        assert "NORMAL" in mesh["primitives"][0]["attributes"]
    whole = trimesh.load(tmp_path / "frame.glb")
    low, high = scene.box / 1000.0  # glTF lies in metres, y up, and the bicycle's left is -z
    expected = np.array([[low[0], low[2], -high[1]], [high[0], high[2], -low[1]]])
    assert np.allclose(whole.bounds, expected, atol=1e-6)


def test_paint_and_parts_reach_the_scene():
    show = Show(
        (("", "#112233"), ("rail", "#445566")),
        (Part("wheel", "wheel", (0.0, 0.0, 0.0), 30.0, 300.0),),
    )
    scene = Build(replace(two_tubes(), show=show)).version().scene
    assert [piece.colour for piece in scene.pieces] == ["#112233", "#445566"]
    tyre = scene.ghosts[0].mesh.vertices
    assert np.hypot(tyre[:, 0], tyre[:, 2]).max() == pytest.approx(300.0)
    assert np.ptp(tyre[:, 1]) == pytest.approx(30.0)
