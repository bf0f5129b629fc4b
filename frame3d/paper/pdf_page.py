"""Pages of a PDF: fonts, numbers in the builder's units, page x of y. Points are 1/72 in."""

import codecs
import math
import os
import re
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, date, datetime
from fractions import Fraction
from pathlib import Path
from typing import Any

from frame3d.fonts import spelled
from frame3d.model import Mill
from frame3d.paper.pdf_font import pdf_font
from frame3d.view.lettering import printed

MM = 72.0 / 25.4
SIZES = {"A4": (210 * MM, 297 * MM), "Letter": (612.0, 792.0)}
MARGIN = 36.0
INK, SOFT, FAINT = (0.08, 0.08, 0.1), (0.38, 0.4, 0.44), (0.8, 0.82, 0.85)
WARNING = (0.75, 0.05, 0.05)

Draw = Callable[["Page"], None]


def printed_date() -> date:
    """Today, or the day that SOURCE_DATE_EPOCH gives in seconds since 1970: the same bytes on any
    day (reproducible-builds.org)."""
    fixed = os.environ.get("SOURCE_DATE_EPOCH", "")
    return datetime.fromtimestamp(int(fixed), UTC).date() if fixed.isdigit() else date.today()


@dataclass(frozen=True)
class Head:
    """What stands on every page."""

    job: str
    date: str
    paper: str


class Page:
    """A canvas page with the few things that all pages use; y counts up from the lower edge."""

    def __init__(self, canvas: Any, size: tuple[float, float]) -> None:
        self.canvas = canvas
        self.width, self.height = size

    @property
    def right(self) -> float:
        return self.width - MARGIN

    def text(
        self,
        x: float,
        y: float,
        words: str,
        size: float = 10.0,
        *,
        bold: bool = False,
        colour: tuple[float, float, float] = INK,
        align: str = "left",
        room: float | None = None,
    ) -> float:
        """One line; smaller type, then an ellipsis, where `room` is too narrow; its width."""
        said, words = words, printed(words)
        font = pdf_font(words, bold)
        if room is not None:
            words, size = self._fitted(words, font, size, room)
        wide = float(self.canvas.stringWidth(words, font, size))
        left = {"left": x, "right": x - wide, "centre": x - wide / 2}[align]
        self.canvas.setFillColorRGB(*colour)
        self.canvas.setFont(font, size)
        with _standing_for(self.canvas, said):
            self.canvas.drawString(left, y, words)
        return wide

    def wrapped(
        self, x: float, y: float, words: str, size: float, room: float, **how: Any
    ) -> float:
        """Several lines, top line at `y`; returns the y below the last."""
        for line in self.lines(words, size, room, bold=bool(how.get("bold"))):
            self.text(x, y, line, size, room=room, **how)
            y -= 1.3 * size
        return y

    def lines(self, words: str, size: float, room: float, *, bold: bool = True) -> list[str]:
        """Words broken into lines that fit `room`."""
        found = [""]
        for word in words.split():
            longer = f"{found[-1]} {word}".strip()
            drawn = printed(longer)
            if found[-1] and self.canvas.stringWidth(drawn, pdf_font(drawn, bold), size) > room:
                found.append(word)
            else:
                found[-1] = longer
        return found

    def line(
        self,
        points: list[tuple[float, float]],
        *,
        width: float = 0.8,
        colour: tuple[float, float, float] = INK,
        dash: tuple[float, ...] = (),
        fill: tuple[float, float, float] | None = None,
        closed: bool = False,
        alpha: float = 1.0,
    ) -> None:
        self.canvas.saveState()
        self.canvas.setLineWidth(width)
        self.canvas.setStrokeColorRGB(*colour)
        if dash:
            self.canvas.setDash(*[list(dash)])
        if fill:
            self.canvas.setFillColorRGB(*fill, alpha=alpha)
        path = self.canvas.beginPath()
        path.moveTo(*points[0])
        for point in points[1:]:
            path.lineTo(*point)
        if closed:
            path.close()
        self.canvas.drawPath(path, stroke=1 if width else 0, fill=1 if fill else 0)
        self.canvas.restoreState()

    def circle(self, x: float, y: float, radius: float, width: float = 0.8) -> None:
        self.canvas.setLineWidth(width)
        self.canvas.setStrokeColorRGB(*INK)
        self.canvas.circle(x, y, radius, stroke=1, fill=0)

    def _fitted(self, words: str, font: str, size: float, room: float) -> tuple[str, float]:
        wide = self.canvas.stringWidth(words, font, size)
        if wide > room:
            size = max(size * room / wide, 0.6 * size)
        while len(words) > 1 and self.canvas.stringWidth(words, font, size) > room + 0.01:
            words = words[:-2].rstrip() + "…"
        return words, size


@contextmanager
def _standing_for(canvas: Any, said: str) -> Iterator[None]:
    """Where no font here draws a text, what is drawn in its place stands for it: readers copy and
    search the text itself (PDF 1.7, 14.9.4 Replacement text)."""
    if spelled(said) == said:
        yield
        return
    canvas._code.append(
        f"/Span << /ActualText <{codecs.BOM_UTF16_BE.hex()}{said.encode('utf-16-be').hex()}> >> BDC"
    )
    yield
    canvas._code.append("EMC")


def write_pdf(path: Path, head: Head, pages: list[Draw], title: str) -> None:
    """All pages into one file, each with job, date and page x of y in its foot."""
    from reportlab.pdfgen.canvas import Canvas

    size = SIZES[head.paper]
    canvas = Canvas(str(path), pagesize=size, pageCompression=1, invariant=1)
    canvas.setTitle(f"{head.job}: {title}")
    canvas.setCreator("frame3d")
    for number, draw in enumerate(pages, start=1):
        page = Page(canvas, size)
        draw(page)
        foot = MARGIN - 18
        half = (page.right - MARGIN) / 2
        page.text(MARGIN, foot, head.job, 9, colour=SOFT, room=half - 60)
        page.text(page.width / 2, foot, head.date, 9, colour=SOFT, align="centre")
        words = f"page {number} of {len(pages)}"
        page.text(page.right, foot, words, 9, colour=SOFT, align="right")
        canvas.showPage()
    canvas.save()


def size_text(mill: Mill, mm: float, digits: int = 3) -> str:
    """A length in the units that the shop prints, to 10 ** -digits mm or as near in inches; "none"
    where there is none, as along a line that no saw meets."""
    if not math.isfinite(mm):
        return "none"
    if mill.units == "mm":
        return f"{mm:.{digits}f} mm"
    return f"{mm / 25.4:.{INCH_DIGITS[digits]}f} in"


# Decimals of an inch that are at least as near as so many of a millimetre; 0.001 mm is 0.00004 in.
INCH_DIGITS = (3, 3, 4, 5)


def exact_text(mill: Mill, mm: float, digits: int) -> str:
    """The size of a tool; in inches with the fraction that it is."""
    words = fraction(mm) if mill.units == "inch" else ""
    return size_text(mill, mm, digits) + (f" ({words})" if words else "")


def mark_text(mill: Mill, mm: float) -> str:
    """A place that a rule shows by a line of its own: in inches as fraction too."""
    return f"{mm:.0f} mm" if mill.units == "mm" else exact_text(mill, mm, 2)


def rule_text(mill: Mill, mm: float, *, up: bool = False) -> str:
    """A length that a rule is near enough for: in inches also by the nearest 64th; `up`: the next
    larger, where nothing may be missing."""
    text = size_text(mill, mm, 1)
    if mill.units == "mm":
        return text
    parts = mm / 25.4 * 64
    return f"{text} ({_sixty_fourths(math.ceil(parts - 0.01) if up else round(parts))})"


def drill_text(mill: Mill, mm: float) -> str:
    """The size of a drill, in both units where it is a fraction of an inch: 1/4 in (6.35 mm)."""
    words, metric = fraction(mm), f"{mm:.2f}".rstrip("0").rstrip(".")
    if words and "." in metric:
        return f"{words} in ({metric} mm)"
    return f"{metric} mm" if mill.units == "mm" else f"{mm / 25.4:.4f} in"


def fraction(mm: float) -> str:
    """`1 1/8` where a length is a fraction of an inch, in 64ths, to a tenth of a thou; or ""."""
    parts = round(mm / 25.4 * 64)
    if parts == 0 or abs(mm / 25.4 * 64 - parts) > 64e-4:
        return ""
    return _sixty_fourths(parts)


def _sixty_fourths(parts: int) -> str:
    whole, rest = divmod(parts, 64)
    words = [str(whole)] if whole or not rest else []
    words += [str(Fraction(rest, 64))] if rest else []
    return " ".join(words)


_LENGTHS = re.compile(r"((?:-?\d+(?:\.\d+)?(?: to |, | and | x ))*-?\d+(?:\.\d+)?) mm\b")
_NUMBER = re.compile(r"-?\d+(?:\.\d+)?")


def in_units(mill: Mill, words: str) -> str:
    """A sentence with its lengths, told in mm, in the units that the shop prints."""
    if mill.units == "mm":
        return words

    def inch(number: re.Match[str]) -> str:
        digits = len(number[0].partition(".")[2])
        return f"{float(number[0]) / 25.4:.{INCH_DIGITS[min(digits, 3)]}f}"

    return _LENGTHS.sub(lambda found: f"{_NUMBER.sub(inch, found[1])} in", words)


def feed_text(mill: Mill, mm: float) -> str:
    """A feed, mm or inches, for "a minute" or "a revolution"."""
    return f"{mm:.4g} mm" if mill.units == "mm" else f"{mm / 25.4:.3g} in"


def turns_text(mill: Mill, mm: float) -> str:
    """`: 3 turns + ...` of the hand wheel for a travel, where there is no readout; nothing where it
    takes less than a turn."""
    if mill.travel_per_turn is None:
        return ""
    turns, rest = divmod(abs(mm), mill.travel_per_turn)
    if turns == 0:
        return ""
    return f": {turns:.0f} turn{'' if turns == 1 else 's'} + {size_text(mill, rest)}"


CHECK_FIRST = "{}: look at frame3d check before you cut"


def stop_words(mill: Mill, tube: str, reasons: Sequence[str]) -> str:
    """That a tube must not be cut, and the first reason; nothing where it may be."""
    if not reasons:
        return ""
    more = f" (and {len(reasons) - 1} more: see frame3d check)" if len(reasons) > 1 else ""
    return f"▲ DO NOT CUT {tube}: {in_units(mill, reasons[0])}{more}"


def stop_line(page: Page, tube: str, reasons: Sequence[str], mill: Mill) -> None:
    """The same above a page's heading, in two lines at most."""
    room, y = page.right - MARGIN, page.height - MARGIN + 7
    lines = page.lines(stop_words(mill, tube, reasons), 11, room)
    if len(lines) > 1:
        lines = [lines[0], " ".join(lines[1:])]
    for words, above in zip(reversed(lines), (0, 13), strict=False):
        page.text(MARGIN, y + above, words, 11, bold=True, colour=WARNING, room=room)
