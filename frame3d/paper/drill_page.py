"""The drilling page of a tube: its holes in a table, and on the tube's outside unrolled."""

import numpy as np

from frame3d.mill.drilling import DrillHole, SlotCut
from frame3d.mill.pages import TubePages
from frame3d.mill.printed_numbers import as_json
from frame3d.mill.virtual_tube import Fresh
from frame3d.model import Mill
from frame3d.paper.cut_views import fitting, scale_words
from frame3d.paper.pdf_page import (
    FAINT,
    MARGIN,
    MM,
    SOFT,
    Page,
    drill_text,
    in_units,
    size_text,
    stop_line,
)
from frame3d.paper.ruled_table import Column, table

HOLES: tuple[Column, ...] = (
    ("hole", 0.17, "left"),
    ("from start end", 0.18, "right"),
    ("from start point", 0.19, "right"),
    ("angle", 0.11, "right"),
    ("around", 0.14, "right"),
    ("drill", 0.21, "right"),
)
STRIP = 190.0


def drill_page(page: Page, pages: TubePages, mill: Mill) -> None:
    """Draw and write all holes of a tube."""
    sheet, drilling = pages.sheet, pages.drilling
    room = page.right - MARGIN
    stop_line(page, pages.sheet.tube, pages.stop, mill)
    y = page.height - MARGIN - 18
    page.text(MARGIN, y, f"{sheet.tube}: drilling", 22, bold=True, room=room)
    y -= 22
    words = (
        "Angles and lengths around the outside go from the datum line, clockwise as seen from the "
        f"start end, the {sheet.start_is} one in the frame. Mark while the end that a length is "
        "taken from still stands square; centre-punch, clamp in a V-block, drill one wall only but "
        "where a hole is told to go through both, deburr inside."
    )
    y = page.wrapped(MARGIN, y, words, 10, room, colour=SOFT) - 8
    if drilling.holes:
        _strip(page, pages, (MARGIN, y - STRIP, page.right, y))
        y = table(page, y - STRIP - 26, HOLES, [_hole(h, mill) for h in drilling.holes]) - 14
        for hole in drilling.holes:
            if hole.notes:
                at = size_text(mill, hole.at, 1)
                told = f"{hole.kind} hole at {at}: {'; '.join(hole.notes)}."
                y = page.wrapped(MARGIN, y, told, 10, room) - 3
    for slot in drilling.slots:
        y = page.wrapped(MARGIN, y, _slot(slot, mill), 10, room) - 3
    for words in drilling.conflicts:
        y = page.wrapped(MARGIN, y, f"Conflict: {in_units(mill, words)}.", 11, room, bold=True) - 4
    caution = "Eye protection. Vent every closed tube before heating it; heated gas bursts out."
    page.text(MARGIN, MARGIN - 3, caution, 9, colour=SOFT, room=room)


def _slot(slot: SlotCut, mill: Mill) -> str:
    depth, width = size_text(mill, slot.depth, 1), size_text(mill, slot.width, 2)
    walls = "through both walls" if slot.walls == 2 else "through one wall only"
    plate = f" for {slot.plate}" if slot.plate else ""
    return (
        f"Slot at the {slot.end}{plate}: {width} wide, {depth} deep from the end point of the "
        f"axis, its middle at {slot.angle:.1f}°, {walls}."
    )


def _hole(hole: DrillHole, mill: Mill) -> tuple[str, ...]:
    return (
        hole.kind,
        size_text(mill, hole.from_end, 1),
        size_text(mill, hole.at, 1),
        f"{hole.angle:.1f}°",
        size_text(mill, hole.around, 1),
        drill_text(mill, hole.diameter),
    )


def _strip(page: Page, pages: TubePages, box: tuple[float, float, float, float]) -> None:
    """The outside unrolled, start end left, datum along the upper rim, clockwise downward."""
    sheet = pages.sheet
    fresh = Fresh(as_json(sheet))
    around = max(fresh.girth(at, 360.0) for at in np.linspace(0.0, sheet.blank, 9))
    transform, scale = fitting([(0, -around), (sheet.sawn, 0)], box)
    rim = [(0.0, 0.0), (sheet.sawn, 0.0), (sheet.sawn, -around), (0.0, -around)]
    page.line([transform(p) for p in rim], closed=True, width=0.8)
    for quarter in (0.25, 0.5, 0.75):
        line = [transform((0, -quarter * around)), transform((sheet.sawn, -quarter * around))]
        page.line(line, width=0.3, colour=FAINT)
    for hole in pages.drilling.holes:
        x, y = transform((hole.from_end, -hole.around))
        page.circle(x, y, hole.diameter / 2 * scale * MM)
        if hole.through:
            far = fresh.girth(hole.from_end, (hole.angle + 180.0) % 360.0)
            page.circle(*transform((hole.from_end, -far)), hole.diameter / 2 * scale * MM)
    words = f"the outside unrolled, {scale_words(scale)}: start end left, datum at the upper rim"
    page.text(box[0] + 4, box[1] + 4, words, 8, colour=SOFT, room=box[2] - box[0] - 8)
