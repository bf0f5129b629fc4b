"""Names on paper and in plots: what the font lacks is spelled out, right-to-left text turned."""

import unicodedata
from functools import cache
from pathlib import Path


@cache
def font_file(bold: bool = False) -> Path:
    """DejaVu Sans, which comes with matplotlib: Latin, Greek, Cyrillic, Hebrew, Arabic."""
    from matplotlib import get_data_path

    name = "DejaVuSans-Bold.ttf" if bold else "DejaVuSans.ttf"
    return Path(get_data_path()) / "fonts" / "ttf" / name


@cache
def _drawable() -> frozenset[int]:
    """Code points that both weights of the font can draw."""
    from matplotlib.ft2font import FT2Font

    plain, bold = (FT2Font(str(font_file(weight))).get_charmap() for weight in (False, True))
    return frozenset(plain) & frozenset(bold)


@cache
def text_size(text: str, size: int, bold: bool = False) -> tuple[float, float]:
    """Width and height of a line of letters `size` high, in the unit of `size`."""
    from matplotlib.ft2font import FT2Font

    font = FT2Font(str(font_file(bold)))
    font.set_size(100.0, 72.0)  # 100 pixels to the em
    font.set_text(text)
    return font.get_width_height()[0] / 6400.0 * size, 1.2 * size


def spelled(text: str) -> str:
    """`text` with every character that the font lacks as its Unicode name: "[bicycle]"."""
    return "".join(_spelled(character) for character in text)


def _spelled(character: str) -> str:
    if unicodedata.category(character) in ("Cc", "Cf", "Cs", "Mn") or character in "\ufe0f\ufe0e":
        return "" if unicodedata.category(character) != "Cc" else " "
    # Beyond 0xFFFF a PDF from reportlab draws a letter but cannot be searched for it.
    if ord(character) <= 0xFFFF and ord(character) in _drawable():
        return character
    return f"[{unicodedata.name(character, f'U+{ord(character):04X}').lower()}]"


def printed(text: str) -> str:
    """`text` in the order in which a page is drawn, left to right, Arabic letters joined.

    Unicode Standard Annex no. 9 (bidirectional text), by python-bidi.
    """
    if all(unicodedata.bidirectional(character) not in ("R", "AL", "AN") for character in text):
        return spelled(text)
    from arabic_reshaper import reshape
    from bidi.algorithm import get_display

    return spelled(str(get_display(reshape(text))))
