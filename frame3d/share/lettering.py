"""Names on paper, in pictures and in plots: a font that has their letters, emoji among them;
right-to-left text turned; what no font here has spelled out."""

import atexit
import shutil
import tempfile
import unicodedata
from functools import cache
from pathlib import Path
from typing import Any

from frame3d import letters
from frame3d.letters import dejavu, letters_of

EMOJI_FONT = Path(__file__).parent / "fonts" / "NotoEmoji-Regular.ttf"
LEFT = {"L"}
LEFT_TO_RIGHT = "\u200e"  # a mark that is not seen, and says how a line begins
FONT_NAMES = 1, 4, 6, 16  # family, full, PostScript and typographic family name (OpenType's "name")


def font_file(text: str = "", bold: bool = False) -> Path:
    """A font with all letters of `text`: DejaVu Sans, which comes with matplotlib (Latin, Greek,
    Cyrillic, Hebrew, Arabic); only where a text needs it, the same together with the emoji."""
    with_emoji = any(ord(letter) > 0xFFFF or ord(letter) not in _letters() for letter in text)
    return _with_emoji(bold) if with_emoji else dejavu(bold)


@cache
def _letters() -> frozenset[int]:
    """Code points that both weights of DejaVu Sans can draw."""
    return letters_of(dejavu()) & letters_of(dejavu(bold=True))


@cache
def _drawable() -> frozenset[int]:
    """Code points that they or the emoji font can draw."""
    return _letters() | letters_of(EMOJI_FONT)


@cache
def _fonts_of_this_run() -> Path:
    folder = tempfile.mkdtemp(prefix="frame3d-")
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    return Path(folder)


@cache
def _with_emoji(bold: bool) -> Path:
    """DejaVu Sans and the emoji in one file, since a line in a window or a PDF has but one font."""
    from fontTools.ttLib import TTFont

    name = "Frame3dSans-Bold" if bold else "Frame3dSans"
    path = _fonts_of_this_run() / f"{name}.ttf"
    with (
        TTFont(dejavu(bold), lazy=True, recalcBBoxes=False) as font,
        TTFont(EMOJI_FONT, lazy=True) as emoji,
    ):
        _add(font, emoji, sorted(_drawable() - letters_of(dejavu(bold))))
        for entry in font["name"].names:
            if entry.nameID in FONT_NAMES:
                entry.string = name
        font.save(path)
    return path


def _add(font: Any, emoji: Any, codes: list[int]) -> None:
    """Both fonts have 2048 units to the em, so that outlines are taken over as they are."""
    outlines, names, drawn = emoji["glyf"], emoji.getBestCmap(), emoji.getGlyphSet()
    # VTK looks only into the first table of code points, so those that end at U+FFFF must go.
    tables = font["cmap"].tables = [table for table in font["cmap"].tables if table.format == 12]
    for code in codes:
        name, outline = f"emoji{code:X}", outlines[names[code]]
        font["glyf"][name] = _in_one(outline, drawn) if outline.isComposite() else outline
        font["hmtx"][name] = emoji["hmtx"][names[code]]
        for table in tables:
            table.cmap[code] = name


def _in_one(outline: Any, drawn: Any) -> Any:
    """An outline that was put together from others of its font, by itself."""
    from fontTools.pens.filterPen import DecomposingFilterPen
    from fontTools.pens.ttGlyphPen import TTGlyphPen

    pen = TTGlyphPen(None)
    outline.draw(DecomposingFilterPen(pen, drawn), drawn.glyfTable)
    made = pen.glyph()
    made.recalcBounds(drawn.glyfTable)
    return made


@cache
def plot_fonts() -> tuple[str, ...]:
    """The font families of plots: matplotlib takes a letter from the first that has it."""
    from matplotlib.font_manager import FontProperties, fontManager

    fontManager.addfont(EMOJI_FONT)
    return "DejaVu Sans", FontProperties(fname=EMOJI_FONT).get_name()


@cache
def text_size(text: str, size: int, bold: bool = False) -> tuple[float, float]:
    """Width and height of a line of letters `size` high, in the unit of `size`."""
    from matplotlib.ft2font import FT2Font

    font = FT2Font(str(font_file(text, bold)))
    font.set_size(100.0, 72.0)  # 100 pixels to the em
    font.set_text(text)
    return font.get_width_height()[0] / 6400.0 * size, 1.2 * size


def spelled(text: str) -> str:
    """`text` as the fonts here can draw it; see `letters.spelled`."""
    return letters.spelled(text, _drawable())


def plotted(text: str) -> str:
    """`text` for matplotlib, which turns right-to-left text by itself."""
    return f"{LEFT_TO_RIGHT}{spelled(text)}" if _ways(text) > LEFT else spelled(text)


def printed(text: str) -> str:
    """`text` in the order in which a page is drawn, left to right, Arabic letters joined.

    Unicode Standard Annex no. 9 (bidirectional text), by python-bidi. Where a name stands among our
    words the whole reads from the left.
    """
    if not _ways(text) - LEFT:
        return spelled(text)
    from arabic_reshaper import reshape
    from bidi.algorithm import get_display

    base = "L" if _ways(text) & LEFT else None
    return spelled(str(get_display(reshape(text), base_dir=base)))


def _ways(text: str) -> set[str]:
    """The ways in which its letters are read: L from the left, R, AL and AN from the right."""
    return {unicodedata.bidirectional(letter) for letter in text} & {"L", "R", "AL", "AN"}
