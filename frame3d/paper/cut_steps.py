"""The steps of a cut in words: what to set, in large type, and how."""

import math

from frame3d.mill.metal import TOUCH_SIDE
from frame3d.mill.outside_lines import mark_step
from frame3d.mill.pages import TubePages
from frame3d.mill.setting_tolerance import ALONE, FREE, NOT_ENOUGH, TOGETHER, UNKNOWN
from frame3d.mill.speeds import NEAR, PROVED, THIN_WALL, Speed
from frame3d.mill.tube_sheet import OFFSET_COLUMN, Cut, Seat, TubeSheet
from frame3d.model import Mill
from frame3d.paper.pdf_page import (
    exact_text,
    feed_text,
    fraction,
    in_units,
    mark_text,
    rule_text,
    size_text,
    turns_text,
)

Step = tuple[str, str, str]


def steps(pages: TubePages, index: int, mill: Mill) -> list[Step]:
    """Label, number in large type, how to do it; in the order in which they are done."""
    sheet, cut = pages.sheet, pages.sheet.cuts[index]
    found = [
        ("Blank", *_blank(sheet, index, mill)),
        (
            "Mark",
            f"{mark_text(mill, cut.mark)} from {_whose(cut)}",
            _line(pages, index, mill),
        ),
        ("Block", *_block(sheet, index, mill)),
        ("Phase", *_phase(sheet, index, mill)),
        ("Tilt", *_tilt(pages, index, mill)),
        (
            "Y",
            f"across {size_text(mill, cut.across)}, back {size_text(mill, cut.half)}",
            f"touch one side, then the other; half of it back{turns_text(mill, cut.half)}; edge "
            f"finder's tip {_tip(sheet, mill)}"
            + _care(
                pages.care[index].care_centring,
                size_text(mill, pages.care[index].centring_within or 0.0, 2),
            ),
        ),
        (
            "X" if not cut.offset else "X, offset",
            "pointer on the mark"
            + (f", {size_text(mill, abs(cut.x_move))} {_way(cut)}" if cut.x_move else "")
            + (f", then {size_text(mill, cut.offset)} {_to(cut)}" if cut.offset else ""),
            _pointer(cut, mill),
        ),
        ("Z", *_depth(cut, mill)),
        ("Speed", *_speed(pages, index, mill)),
    ]
    if index == len(sheet.cuts) - 1:
        found.append(("Measure", *_measure(pages, mill)))
    return [(f"{k} {label}", value, note) for k, (label, value, note) in enumerate(found, start=1)]


def _whose(told: Cut | Seat) -> str:
    """The end of the blank that a length is measured from."""
    return f"the {told.mark_from if isinstance(told, Cut) else told.at_from} end"


def _blank(sheet: TubeSheet, index: int, mill: Mill) -> tuple[str, str]:
    start = size_text(mill, sheet.start_from_sawn, 2)
    where = f"the drawing's start point is {start} from its start end"
    if sheet.start_from_sawn < 0:
        where = f"the drawing's start point is {start[1:]} beyond its start end"
    offs = [
        f"{size_text(mill, off, 1)} off the {end}"
        for end, off in (("start", sheet.saw_off_start), ("end", sheet.saw_off_end))
        if off
    ]
    raw, sawn = size_text(mill, sheet.blank, 1), size_text(mill, sheet.sawn, 2)
    if sheet.bends:
        where += f"; bend from {_bend_places(sheet, mill)}"
    if not offs or index:
        return f"{sawn} long, ends square", where
    return f"saw {' and '.join(offs)}", (
        f"square, before all marks, to its length or to fit into the saw's cup: {raw} raw becomes "
        f"{sawn}; {where}"
    )


def bend_words(sheet: TubeSheet, mill: Mill) -> str:
    """How the blank is bent, and the length that tells whether it was bent so."""
    rows = ", ".join(
        f"from {size_text(mill, bend.at - sheet.saw_off_start, 1)} on {bend.angle:.2f}° at "
        f"{size_text(mill, bend.radius, 1)} radius of the axis with the inside at {bend.plane:g}°"
        for bend in sheet.bends
    )
    chord = size_text(mill, sheet.chord or 0.0, 1)
    return f"bent, from the sawn start end: {rows}; straight from end to end, middles, {chord}"


def _bend_places(sheet: TubeSheet, mill: Mill) -> str:
    return ", ".join(size_text(mill, b.at - sheet.saw_off_start, 1) for b in sheet.bends) + " on"


def _line(pages: TubePages, index: int, mill: Mill) -> str:
    """How a cut's mark is made; before the first cut those of all, while the ends still stand."""
    sheet, cut = pages.sheet, pages.sheet.cuts[index]
    around = f"{size_text(mill, cut.around, 2)} around, clockwise as seen from the start end"
    line = f"on the line at {cut.line_up:g}° from the datum: {around}"
    words = (
        f"scribed before cut 1, {line}" if index else f"scribe it before the blocks go on, {line}"
    )
    if sheet.bends:
        bend = sheet.bends[0 if cut.end == "start" else -1]
        words += f"; the inside of the bend is at {bend.plane:g}°"
    if index == 0:
        now = [
            f"cut {other.number}'s at {mark_text(mill, other.mark)} on {other.line_up:g}°"
            for other in sheet.cuts[1:]
        ]
        now += ["its holes"] if pages.drilling.holes else []
        words += f"; mark now too: {', '.join(now)}" if now else ""
    return words


def _block(sheet: TubeSheet, index: int, mill: Mill) -> tuple[str, str]:
    """Where the block stands; before the first cut the other block too."""
    cut = sheet.cuts[index]
    block = sheet.block(cut.end)
    if block is None:
        return "none fits: see below", "hold the tube as told at the foot of this page"
    bore = exact_text(mill, block.bore, 2)
    if block.bore_across != block.bore:
        bore = f"{size_text(mill, block.bore, 2)} x {size_text(mill, block.bore_across, 2)}"
    part = in_units(mill, block.part)
    words = f"bore {bore}; the face nearer the cut, clear of saw and arbor"
    if part:
        words += f"; on the {part}"
    if index:
        words += "; where it was scribed before cut 1"
    elif others := [b for b in sheet.blocks if b is not block]:
        places = [f"{_face(sheet, b.end, mill)} from {_whose(b)}" for b in others]
        words += f"; scribe the place of the {others[0].end}'s block now too: {places[0]}"
    return f"face at {_face(sheet, cut.end, mill)} from {_whose(block)}", words


def _face(sheet: TubeSheet, end: str, mill: Mill) -> str:
    """Where the face of its block that is nearer a cut stands."""
    at = sheet.block_face(end)
    whole = at / mark_step(mill)
    return mark_text(mill, at) if abs(whole - round(whole)) < 1e-3 else rule_text(mill, at)


def _phase(sheet: TubeSheet, index: int, mill: Mill) -> tuple[str, str]:
    cut = sheet.cuts[index]
    block = sheet.block(cut.end)
    if block is None:
        return f"line at {cut.line_up:g}° up", "by the marked line, with a square from the table"
    if block.bore_across != block.bore:
        way = f"od {cut.bore_turn:.4f}° clockwise from face 1, as seen from the start end"
        return (
            f"face {cut.face_up} up, bore turned {cut.bore_turn:.2f}°",
            f"a pair made for this cut: its bore's {size_text(mill, block.bore, 2)} {way}; the "
            f"line at {cut.line_up:g}° faces up",
        )
    turned = f", block turned {_gauge(cut.block_turn, mill, sign=True)}" if cut.block_turn else ""
    value = f"face {cut.face_up} up{turned}"
    exact = f" (exact {cut.block_turn:+.4f}°, clockwise from the start end is +)"
    if sheet.bends:
        flat = "the tube flat" if sheet.lies_flat else "the straights beside its bend level"
        note = (
            f"on a plate: this end to your right, {flat}, turning away from you beyond the "
            f"bend, its axis {size_text(mill, block.width / 2, 1)} up; block flat with face 1 up"
        )
        if not sheet.lies_flat:
            note += "; it bends out of that plane farther on: let the rest hang off the plate"
        return value, note + (f", then turn it{exact}" if turned else "") + "; tighten"
    if block.end == "both":
        return value if not turned else f"face {cut.face_up} up, by the line", (
            f"one block for both ends: turn it on the tube until the line at {cut.line_up:g}° is "
            f"under the middle of face {cut.face_up}, then tighten"
        )
    if index == 0:
        both = "both blocks" if len(sheet.blocks) > 1 else "the block"
        return value + ", in phase", (
            f"tighten {both} standing on one flat plate, the line at {cut.line_up:g}° up; faces "
            "count clockwise as seen from the start end"
        )
    if len(sheet.blocks) < 2 and turned:
        return f"face {cut.face_up} up, by the line", (
            f"turn the block on the tube until the line at {cut.line_up:g}° is under the middle of "
            f"face {cut.face_up}{exact}"
        )
    if turned:
        return value, (
            "loosen this block, the other flat on the plate, face 1 up; turn this one by the gauge "
            f"across its face{exact}; tighten"
        )
    if any(other.block_turn for other in sheet.cuts[:index] if other.end == cut.end):
        return value, "loosen this block, stand it flat beside the other again, face 1 up; tighten"
    quarters = (cut.face_up - 1) * 90
    return value + ", in phase", (
        f"leave both blocks as they are; {quarters}° from face 1, the line at {cut.line_up:g}° up"
    )


def _tilt(pages: TubePages, index: int, mill: Mill) -> tuple[str, str]:
    cut = pages.sheet.cuts[index]
    value = f"{_gauge(cut.gauge, mill)} on the gauge, {cut.high}" if cut.tilt else "level"
    far = []
    if abs(cut.drop) >= 1.0:
        lower = "lower" if cut.drop > 0 else "higher"
        far.append(f"{size_text(mill, abs(cut.drop), 0)} {lower}")
    if abs(cut.aside) >= 1.0:
        aside = "towards the column" if cut.aside > 0 else "towards you"
        far.append(f"{size_text(mill, abs(cut.aside), 0)} {aside}")
    far_end = f"; the far end {', '.join(far)}" if far else ""
    if cut.over_table is not None and cut.over_table >= 0.0 and cut.drop >= 1.0:
        far_end += f", {size_text(mill, cut.over_table, 0)} over the table"
    care = pages.care[index]
    within = _care(care.care_tilt, f"{care.tilt_within or 0.0:.2f}°")
    return value, f"exact {cut.tilt:.4f}°; the end under the saw to your right{far_end}{within}"


def _care(kind: str, within: str) -> str:
    """What a care is worth, as the end of a note; nothing where it is not known."""
    return {
        ALONE: f"; ±{within}: 19 of 20 close",
        TOGETHER: f"; ±{within}, with tilt and Y both as told: 19 of 20 close",
        FREE: "; an error here hardly opens this joint",
        NOT_ENOUGH: "; care here alone will not make 19 of 20 joints close: see frame3d errors",
        UNKNOWN: "",
    }[kind]


def _gauge(reading: float, mill: Mill, *, sign: bool = False) -> str:
    """As the gauge shows it: to the nearest of its steps."""
    step = mill.gauge_step
    digits = max(0, math.ceil(-math.log10(step) - 1e-9)) if step < 1 else 0
    shown = round(reading / step) * step
    return f"{shown:+.{digits}f}°" if sign else f"{shown:.{digits}f}°"


def _tip(sheet: TubeSheet, mill: Mill) -> str:
    words = fraction(sheet.edge_tip)
    return size_text(mill, sheet.edge_tip) + (f" ({words} in)" if words else "")


def _to(cut: Cut) -> str:
    return "to the column" if cut.offset_to == OFFSET_COLUMN else "to you"


def _pointer(cut: Cut, mill: Mill) -> str:
    """How the spindle gets from the mark to its place."""
    turns = [
        f"{way}{words}"
        for way, move in ((_way(cut), cut.x_move), ("across", cut.offset))
        if (words := turns_text(mill, move))
    ]
    axes = "the offset is across, the axes do not cross" if cut.offset else "the axes cross"
    return "; ".join([*turns, axes, "the seat of the joint is allowed for"])


def _way(cut: Cut) -> str:
    return "right" if cut.x_move > 0 else "left"


def _depth(cut: Cut, mill: Mill) -> tuple[str, str]:
    value = f"touch off, run {size_text(mill, cut.run)}"
    if cut.clear:
        value += f", in steps of {size_text(mill, cut.clear, 0)}"
    note = f"{_touch(cut, mill)}; set the stop so far below{turns_text(mill, cut.run)}; the saw "
    note += f"must cut {size_text(mill, cut.cup, 1)} deep inside"
    if cut.under_spindle is not None:
        note += f"; {size_text(mill, cut.under_spindle, 0)} free under it, table lowest"
    if cut.clear:
        note += "; after each step stop, raise the saw and snip off the waste inside it"
    return value, note


def _touch(cut: Cut, mill: Mill) -> str:
    """Where the teeth first touch, and what to do where they touch elsewhere."""
    places = [
        f"{size_text(mill, abs(by), 0)} {way}"
        for by, way in (
            (cut.touch_right, "right" if cut.touch_right > 0 else "left"),
            (cut.touch_away, "to the far side" if cut.touch_away > 0 else "to the near side"),
        )
        if abs(by) >= 0.5
    ]
    teeth = f"teeth {size_text(mill, cut.tooth, 2)} thick"
    if cut.tooth_least < cut.tooth:
        least = size_text(mill, cut.tooth_least, 2)
        teeth = f"teeth, taken as {least} to {size_text(mill, cut.tooth, 2)} thick,"
    words = f"{teeth} first touch {cut.touch_on}, {' and '.join(places)} of the spindle"
    if cut.touch_on == TOUCH_SIDE:
        return f"{words}: where the blank's tip is touched before, its length is not as told"
    return f"{words}: touch off there"


def _speed(pages: TubePages, index: int, mill: Mill) -> tuple[str, str]:
    first, *others = pages.speeds[index]
    value = f"{first.step:g} rpm, {feed_text(mill, first.rate)} a minute, {first.minutes:.1f} min"
    note = f"{feed_text(mill, first.feed)} a revolution"
    if first.chip is not None:
        note += f", {feed_text(mill, first.chip)} a tooth"
    note += f"; cutting fluid; start with this: {_speed_words(first)}"
    for pace in others:
        note += f"; {_speed_words(pace)}"
        if pace.kind == THIN_WALL:
            note += f": {pace.step / first.step:.1f} times this, in a rigid set-up only"
    return value, note


def _speed_words(pace: Speed) -> str:
    """Which of the machine's speeds is taken for the wanted one."""
    if pace.kind == PROVED:
        return PROVED
    which = "lowest step" if pace.step > pace.wanted * NEAR else "next lower step"
    if abs(pace.step - pace.wanted) <= (NEAR - 1.0) * pace.wanted:
        which = "step"
    return f"{pace.kind} {pace.wanted:.0f} rpm, {which} {pace.step:g}"


def _measure(pages: TubePages, mill: Mill) -> tuple[str, str]:
    m = pages.measures
    note = (
        f"tip to tip {size_text(mill, m.tips, 1)}, throat to throat {size_text(mill, m.throats, 1)}"
    )
    if m.arms:
        note += "; from the bend " + ", ".join(
            f"{arm.end}: tip {size_text(mill, arm.tip, 1)}, throat {size_text(mill, arm.throat, 1)}"
            for arm in m.arms
        )
    note += f"; each ± {size_text(mill, m.tolerance, 1)}"
    if m.by_hand:
        note = f"when the {' and the '.join(m.by_hand)} is shaped by hand too: {note}"
    if pages.apart is not None:
        onto = {cut.end: cut.onto for cut in pages.sheet.cuts}
        note += (
            f"; a bar in the start's cope for {onto['start']} and one in the end's for "
            f"{onto['end']} stand {pages.apart:.2f}° apart about the tube"
        )
    return f"datum {size_text(mill, m.datum, 1)}, opposite {size_text(mill, m.opposite, 1)}", note
