"""Wraps: right size, right shape, the same in every file."""

import re
from dataclasses import replace
from pathlib import Path

import ezdxf
import numpy as np
import pytest
from joints import LIMITS

import frame3d
from frame3d.mill.blank import Blank, raw_blank
from frame3d.mill.wraps import Wrap, wraps
from frame3d.model import Frame, Joint, Mill, Profile, Shop, Tube
from frame3d.paper.pdf_page import Head
from frame3d.paper.wrap_files import svg_text, write_wraps
from frame3d.surfaces.cope import copes_of

R = 14.2875


def wrap_of(paper: float = 0.0, od: float = 2 * R, mate: float = 2 * R, lean: float = 0.0) -> Wrap:
    """A tube that runs to -x from the origin, onto one along y (or leaning from it)."""
    tube = Tube("rail", (-200, 0, 0), (0, 0, 0), Profile.constant(od), Profile.constant(0.9))
    ends = (lean * -100, -100, 0), (lean * 100, 100, 0)
    post = Tube("post", *ends, Profile.constant(mate), Profile.constant(1))
    shop = Shop(mill=Mill(paper_thickness=paper))
    joints = (Joint("rail", "end", ("post",), (None,)),)
    frame = Frame("wrap", "tig", (tube, post), joints, LIMITS, shop)
    (made,), _ = wraps(frame, copes_of(frame))
    return made


@pytest.mark.parametrize("paper", [0.0, 0.1, 0.3])
def test_once_around_is_pi_times_tube_and_paper(paper: float) -> None:
    wrap = wrap_of(paper)
    assert wrap.width == pytest.approx(np.pi * (2 * R + paper), abs=1e-9)
    assert wrap.curve[-1, 0] - wrap.curve[0, 0] == pytest.approx(wrap.width, abs=1e-9)


def test_equal_tubes_at_90_degrees_give_the_closed_form() -> None:
    """v = -r |sin(u / r)|, u from the datum (+z), which is square to the axis of the mate (y)."""
    u, v = wrap_of().curve.T
    assert np.abs(v + R * np.abs(np.sin(u / R))).max() < 1e-6


def test_an_off_square_cope_gives_the_closed_form() -> None:
    """A line at height z and across y enters at x = -sqrt(R^2 - z^2) / sin b + y / tan b."""
    lean, mate = 0.4, 19.0
    wrap = wrap_of(mate=2 * mate, lean=lean)
    u, v = wrap.curve.T
    z, y = R * np.cos(u / R), -R * np.sin(u / R)
    sine = 1 / np.hypot(1, lean)
    assert np.abs(v - (-np.sqrt(mate**2 - z**2) / sine + y * lean)).max() < 1e-6


def test_the_start_end_runs_the_other_way_around() -> None:
    """With its own cut end up, clockwise as seen from the start goes to the left."""
    tube = Tube("rail", (0, 0, 0), (200, 0, 0), Profile.constant(20), Profile.constant(0.9))
    post = Tube("post", (-30, -100, 0), (30, 100, 0), Profile.constant(30), Profile.constant(1))
    joints = (Joint("rail", "start", ("post",), (None,)),)
    frame = Frame("wrap", "tig", (tube, post), joints, LIMITS)
    copes = copes_of(frame)
    (wrap,), _ = wraps(frame, copes)
    assert not wrap.clockwise
    quarter = np.interp(np.pi / 2 * 10.05, *wrap.curve.T)
    there = copes["rail", "start"].position(np.array([-np.pi / 2]), np.ones(1))[0]
    assert quarter == pytest.approx(there, abs=1e-4)


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Wrap]:
    folder = tmp_path_factory.mktemp("wraps")
    wrap = wrap_of(0.1, mate=36.0, lean=0.3)
    write_wraps(folder, [wrap], Head("a job", "2000-01-01", "A4"))
    return folder, wrap


def test_the_dxf_read_back_holds_the_curve_in_mm(written: tuple[Path, Wrap]) -> None:
    folder, wrap = written
    drawing = ezdxf.readfile(folder / "wrap rail end.dxf")
    assert drawing.units == ezdxf.units.MM
    (cope,) = drawing.modelspace().query('LWPOLYLINE[layer=="cope"]')
    assert np.allclose(np.array(cope.get_points("xy")), wrap.curve, atol=1e-9)
    (bar,) = drawing.modelspace().query('LINE[layer=="scale"]')
    assert bar.dxf.start.distance(bar.dxf.end) == pytest.approx(100.0)
    (opposite,) = drawing.modelspace().query('LINE[layer=="opposite"]')
    assert opposite.dxf.start.x == pytest.approx(wrap.width / 2)
    words = " ".join(text.dxf.text for text in drawing.modelspace().query("TEXT"))
    for needed in ("rail", "post", "end", "cut end up", "datum", "opposite", "100 mm"):
        assert needed in words


def test_the_svg_read_back_by_another_reader_holds_the_curve(written: tuple[Path, Wrap]) -> None:
    svgelements = pytest.importorskip("svgelements")
    folder, wrap = written
    per_inch = 25.4  # a point of the document is then a millimetre
    drawing = svgelements.SVG.parse(folder / "wrap rail end.svg", ppi=per_inch)
    found = {element.id: element for element in drawing.elements() if element.id}
    points = np.array([(p.x, p.y) for p in found["cope"]])
    points -= points[0]
    expected = (wrap.curve - wrap.curve[0]) * (1, -1)
    assert np.abs(points - expected).max() < 2e-3
    assert found["scale"].length() == pytest.approx(100.0, abs=1e-3)
    assert "cut end up" in svg_text(wrap)


def test_the_svg_leaves_turning_right_to_left_names_to_its_reader(
    written: tuple[Path, Wrap],
) -> None:
    """SVG 2, 11.7: text stands in logical order; whoever draws it turns it."""
    wrap = replace(written[1], tube="צינור <עליון> 🚲")
    assert "צינור &lt;עליון&gt; 🚲, end, onto" in svg_text(wrap)


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_the_pdf_read_back_is_1_to_1(tmp_path: Path, paper: str) -> None:
    pdfplumber = pytest.importorskip("pdfplumber")
    wrap = wrap_of(0.1, mate=36.0, lean=0.3)
    write_wraps(tmp_path, [wrap], Head("a job", "2000-01-01", paper))
    with pdfplumber.open(tmp_path / "wraps.pdf") as pdf:
        (page,) = pdf.pages
        lines = [line["x1"] - line["x0"] for line in page.lines if line["height"] < 0.01]
        assert any(abs(long * 25.4 / 72 - 100.0) < 0.01 for long in lines)
        cope = max(page.curves, key=lambda curve: len(curve["pts"]))
        points = np.array(cope["pts"]) * 25.4 / 72
        points -= points[0]
        assert np.abs(points - (wrap.curve - wrap.curve[0]) * (1, -1)).max() < 0.002
        assert "rail, end, onto post" in page.extract_text()


def test_a_wrap_larger_than_the_paper_is_tiled_and_loses_nothing(tmp_path: Path) -> None:
    pdfplumber = pytest.importorskip("pdfplumber")
    wrap = wrap_of(od=70.0, mate=80.0)
    assert wrap.width > 210
    write_wraps(tmp_path, [wrap], Head("a job", "2000-01-01", "A4"))
    with pdfplumber.open(tmp_path / "wraps.pdf") as pdf:
        assert len(pdf.pages) == 2
        for number, page in enumerate(pdf.pages, start=1):
            text = page.extract_text()
            assert f"sheet {number}.1 of 2" in text
            assert f"page {number} of 2" in text


def test_names_that_no_file_may_have_still_get_their_files(tmp_path: Path) -> None:
    import dataclasses

    wrap = wrap_of()
    odd = [dataclasses.replace(wrap, tube=name) for name in ("a/b", "A/B", "x" * 200, "下管", "..")]
    write_wraps(tmp_path, odd, Head("a job", "2000-01-01", "A4"))
    assert len(list(tmp_path.glob("*.svg"))) == len(list(tmp_path.glob("*.dxf"))) == len(odd)


def test_a_wrap_used_by_hand_says_what_comes_off_the_raw_tube(tmp_path: Path) -> None:
    """Touring's chain stay is cut from a listed tube of 425 mm: 7.7 mm come off its square end, and
    what the mill's pages saw off first is told where the rim is measured from."""
    job = frame3d.open(Path(__file__).parents[3] / "examples" / "touring" / "job.toml").frame
    copes = copes_of(job)
    first = {"top tube": Blank(raw_blank(job.tube("top tube")).start + 12.0, 570.0)}  # type: ignore[union-attr]
    made = {(each.tube, each.end): each for each in wraps(job, copes, first)[0]}
    stay, tube = made["left chain stay", "start"], job.tube("left chain stay")
    over = tube.raw.start + tube.raw.stock.length - tube.length  # type: ignore[union-attr]
    assert stay.raw == 425.0 and stay.square == pytest.approx(over, abs=1e-3) and stay.off == 0.0
    assert "raw tube 425.0 mm" in words_of(svg_text(stay))
    assert f"{over:.1f} mm come off the" in words_of(svg_text(stay))
    top = made["top tube", "start"]
    assert top.off == pytest.approx(12.0) and top.square is None
    assert "12.0 mm sawn off it first" in words_of(svg_text(top))


def words_of(svg: str) -> str:
    return " ".join(re.sub("<[^>]*>", " ", svg).split())
