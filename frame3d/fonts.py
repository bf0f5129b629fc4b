"""Fonts with the letters of a text: DejaVu Sans, which comes with matplotlib (Latin, Greek,
Cyrillic, Hebrew, Arabic), and for what it lacks the fonts that are installed on this machine."""

import atexit
import shutil
import subprocess
import tempfile
from functools import cache
from hashlib import sha256
from pathlib import Path
from typing import Any

from frame3d import letters

UNITS = 2048  # to the em, in DejaVu Sans; outlines of other fonts are scaled to it
CURVE = 1.0  # of those units: how near cubic curves are met by quadratic ones
FONT_NAMES = 1, 4, 6, 16  # family, full, PostScript and typographic family name (OpenType's "name")
SUFFIXES = {".ttf", ".otf", ".ttc", ".otc"}


def dejavu(bold: bool = False) -> Path:
    from matplotlib import get_data_path

    name = "DejaVuSans-Bold.ttf" if bold else "DejaVuSans.ttf"
    return Path(get_data_path()) / "fonts" / "ttf" / name


def font_file(text: str = "", bold: bool = False) -> Path:
    """A font with all letters of `text`, which is as `spelled` makes it: DejaVu Sans, or the same
    with outlines of installed fonts beside, since a line in a window or a PDF has but one font."""
    codes = frozenset(map(ord, text.replace("\n", "")))  # the end of a line is no letter
    if all(code <= 0xFFFF and code in _own() for code in codes):
        return dejavu(bold)
    return _with(codes - _own(), bold)


def spelled(text: str) -> str:
    """`text` as those fonts can draw it; see `letters.spelled`."""
    return letters.spelled(text, _drawable)


def family(text: str) -> str:
    """The name under which matplotlib has a font with all letters of `text`."""
    from matplotlib.font_manager import FontProperties, fontManager

    file = font_file(text)
    if file != dejavu():
        fontManager.addfont(file)
    return FontProperties(fname=file).get_name()


@cache
def _letters_of(font: Path) -> frozenset[int]:
    """Code points that a font can draw."""
    from matplotlib.ft2font import FT2Font

    return frozenset(FT2Font(str(font)).get_charmap())


@cache
def _own() -> frozenset[int]:
    """Code points that both weights of DejaVu Sans can draw."""
    return _letters_of(dejavu()) & _letters_of(dejavu(bold=True))


def _drawable(letter: str) -> bool:
    return ord(letter) in _own() or _installed(ord(letter)) is not None


@cache
def _installed(code: int) -> Any:
    """The outline of a letter and its width, from the first installed font that draws it, or None.

    Fonts are asked for in the same order each time, plain ones without serifs first.
    """
    for file in sorted(_files_with(code), key=_plainness):
        try:
            if found := _glyph(file, code):
                return found
        except Exception:  # what is wrong with another's font file is no concern of a builder's
            continue
    return None


def _plainness(file: Path) -> tuple[bool, bool, str]:
    name = file.name.lower()
    return "sans" not in name, "regular" not in name, str(file)


def _files_with(code: int) -> list[Path]:
    """Installed fonts that may have a letter: by fontconfig, or where that lacks all there are."""
    asked = shutil.which("fc-list")
    if asked is None:
        from matplotlib.font_manager import findSystemFonts

        files = findSystemFonts()
    else:
        told = subprocess.run(
            [asked, f":charset={code:x}", "file"], capture_output=True, text=True, check=False
        )
        files = [line.strip().rstrip(":") for line in told.stdout.splitlines()]
    return [Path(file) for file in files if Path(file).suffix.lower() in SUFFIXES]


def _glyph(file: Path, code: int) -> Any:
    """A letter as a TrueType outline of UNITS to the em, and its width; None where the font has
    none, or only a picture."""
    from fontTools.pens.cu2quPen import Cu2QuPen
    from fontTools.pens.recordingPen import DecomposingRecordingPen
    from fontTools.pens.transformPen import TransformPen
    from fontTools.pens.ttGlyphPen import TTGlyphPen
    from fontTools.ttLib import TTFont

    with TTFont(file, lazy=True, fontNumber=0) as font:
        name = font.getBestCmap().get(code)
        if name is None:
            return None
        glyphs, scale = font.getGlyphSet(), UNITS / font["head"].unitsPerEm
        drawn, made = DecomposingRecordingPen(glyphs), TTGlyphPen(None)
        glyphs[name].draw(drawn)
        if not drawn.value:
            return None
        # Letters of PostScript outlines turn the other way round than TrueType's.
        quadratic = Cu2QuPen(made, CURVE, reverse_direction="glyf" not in font)
        drawn.replay(TransformPen(quadratic, (scale, 0, 0, scale, 0, 0)))
        return made.glyph(), round(glyphs[name].width * scale)


@cache
def _fonts_of_this_run() -> Path:
    folder = tempfile.mkdtemp(prefix="frame3d-")
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    return Path(folder)


@cache
def _with(codes: frozenset[int], bold: bool) -> Path:
    """DejaVu Sans together with more letters, in one file."""
    from fontTools.ttLib import TTFont

    number = sha256(repr(sorted(codes)).encode()).hexdigest()[:6]
    name = f"Frame3dSans{number}{'-Bold' if bold else ''}"
    path = _fonts_of_this_run() / f"{name}.ttf"
    with TTFont(dejavu(bold), lazy=True, recalcBBoxes=False, recalcTimestamp=False) as font:
        # VTK looks only into the first table of code points, so those that end at U+FFFF must go.
        tables = [table for table in font["cmap"].tables if table.format == 12]
        font["cmap"].tables = tables
        for code in sorted(codes):
            outline, width = _installed(code)
            glyph = f"more{code:X}"
            font["glyf"][glyph] = outline
            outline.recalcBounds(font["glyf"])
            font["hmtx"][glyph] = (width, outline.xMin)
            for table in tables:
                table.cmap[code] = glyph
        for entry in font["name"].names:
            if entry.nameID in FONT_NAMES:
                entry.string = name
        font.save(path)
    return path
