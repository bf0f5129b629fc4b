"""The customer's sheet: side view with dimensions, spec tables, room for a signature, as a PDF."""

from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from frame3d.fonts import spelled
from frame3d.paper.pdf_font import pdf_font
from frame3d.paper.pdf_page import SIZES
from frame3d.view.lettering import drawn_otherwise, printed
from frame3d.view.side_drawing import Drawing
from frame3d.view.spec_tables import Sheet, summary
from frame3d.view.version import Version

if TYPE_CHECKING:
    from reportlab.platypus import Flowable

MARGIN_MM = 16.0
SCALES = (1, 2, 5, 10, 20, 50, 100)  # of drawings: ISO 5455, from memory
DRAWING_TALL_MM = 120.0
INSET_PT = 6.0  # reportlab keeps within its margins
LETTERS_PT = 6.5  # of the drawing
CELL_MM = 5.0  # of a table cell's width that its text leaves free
SHORT_LETTERS = 10  # a value of a table in two halves that needs little room
CAUTION = (
    "The drawing and the numbers are the design's. Whether a frame is strong enough is found out "
    "by testing (ISO 4210, safety requirements for bicycles), not by this sheet."
)


def write_customer_pdf(version: Version, path: Path) -> None:
    """Write the sheet. No gaps, saws or prices are on it."""
    from reportlab.lib.units import mm
    from reportlab.platypus import SimpleDocTemplate

    page = SimpleDocTemplate(
        str(path),
        pagesize=SIZES[version.frame.shop.mill.paper],
        leftMargin=MARGIN_MM * mm,
        rightMargin=MARGIN_MM * mm,
        topMargin=MARGIN_MM * mm,
        bottomMargin=MARGIN_MM * mm,
        title=version.frame.name,
        author="",
        keywords=drawn_otherwise([version.frame.name, *(t.name for t in version.frame.tubes)]),
        invariant=True,
    )
    page.build(_story(version, (page.width - 2 * INSET_PT) / mm))


def _story(version: Version, width: float) -> "list[Flowable]":
    from reportlab.platypus import KeepTogether, Spacer

    paper = version.frame.shop.mill.paper
    title = _paragraph(version.frame.name, 16, width, bold=True)
    story = [title, Spacer(1, 4), _paragraph(summary(version.frame, version.report), 9.5, width)]
    story += [Spacer(1, 6), _side_view(version.drawing, width, paper)]
    for sheet in version.sheets:
        if not sheet.private:
            title = _paragraph(sheet.title, 11, width, bold=True)
            title.keepWithNext = True
            story += [Spacer(1, 8), title, _table(*_folded(sheet), width)]
    last = [Spacer(1, 12), _paragraph(CAUTION, 8, width), Spacer(1, 20), _signature(width)]
    return [*story, KeepTogether(last)]


def _folded(sheet: Sheet) -> tuple[tuple[str, ...], tuple[tuple[str, ...], ...]]:
    """Columns and rows; a table of two columns in two halves beside each other."""
    if len(sheet.columns) != 2:
        return sheet.columns, sheet.rows
    half = (len(sheet.rows) + 1) // 2
    right = (*sheet.rows[half:], ("", ""))[:half]
    rows = tuple((*one, *other) for one, other in zip(sheet.rows[:half], right, strict=True))
    return (*sheet.columns, *sheet.columns), rows


def _paragraph(text: str, size: float, width: float, bold: bool = False) -> "Flowable":
    """Text that wraps at `width` mm. Lines are broken before right-to-left text is turned, so that
    a long name reads from its first line on."""
    from reportlab.lib.styles import ParagraphStyle
    from reportlab.lib.units import mm
    from reportlab.lib.utils import simpleSplit
    from reportlab.platypus import Paragraph

    text = spelled(text)
    font = pdf_font(text, bold)
    style = ParagraphStyle(
        "text", fontName=font, fontSize=size, leading=1.3 * size, splitLongWords=1
    )
    lines = simpleSplit(text, font, size, width * mm) or [""]
    return Paragraph("<br/>".join(_safe(printed(line)) for line in lines), style)


def _safe(text: str) -> str:
    """A paragraph's text is markup to reportlab."""
    return text.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")


def _table(columns: tuple[str, ...], rows: tuple[tuple[str, ...], ...], width: float) -> "Flowable":
    from reportlab.lib import colors
    from reportlab.lib.units import mm
    from reportlab.platypus import Table

    first = 0.34
    shares = [first] + [(1 - first) / (len(columns) - 1)] * (len(columns) - 1)
    if len(columns) == 4 and columns[0] == columns[2]:
        longest = max(len(text) for row in rows for text in row[1::2])
        shares = [0.31, 0.19] * 2 if longest > SHORT_LETTERS else [0.37, 0.13] * 2
    if len(columns) == 6:  # of the tubes, in whose walls three numbers stand
        shares = [0.3, 0.12, 0.16, 0.17, 0.14, 0.11]
    cells: list[list[Any]] = [
        [
            _paragraph(column, 8, share * width - CELL_MM, bold=True)
            for column, share in zip(columns, shares, strict=True)
        ]
    ]
    cells += [
        [_paragraph(t, 8, share * width - CELL_MM) for t, share in zip(row, shares, strict=True)]
        for row in rows
    ]
    return Table(
        cells,
        colWidths=[share * width * mm for share in shares],
        repeatRows=1,
        style=[
            ("LINEBELOW", (0, 0), (-1, -1), 0.4, colors.HexColor("#c9d0d6")),
            ("LINEBELOW", (0, 0), (-1, 0), 0.8, colors.HexColor("#1b2530")),
            ("VALIGN", (0, 0), (-1, -1), "TOP"),
            ("TOPPADDING", (0, 0), (-1, -1), 2),
            ("BOTTOMPADDING", (0, 0), (-1, -1), 2),
            ("LEFTPADDING", (0, 0), (-1, -1), 2),
        ],
    )


def _side_view(drawing: Drawing, width: float, paper: str) -> "Flowable":
    """The side view at the largest usual scale that fits, which is written below it."""
    from reportlab.graphics.shapes import Circle, Group, Line, Path, Rect, String
    from reportlab.graphics.shapes import Drawing as Sheet
    from reportlab.lib import colors
    from reportlab.lib.units import mm

    low, high = drawing.box
    wide, tall = (float(value) for value in high - low)
    ratio = next(
        (r for r in SCALES if wide / r <= width and tall / r <= DRAWING_TALL_MM), SCALES[-1]
    )
    by = mm / ratio
    sheet = Sheet(width * mm, tall * by + 22)
    place = Group(transform=(1, 0, 0, 1, (width * mm - wide * by) / 2, 16))
    ink, grey = colors.HexColor("#1b2530"), colors.HexColor("#8a939b")

    def at(x: float, y: float) -> tuple[float, float]:
        return (x - float(low[0])) * by, (y - float(low[1])) * by

    for x, y, radius in drawing.circles:
        place.add(Circle(*at(x, y), radius * by, fillColor=None, strokeColor=grey, strokeWidth=0.8))
    for outline in drawing.outlines:
        path = Path(
            fillColor=colors.HexColor(outline.colour), strokeColor=ink, strokeWidth=0.4, fillMode=0
        )
        for polygon in outline.polygons:
            path.moveTo(*at(*polygon[0]))
            for corner in polygon[1:]:
                path.lineTo(*at(*corner))
            path.closePath()
        place.add(path)
    for measure in drawing.measures:
        a, b = (at(*point) for point in measure.line)
        for foot, end in zip(measure.feet, (a, b), strict=True):
            place.add(Line(*at(*foot), *end, strokeColor=ink, strokeWidth=0.25))
        place.add(Line(*a, *b, strokeColor=ink, strokeWidth=0.4))
    letters = LETTERS_PT / by
    for measure, middle, size in zip(drawing.measures, *drawing.texts(letters), strict=True):
        if np.isnan(middle[0]):
            continue
        x, y = at(*middle)
        w, h = size * by
        place.add(Rect(x - w / 2, y - h / 2, w, h, fillColor=colors.white, strokeColor=None))
        text = printed(measure.text)
        how = {"fontName": pdf_font(text), "fontSize": LETTERS_PT, "textAnchor": "middle"}
        place.add(String(x, y - LETTERS_PT / 3, text, **how))
    sheet.add(place)
    told = f"From the right-hand side, 1:{ratio} on {paper} paper. Lengths in mm."
    sheet.add(String(0, 2, told, fontName=pdf_font(), fontSize=7.5))
    return sheet


def _signature(width: float) -> "Flowable":
    from reportlab.lib import colors
    from reportlab.lib.units import mm
    from reportlab.platypus import Table

    labels = ["Agreed: customer", "Date", "Builder", "Date"]
    shares = (0.34, 0.14, 0.34, 0.14)
    gap = (1 - sum(shares)) / 3
    cells: list[str] = []
    widths: list[float] = []
    for k, (label, share) in enumerate(zip(labels, shares, strict=True)):
        cells += [label] + ([""] if k < 3 else [])
        widths += [share * width * mm] + ([gap * width * mm] if k < 3 else [])
    lines = [("LINEABOVE", (k, 0), (k, 0), 0.6, colors.HexColor("#1b2530")) for k in (0, 2, 4, 6)]
    style = [("FONT", (0, 0), (-1, -1), pdf_font(), 8), *lines]
    return Table([cells], colWidths=widths, rowHeights=[9 * mm], style=style)
