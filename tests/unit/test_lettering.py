"""Names in any script and emoji are drawn as they are: on paper, in plots, pictures and plastic."""

import io
from pathlib import Path

import numpy as np
import pdfplumber
import pytest
from fontTools.pens.boundsPen import BoundsPen
from fontTools.ttLib import TTFont
from PIL import Image, ImageDraw, ImageFont
from pypdf import PdfReader

from frame3d.guides.lettering import line
from frame3d.letters import dejavu, letters_of
from frame3d.share.lettering import EMOJI_FONT, font_file, plot_fonts, plotted, printed, spelled
from frame3d.share.paper import Head, Page, write_pdf

BICYCLE = "trail 🚲 tube"
NO_GLYPH = chr(0x10FFFE)  # a code point that no font has, drawn as an empty box


def ink(path: Path, text: str) -> np.ndarray:
    """A text drawn by Pillow, another reader of fonts than those that make our files."""
    image = Image.new("L", (200, 120), 255)
    ImageDraw.Draw(image).text((20, 10), text, font=ImageFont.truetype(str(path), 60), fill=0)
    return np.asarray(image)


@pytest.mark.parametrize(
    "name, drawn",
    {
        "a 🚲 b": "a 🚲 b",
        "Grüße, Ωμέγα, Ж": "Grüße, Ωμέγα, Ж",
        "👨‍👩‍👧": "👨👩👧",
        "🇩🇪": "🇩🇪",
        "👍🏽": "👍",
        "1️⃣": "1",
        "❤️": "❤",
        "🏴󠁧󠁢󠁥󠁮󠁧󠁿": "🏴",
        "e\u0301": "é",
        "ก": "[thai character ko kai]",
        "\ud800": "",
    }.items(),
)
def test_names_are_spelled_only_where_no_font_has_them(name: str, drawn: str):
    assert spelled(name) == drawn


@pytest.mark.parametrize("bold", [False, True])
def test_every_emoji_is_drawn_with_an_outline_of_its_own(bold: bool):
    wanted = {code for code in letters_of(EMOJI_FONT) if len(spelled(chr(code)).strip()) == 1}
    assert len(wanted) > 1400
    with TTFont(font_file("🚲", bold)) as font:
        names, glyphs = font.getBestCmap(), font.getGlyphSet()
        for code in wanted:
            pen = BoundsPen(glyphs)
            glyphs[names[code]].draw(pen)
            assert pen.bounds is not None, hex(code)
            assert glyphs[names[code]].width >= pen.bounds[2] - 400, hex(code)
    path = font_file("🚲", bold)
    empty = ink(path, NO_GLYPH)
    drawn = {letter: ink(path, letter) for letter in "🚲🚀🧰😀é"}
    for letter, pixels in drawn.items():
        assert (pixels < 128).sum() > 100 and not np.array_equal(pixels, empty), letter
    assert np.array_equal(drawn["é"], ink(dejavu(bold), "é"))


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
            "Frame3dSans-Bold" if bold else "Frame3dSans",
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
        with rc_context({"font.family": plot_fonts()}):
            figure = Figure(figsize=(2, 1))
            figure.text(0.1, 0.4, plotted(text))
            file = io.BytesIO()
            figure.savefig(file, format="png")
        return np.asarray(Image.open(file).convert("L"))

    assert not np.array_equal(drawn("🚲"), drawn("🚀"))
    assert (drawn("🚲") < 128).sum() > 30


def test_emoji_in_pictures_are_drawn_by_vtk():
    import pyvista as pv

    from frame3d.share.labels import Label, Labels
    from frame3d.share.screen import renderer_chosen

    def drawn(text: str) -> np.ndarray:
        with renderer_chosen():
            plotter = pv.Plotter(off_screen=True, window_size=[300, 900])
        plotter.set_background("white")
        plotter.camera.parallel_projection = True
        Labels(plotter).show([Label(text, np.zeros(3))])
        picture = plotter.screenshot(return_img=True)
        plotter.close()
        return np.asarray(picture)

    for letter in "🚲😀":
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
    assert line("🚲", 5.0).width == pytest.approx(line("[bicycle]", 5.0).width)
    assert line("é", 5.0).width == pytest.approx(line("e\u0301", 5.0).width)
