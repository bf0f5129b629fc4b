"""Names on paper, in pictures and in plots: right-to-left text turned, and what no font here has
spelled out."""

import unicodedata
from collections.abc import Iterable
from functools import cache
from pathlib import Path

from frame3d.fonts import font_file, spelled

LEFT = {"L"}
LEFT_TO_RIGHT = "\u200e"  # a mark that is not seen, and says how a line begins


@cache
def text_size(text: str, size: int, bold: bool = False) -> tuple[float, float]:
    """Width and height of a line of letters `size` high, in the unit of `size`."""
    from matplotlib.ft2font import FT2Font

    font = FT2Font(str(font_file(text, bold)))
    font.set_size(100.0, 72.0)  # 100 pixels to the em
    font.set_text(text)
    return font.get_width_height()[0] / 6400.0 * size, 1.2 * size


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


def drawn_otherwise(texts: Iterable[str]) -> str:
    """Those of some texts that no font here draws, as a file's keywords: there they stay as text,
    to be found and copied."""
    return "; ".join(dict.fromkeys(text for text in texts if spelled(text) != text))


def plot_facts(path: Path, title: str) -> dict[str, str | None]:
    """What a plot's file tells of itself besides what is drawn: nothing that differs from run to
    run; an SVG its title as text."""
    return {"Date": None, "Title": title} if path.suffix == ".svg" else {"Software": None}


def _ways(text: str) -> set[str]:
    """The ways in which its letters are read: L from the left, R, AL and AN from the right."""
    return {unicodedata.bidirectional(letter) for letter in text} & {"L", "R", "AL", "AN"}
