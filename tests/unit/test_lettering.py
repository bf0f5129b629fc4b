"""Names in any script and emoji are drawn as they are: on paper, in plots, pictures and plastic."""

import io
import re
import shutil
import subprocess
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pdfplumber
import pytest
from fontTools.fontBuilder import FontBuilder
from fontTools.pens.t2CharStringPen import T2CharStringPen
from fontTools.pens.ttGlyphPen import TTGlyphPen
from PIL import Image, ImageDraw, ImageFont
from pypdf import PdfReader

from frame3d import fonts, letters
from frame3d.fonts import dejavu, family, font_file, spelled
from frame3d.guides.lettering import line
from frame3d.paper.pdf_page import Head, Page, write_pdf
from frame3d.view.lettering import drawn_otherwise, plot_facts, plotted, printed

BICYCLE = "trail 🚲 tube"
NO_GLYPH = chr(0x10FFFE)  # a code point that no font has, drawn as an empty box


def ink(path: Path, text: str) -> np.ndarray:
    """A text drawn by Pillow, another reader of fonts than those that make our files."""
    image = Image.new("L", (200, 120), 255)
    ImageDraw.Draw(image).text((20, 10), text, font=ImageFont.truetype(str(path), 60), fill=0)
    return np.asarray(image)


@pytest.fixture(scope="module", autouse=True)
def installed(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """Fonts that are installed on this machine, made here: TrueType with a bicycle, a rocket and a
    face, and PostScript outlines of 1000 units with two ideographs. No others are seen."""
    folder = tmp_path_factory.mktemp("fonts")
    made = [
        drawn_font(folder / "Signs.ttf", "🚲🚀😄", 512),
        drawn_font(folder / "Han.otf", "小管", 1000),
    ]
    patch = pytest.MonkeyPatch()
    patch.setattr(fonts, "_files_with", lambda code: made)
    fonts._installed.cache_clear()
    yield folder
    patch.undo()
    fonts._installed.cache_clear()


def drawn_font(path: Path, signs: str, units: int) -> Path:
    """A font whose every letter is a frame around as many bars as it has a number."""
    names = {ord(letter): f"sign{n}" for n, letter in enumerate(signs)}
    order = [".notdef", *names.values()]
    postscript = path.suffix == ".otf"
    build = FontBuilder(units, isTTF=not postscript)
    build.setupGlyphOrder(order)
    build.setupCharacterMap(names)
    shapes = {}
    for n, name in enumerate(order):
        pen = T2CharStringPen(units, None) if postscript else TTGlyphPen(None)
        bars = [(0.1 + 0.2 * k, 0.2 + 0.2 * k) for k in range(n + 1)] if n else []
        for low, high in bars:
            corners = [(0.1, low), (0.9, low), (0.9, high), (0.1, high)]
            corners = corners if postscript else corners[::-1]
            pen.moveTo((corners[0][0] * units, corners[0][1] * units))
            for x, y in corners[1:]:
                pen.lineTo((x * units, y * units))
            pen.closePath()
        shapes[name] = pen.getCharString() if postscript else pen.glyph()
    if postscript:
        build.setupCFF("Han", {}, shapes, {})
    else:
        build.setupGlyf(shapes)
    build.setupHorizontalMetrics(dict.fromkeys(order, (units, 0)))
    build.setupHorizontalHeader(ascent=units, descent=0)
    build.setupNameTable({"familyName": path.stem, "styleName": "Regular"})
    build.setupOS2()
    build.setupPost()
    build.save(path)
    return path


@pytest.mark.parametrize(
    "name, drawn",
    {
        "a 🚲 b": "a 🚲 b",
        "Grüße, Ωμέγα, Ж": "Grüße, Ωμέγα, Ж",
        "小管": "小管",
        "👨‍🚀": "[man]🚀",
        "👍🏽": "[thumbs up sign]",
        "1️⃣": "1",
        "❤️": "❤",
        "e\u0301": "é",
        "\ud800": "",
    }.items(),
)
def test_names_are_spelled_only_where_no_font_has_them(name: str, drawn: str):
    assert spelled(name) == drawn


@pytest.mark.parametrize(
    "name, script",
    [("頂管", "ideographs"), ("ก่ก", "thai"), ("ひらがな", "hiragana"), ("한글", "hangul")],
)
def test_one_plain_word_stands_for_a_name_that_no_font_has(name: str, script: str):
    assert re.fullmatch(rf"a \[{script} \d\d\d\], 2", letters.spelled(f"a {name}, 2", str.isascii))


def test_two_names_that_no_font_has_are_not_taken_for_each_other():
    names = ["頂管", "下管", "立管", "左後上叉", "右後上叉"]
    assert len({letters.spelled(name, str.isascii) for name in names}) == 5


@pytest.mark.parametrize("bold", [False, True])
@pytest.mark.parametrize("letter", "🚲🚀小管")
def test_letters_of_installed_fonts_are_drawn_as_they_are_there(
    letter: str, bold: bool, installed: Path
):
    path = font_file(f"a{letter}é", bold)
    source = installed / ("Signs.ttf" if letter in "🚲🚀" else "Han.otf")
    drawn, own = ink(path, letter) < 128, ink(source, letter) < 128
    rows = [np.flatnonzero(pixels.any(axis=1)) for pixels in (drawn, own)]
    assert drawn.sum() == pytest.approx(own.sum(), rel=0.06)
    assert len(rows[0]) == pytest.approx(len(rows[1]), abs=2)
    assert np.array_equal(ink(path, "é"), ink(dejavu(bold), "é"))


def test_only_names_that_need_it_have_the_font_with_emoji():
    assert font_file("seat tube, Ж, שלום") == dejavu()
    assert font_file("seat tube", bold=True) == dejavu(bold=True)
    assert font_file("😀") != dejavu(), "VTK draws nothing past U+FFFF from DejaVu's own file"


@pytest.mark.parametrize("bold", [False, True])
def test_emoji_on_paper_are_drawn_and_found_by_a_search(tmp_path: Path, bold: bool):
    def draw(page: Page) -> None:
        page.text(100, 400, "🚲", 60, bold=bold)
        page.text(100, 300, BICYCLE, 20, bold=bold)
        page.text(100, 250, "plain", 20, bold=bold)

    path = tmp_path / "page.pdf"
    write_pdf(path, Head(BICYCLE, "2026-01-01", "A4"), [draw], "emoji")
    text = PdfReader(path).pages[0].extract_text()
    assert text.count(BICYCLE) == 2 and "plain" in text
    with pdfplumber.open(path) as pdf:
        page = pdf.pages[0]
        letter = next(char for char in page.chars if char["text"] == "🚲")
        assert letter["size"] == 60
        box = (letter["x0"], letter["top"], letter["x1"], letter["bottom"])
        pixels = np.asarray(page.crop(box).to_image(resolution=72).original.convert("L"))
        empty = next(char for char in page.chars if char["text"] == "p")
        assert {letter["fontname"].split("+")[1], empty["fontname"].split("+")[1]} == {
            font_file("🚲", bold).stem,
            "DejaVuSans-Bold" if bold else "DejaVuSans",
        }
    dark = pixels < 128
    assert 0.05 < dark.mean() < 0.5
    assert dark[:, : dark.shape[1] // 3].any() and dark[:, -dark.shape[1] // 3 :].any()


@pytest.mark.filterwarnings("error")
def test_emoji_in_plots_come_from_a_font_that_has_them():
    from matplotlib import rc_context
    from matplotlib.figure import Figure

    def drawn(text: str) -> np.ndarray:
        with rc_context({"font.family": family(plotted(text))}):
            figure = Figure(figsize=(2, 1))
            figure.text(0.1, 0.4, plotted(text))
            file = io.BytesIO()
            figure.savefig(file, format="png")
        return np.asarray(Image.open(file).convert("L"))

    assert not np.array_equal(drawn("🚲"), drawn("🚀"))
    assert (drawn("🚲") < 128).sum() > 30


def test_emoji_in_pictures_are_drawn_by_vtk():
    import pyvista as pv

    from frame3d.view.labels import Label, Labels
    from frame3d.view.renderer import renderer_chosen

    def drawn(text: str) -> np.ndarray:
        with renderer_chosen():
            plotter = pv.Plotter(off_screen=True, window_size=[300, 900])
        plotter.set_background("white")
        plotter.camera.parallel_projection = True
        Labels(plotter).show([Label(text, np.zeros(3))])
        picture = plotter.screenshot(return_img=True)
        plotter.close()
        return np.asarray(picture)

    for letter in "🚲小":
        assert (drawn(f"a{letter}b") < 128).sum() > 1.3 * (drawn("ab") < 128).sum(), letter
    assert not np.array_equal(drawn("🚲"), drawn("🚀"))


def test_right_to_left_names_are_turned_for_paper():
    """Unicode Standard Annex no. 9: drawn from the left, the first letter stands last."""
    assert printed("שלום") == "שלום"[::-1]
    assert printed("plain") == "plain"


def test_what_stands_about_a_right_to_left_name_keeps_its_order():
    """UAX no. 9, 4.3 (HL1): what the text is in, not its first letter, says where a line begins."""
    turned = "שלום"[::-1]
    assert printed("שלום to post") == f"{turned} to post"
    assert printed("שלום, start: gap 0.2 mm") == f"{turned}, start: gap 0.2 mm"
    assert printed("שלום 1") == f"1 {turned}"
    assert plotted("שלום, start")[0] == "\u200e" and plotted("שלום")[0] == "ש"


def test_persian_words_keep_their_letters_apart():
    """U+200C, the zero width non-joiner: the letter before it stands in its final shape."""
    joined, apart = printed("میشود"), printed("می\u200cشود")
    assert joined != apart.replace("\u200c", "")
    assert "\u200c" in spelled("می\u200cشود")


def test_letters_in_plastic_are_never_empty_boxes():
    """What cannot be embossed is told by its name, so that two guides are not taken for each
    other."""
    assert line("👍", 5.0).width == pytest.approx(line("[thumbs up sign]", 5.0).width)
    assert line("小", 5.0).outline.area() > 5.0
    assert line("é", 5.0).width == pytest.approx(line("e\u0301", 5.0).width)


def test_a_name_that_no_font_draws_stays_as_text_in_the_file(tmp_path: Path) -> None:
    """As poppler, another reader, takes the replacement text; and in the files' own words."""
    name = "\U00020000\U00020001 tube"
    assert spelled(name) != name
    path = tmp_path / "page.pdf"

    def page(sheet: Page) -> None:
        sheet.text(50, 700, name)
        sheet.text(50, 600, "plain")

    write_pdf(path, Head("job", "2000-01-01", "A4"), [page], "x")
    (stream,) = (p.get_contents().get_data().decode("latin-1") for p in PdfReader(path).pages)
    assert stream.count("/ActualText") == 1 == stream.count("EMC")
    assert name.encode("utf-16-be").hex() in stream
    if shutil.which("pdftotext"):
        read = subprocess.run(["pdftotext", path, "-"], capture_output=True, check=True).stdout
        assert name in read.decode()
    assert drawn_otherwise(["plain", name, name]) == name
    assert plot_facts(tmp_path / "gap.svg", name)["Title"] == name


def test_texts_of_several_lines_need_no_letter_for_their_ends() -> None:
    assert font_file("p  parts\ng  gaps") == dejavu()
    assert font_file(f"one\n{BICYCLE}") != dejavu()
