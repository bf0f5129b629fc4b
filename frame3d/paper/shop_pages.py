"""The shop's PDF: cover, cut list, order list, trim plan, a page a cut, drilling, jig table."""

from collections import Counter
from collections.abc import Sequence
from functools import partial
from math import isinf
from pathlib import Path
from textwrap import wrap

from frame3d.mill.pages import ShopPages, TubePages
from frame3d.mill.saw_alternatives import SOURCES, SawChoice
from frame3d.mill.tube_sheet import TubeSheet
from frame3d.model import ENDS, Mill
from frame3d.paper.cut_page import cut_page, saw_names
from frame3d.paper.drill_page import drill_page
from frame3d.paper.gap_strip import Curves
from frame3d.paper.pdf_page import (
    CHECK_FIRST,
    MARGIN,
    SOFT,
    WARNING,
    Draw,
    Head,
    Page,
    drill_text,
    exact_text,
    in_units,
    rule_text,
    size_text,
    write_pdf,
)
from frame3d.paper.ruled_table import Column, table

NO_CURVES: Curves = {}
NOTE_LINES = 54  # of text and headings on a page of notes


def write_shop_pdf(
    path: Path, pages: ShopPages, mill: Mill, head: Head, gaps: Curves = NO_CURVES
) -> None:
    """Write all pages for the shop into one PDF, with the gap of each end on its cuts' pages."""
    draws: list[Draw] = [partial(_cover, pages=pages, mill=mill, date=head.date)]
    draws += _table_pages("Cut list", CUT_LIST, _cut_list(pages, mill), CUT_LIST_NOTE)
    draws += _table_pages("Order list", ORDERS, _orders(pages, mill), ORDER_NOTE)
    draws += _table_pages("Trim plan", TRIM, _trim_rows(pages, mill), TRIM_NOTE)
    draws += _notes_pages(pages, mill)
    choices = {(choice.tube, choice.end): choice for choice in pages.saws}
    for tube in pages.tubes:
        for index in range(len(tube.sheet.cuts)):
            key = tube.sheet.tube, tube.sheet.cuts[index].end
            draws.append(
                partial(
                    cut_page,
                    pages=tube,
                    index=index,
                    mill=mill,
                    choice=choices.get(key),
                    gap=gaps.get(key),
                )
            )
        if tube.drilling.holes or tube.drilling.slots:
            draws.append(partial(drill_page, pages=tube, mill=mill))
    draws += _table_pages("Places for vents", VENTS, _vents(pages, mill), VENT_NOTE)
    draws += _table_pages("Jig: tube axes", JIG_TUBES, _jig_tubes(pages, mill), JIG_NOTE)
    draws += _table_pages("Jig: crossings", JIG_JOINTS, _jig_joints(pages, mill), CROSSING_NOTE)
    write_pdf(path, head, draws, "shop pages")


def _cover(page: Page, pages: ShopPages, mill: Mill, date: str) -> None:
    room = page.right - MARGIN
    y = page.height - MARGIN - 40
    page.text(MARGIN, y, pages.job, 28, bold=True, room=room)
    page.text(MARGIN, y - 26, f"pages for the shop, {date}", 14, colour=SOFT)
    y -= 60
    cuts = sum(len(tube.sheet.cuts) for tube in pages.tubes)
    rows = (
        ("process", pages.process),
        ("tubes", str(len(pages.tubes))),
        ("cuts at the mill", str(cuts)),
        ("saws", ", ".join(_saws_used(pages, mill)) or "none"),
        ("units", "mm" if mill.units == "mm" else "inch, as decimals; fractions where they are"),
    )
    for label, value in rows:
        page.text(MARGIN, y, label, 12, colour=SOFT)
        page.text(MARGIN + 130, y, value, 12, bold=True, room=room - 130)
        y -= 20
    stops = [f"▲ Do not cut {in_units(mill, words)}." for words in pages.stopped]
    if pages.failing:
        stops.append(f"▲ {CHECK_FIRST.format(pages.failing)}.")
    for words in stops:
        y = page.wrapped(MARGIN, y, words, 12, room, bold=True, colour=WARNING) - 4
    y -= 14
    page.text(MARGIN, y, "Before you start", 16, bold=True)
    y -= 24
    for caution in pages.cautions:
        page.text(MARGIN, y, "•", 12)
        y = page.wrapped(MARGIN + 16, y, caution, 12, room - 16) - 5
    y -= 14
    page.text(MARGIN, y, "How to read these pages", 16, bold=True)
    y -= 24
    for words in READING:
        y = page.wrapped(MARGIN, y, words, 11, room) - 5


READING = (
    "You face the machine: x to the right, y away towards the column, z up. The end under the saw "
    "always points to the right.",
    "Angles about a tube are counted from its datum line, clockwise as seen from its start end. "
    "The datum faces up in the finished frame (forward on an upright tube).",
    "Before blocks go on, square one end of the blank, call it the start, scribe the datum line "
    "along the tube and make the marks of all its cuts from the start end.",
    "Directions over the tube are those of the saw; the table moves the other way.",
)


def _saws_used(pages: ShopPages, mill: Mill) -> list[str]:
    sizes = {cut.saw for tube in pages.tubes for cut in tube.sheet.cuts}
    return [exact_text(mill, size, 2) for size in sorted(sizes)]


CUT_LIST: tuple[Column, ...] = (
    ("tube", 0.17, "left"),
    ("material", 0.09, "left"),
    ("outside", 0.22, "right"),
    ("wall", 0.16, "right"),
    ("blank", 0.12, "right"),
    ("start", 0.12, "right"),
    ("end", 0.12, "right"),
)


def _cut_list(pages: ShopPages, mill: Mill) -> list[tuple[str, ...]]:
    return [
        (
            tube.sheet.tube,
            tube.sheet.material,
            _outside(tube.sheet, mill),
            _walls(tube, mill),
            size_text(mill, tube.sheet.blank, 1),
            *(_made(pages, tube.sheet, end) for end in ENDS),
        )
        for tube in pages.tubes
    ]


def _outside(sheet: TubeSheet, mill: Mill) -> str:
    """Its diameters from start to end; of an oval the one across after a stroke."""
    parts = [_values(sheet.od, mill, 2)]
    if sheet.across_od:
        parts.append(_values(sheet.across_od, mill, 2))
    return "/".join(parts) + (" mm" if mill.units == "mm" else " in")


def _values(stations: Sequence[tuple[float, float]], mill: Mill, digits: int) -> str:
    values = [value for _, value in stations]
    kept = [v for i, v in enumerate(values) if i == 0 or v != values[i - 1]]
    shown = [f"{v / 25.4:.3f}" if mill.units == "inch" else f"{v:.{digits}f}" for v in kept]
    return "-".join(value.rstrip("0").rstrip(".") for value in shown)


def _walls(tube: TubePages, mill: Mill) -> str:
    return _values(tube.sheet.wall, mill, 3) + (" mm" if mill.units == "mm" else " in")


def _made(pages: ShopPages, sheet: TubeSheet, end: str) -> str:
    """How an end is made."""
    count = sum(cut.end == end for cut in sheet.cuts)
    if count:
        first = ", first" if end == sheet.first_end and len({c.end for c in sheet.cuts}) > 1 else ""
        return f"{count} cut{'s' if count > 1 else ''}{first}"
    if any((joint.tube, joint.end) == (sheet.tube, end) for joint in pages.jig_joints):
        return "by hand"
    return "not coped"


CUT_LIST_NOTE = (
    "Blanks are plain lengths with waste beyond each tip; of the tube list, whole raw tubes. A "
    "butted tube must lie with its start point where its pages say, so that the butts meet the "
    "joints. By hand: coped by its wrap or a printed guide. Not coped: square, or as the job's "
    "[[end]] says."
)
ORDER_NOTE = (
    "Raw tubes of the tube list to have at hand, and plain lengths of all others: what the cut "
    "list asks for, without any allowance for a spoilt tube."
)
ORDERS: tuple[Column, ...] = (
    ("tube", 0.56, "left"),
    ("length", 0.24, "right"),
    ("count", 0.20, "right"),
)


def _orders(pages: ShopPages, mill: Mill) -> list[tuple[str, ...]]:
    listed = {trim.tube for trim in pages.trim.tubes} if pages.trim else set()
    plain = Counter(
        (f"{t.material} {_outside(t, mill)} x {_walls(tube, mill)}", t.blank)
        for tube in pages.tubes
        for t in [tube.sheet]
        if t.tube not in listed
    )
    rows = [
        (o.stock, o.raw, o.count)
        if o.least is None
        else (f"{o.stock}, at least; {size_text(mill, o.raw, 1)} is too short", o.least, o.count)
        for o in (pages.trim.orders if pages.trim else ())
    ]
    rows += [(words, long, count) for (words, long), count in plain.items()]
    return [(words, rule_text(mill, long, up=True), str(count)) for words, long, count in rows]


TRIM_NOTE = (
    "What to cut off either end of a raw tube so that its butts stay under the joints, to the long "
    "side of the finished end. Butt left: from the long and from the short side to where the wall "
    "begins to thin; all: it never does. Wall: thinnest at the joint, and where the heat ends."
)
TRIM: tuple[Column, ...] = (
    ("tube, end", 0.25, "left"),
    ("cut off", 0.14, "right"),
    ("butt, long", 0.15, "right"),
    ("butt, short", 0.15, "right"),
    ("wall, joint", 0.15, "right"),
    ("wall, heat", 0.16, "right"),
)


def _trim_rows(pages: ShopPages, mill: Mill) -> list[tuple[str, ...]]:
    return [
        (
            f"{trim.tube}, {name}{'' if trim.passes else ': DO NOT CUT'}",
            size_text(mill, end.cut + 0.0, 1),
            _butt(end.butt_long, mill),
            _butt(end.butt_short, mill),
            size_text(mill, end.wall_at_joint, 2),
            size_text(mill, end.wall_at_zone, 2),
        )
        for trim in (pages.trim.tubes if pages.trim else ())
        for name, end in trim.ends.items()
    ]


def _butt(left: float, mill: Mill) -> str:
    return "all" if isinf(left) else size_text(mill, left, 1)


def _notes_pages(pages: ShopPages, mill: Mill) -> list[Draw]:
    """Saws and warnings as flowing text, as many pages as they take."""
    notes = [_saw_note(choice, mill) for choice in pages.saws]
    notes += [(f"{', '.join(tubes)}: take care", words) for words, tubes in pages.warnings.items()]
    for trim in pages.trim.tubes if pages.trim else ():
        notes += [(f"{trim.tube}: trim, do not cut", words) for words in trim.reasons]
        notes += [(f"{trim.tube}: trim", words) for words in trim.notes]
    chunks: list[list[tuple[str, str]]] = [[]]
    taken = 0
    for heading, words in notes:
        high = 2 + len(wrap(words, 90))
        if taken + high > NOTE_LINES:
            chunks.append([])
            taken = 0
        chunks[-1].append((heading, in_units(mill, words)))
        taken += high
    return [partial(_notes, notes=chunk) for chunk in chunks if chunk]


METHODS = {"hand": "By hand to the mate", "laser": "By a tube laser"}


def _saw_note(choice: SawChoice, mill: Mill) -> tuple[str, str]:
    gap = "the end is not cut whole" if choice.gap is None else f"gap {choice.gap:.3f} mm"
    words = METHODS.get(choice.cut_by) or saw_names(choice.saws, mill)
    words += f", {SOURCES[choice.source]}: {gap}, limit {choice.limit:.3f} mm."
    if choice.note:
        words += f" A saw is wanted: {choice.note}."
    if choice.alternatives:
        others = [
            f"{saw_names(o.saws, mill)} would leave {o.gap:.3f} mm" for o in choice.alternatives
        ]
        words += f" Others: {'; '.join(others)}."
    if choice.advice:
        words += f" {choice.advice[0].upper()}{choice.advice[1:]}."
    return f"{choice.tube}, {choice.end}, onto {' and '.join(choice.onto)}", words


def _notes(page: Page, notes: Sequence[tuple[str, str]]) -> None:
    y = page.height - MARGIN - 20
    page.text(MARGIN, y, "Saws, and what to take care of", 20, bold=True)
    y -= 30
    room = page.right - MARGIN
    for heading, words in notes:
        page.text(MARGIN, y, heading, 11, bold=True, room=room)
        y = page.wrapped(MARGIN + 12, y - 14.5, words, 10, room - 12) - 6


VENT_NOTE = (
    "A hole here, no larger than told, opens a joined tube into the one it stands on, inside its "
    "footprint. From the start point of the tube that is drilled; angles from its datum line."
)
VENTS: tuple[Column, ...] = (
    ("drill into", 0.24, "left"),
    ("to vent", 0.28, "left"),
    ("from start point", 0.18, "right"),
    ("angle", 0.12, "right"),
    ("largest drill", 0.18, "right"),
)


def _vents(pages: ShopPages, mill: Mill) -> list[tuple[str, ...]]:
    return [
        (
            tube.sheet.tube,
            f"{vent.vented}, {vent.end}",
            size_text(mill, vent.at, 1),
            f"{vent.angle:.1f}°",
            drill_text(mill, vent.largest),
        )
        for tube in pages.tubes
        for vent in tube.drilling.vents
    ]


JIG_NOTE = (
    "The frame's coordinates: x forward, y left, z up. Slope is start to end above level; swing is "
    "in plan, from forward to the left."
)
JIG_TUBES: tuple[Column, ...] = (
    ("tube", 0.2, "left"),
    ("start x, y, z", 0.24, "right"),
    ("end x, y, z", 0.24, "right"),
    ("axis", 0.12, "right"),
    ("slope", 0.1, "right"),
    ("swing", 0.1, "right"),
)
CROSSING_NOTE = (
    "Where the coped tube's axis comes nearest to the mate's, along the mate from its start."
)
JIG_JOINTS: tuple[Column, ...] = (
    ("tube, end", 0.28, "left"),
    ("onto", 0.22, "left"),
    ("at", 0.14, "right"),
    ("angle", 0.12, "right"),
    ("offset", 0.12, "right"),
    ("phase", 0.12, "right"),
)


def _jig_tubes(pages: ShopPages, mill: Mill) -> list[tuple[str, ...]]:
    return [
        (
            tube.tube,
            _point(tube.start, mill),
            _point(tube.end, mill),
            size_text(mill, tube.axis, 2),
            f"{tube.slope:.2f}°",
            f"{tube.swing:.2f}°",
        )
        for tube in pages.jig_tubes
    ]


def _point(point: tuple[float, float, float], mill: Mill) -> str:
    if mill.units == "inch":
        return ", ".join(f"{part / 25.4:.3f}" for part in point)
    return ", ".join(f"{part:.2f}" for part in point)


def _jig_joints(pages: ShopPages, mill: Mill) -> list[tuple[str, ...]]:
    return [
        (
            f"{joint.tube}, {joint.end}",
            joint.onto,
            size_text(mill, joint.at, 2),
            f"{joint.angle:.2f}°",
            size_text(mill, joint.offset, 2),
            f"{joint.phase:.2f}°",
        )
        for joint in pages.jig_joints
    ]


def _table_pages(
    title: str, columns: Sequence[Column], rows: list[tuple[str, ...]], note: str
) -> list[Draw]:
    """A table over as many pages as it takes; none without rows."""
    chunks = [rows[i : i + 34] for i in range(0, len(rows), 34)]
    return [
        partial(_table, title=title, columns=columns, rows=chunk, note=note) for chunk in chunks
    ]


def _table(
    page: Page, title: str, columns: Sequence[Column], rows: list[tuple[str, ...]], note: str
) -> None:
    y = page.height - MARGIN - 20
    page.text(MARGIN, y, title, 20, bold=True)
    y = page.wrapped(MARGIN, y - 22, note, 10, page.right - MARGIN, colour=SOFT) - 10
    table(page, y, columns, rows)
