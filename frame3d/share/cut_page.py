"""The page of one cut: a drawing to scale, and the numbers in the order of the machine."""

import math
from collections.abc import Callable

from frame3d.model import Mill
from frame3d.share.paper import (
    FAINT,
    MARGIN,
    MM,
    SOFT,
    Page,
    exact_text,
    feed_text,
    size_text,
    turns_text,
)
from frame3d.shop.pages import TubePages
from frame3d.shop.sheets import OFFSET_COLUMN, Cut, Seat

Spot = tuple[float, float]
Box = tuple[float, float, float, float]

SCALES = (1.0, 2 / 3, 0.5, 0.4, 0.25, 0.2, 0.1, 0.05, 0.02)
STEEL, WOOD, SAW = (0.78, 0.81, 0.84), (0.9, 0.85, 0.74), (0.86, 0.55, 0.42)
VIEW = 0.27  # height of the drawings, of the page's


def cut_page(page: Page, pages: TubePages, index: int, mill: Mill) -> None:
    """Draw and write the cut number `index` of a tube."""
    sheet, cut = pages.sheet, pages.sheet.cuts[index]
    top = page.height - MARGIN
    page.text(MARGIN, top - 18, f"{sheet.tube}: {cut.end}", 22, bold=True, room=330)
    order = f"cut {cut.number} of {len(sheet.cuts)}"
    page.text(page.right, top - 18, order, 18, bold=True, align="right")
    page.text(MARGIN, top - 36, f"for {cut.onto}", 13, colour=SOFT, room=330)
    page.text(
        page.right, top - 36, f"saw {exact_text(mill, cut.saw, 1)}", 13, colour=SOFT, align="right"
    )
    view = VIEW * page.height
    floor = top - 50 - view
    middle = MARGIN + (page.right - MARGIN) * 0.64
    _side_view(page, pages, cut, mill, (MARGIN, floor, middle - 8, floor + view))
    _end_view(page, pages, cut, (middle, floor, page.right, floor + view))
    y, column = floor - 26, MARGIN + 92
    steps = _steps(pages, index, mill)
    pitch = (y - MARGIN - 14) / 9  # nine steps at most, so that a step stands where it always does
    for label, value, note in steps:
        page.text(MARGIN, y, label, 12, bold=True, colour=SOFT, room=86)
        page.text(column, y, value, 16.5, bold=True, room=page.right - column)
        page.wrapped(column, y - 13.5, note, 9.2, page.right - column)
        y -= pitch
    caution = "Eye protection; blocks and vise tight; hands off until the spindle stands still."
    page.text(MARGIN, MARGIN - 3, caution, 9, colour=SOFT, room=page.right - MARGIN)


def _steps(pages: TubePages, index: int, mill: Mill) -> list[tuple[str, str, str]]:
    """Label, number in large type, how to do it."""
    sheet, cut = pages.sheet, pages.sheet.cuts[index]
    block = sheet.block(cut.end)
    steps = [
        (
            "1 Mark",
            f"{size_text(mill, cut.mark)} from the start end",
            f"of the raw blank, on the line at {cut.line_up:g}° "
            f"({size_text(mill, cut.around, 1)} around from the datum)",
        ),
        ("2 Block", *_block_step(cut, block, mill)),
        (
            "3 Phase",
            f"face {cut.face_up} up"
            + (f", block turned {cut.block_turn:+.4f}°" if cut.block_turn else ", in phase"),
            _phase_note(pages, index),
        ),
        (
            "4 Tilt",
            f"{_gauge(cut.gauge, mill)} on the gauge, {cut.high}" if cut.tilt else "level",
            f"exact {cut.tilt:.4f}°; the end under the saw to your right"
            f"{_far_end(cut, mill)}{_within(pages.care[index].tilt_within, '°')}",
        ),
        (
            "5 Y",
            f"across {size_text(mill, cut.across)}, back {size_text(mill, cut.half)}",
            f"from touch to touch, then half of it back{turns_text(mill, cut.half)}"
            + _within(pages.care[index].centring_within, " mm"),
        ),
        (
            "6 X" if not cut.offset else "6 X, offset",
            "pointer on the mark"
            + (f", {size_text(mill, abs(cut.x_move))} {_way(cut)}" if cut.x_move else "")
            + (f", then {size_text(mill, cut.offset)} {_to(cut)}" if cut.offset else ""),
            _pointer_note(cut, mill),
        ),
        (
            "7 Z",
            f"touch off, run {size_text(mill, cut.run)}",
            f"set the stop there{turns_text(mill, cut.run)}; the saw must cut "
            f"{size_text(mill, cut.cup, 1)} deep inside"
            + (
                f"; saw {size_text(mill, cut.saw_off, 1)} of waste off the {cut.end} first"
                if cut.saw_off
                else ""
            ),
        ),
        ("8 Speed", *_speed_step(pages, index, mill)),
    ]
    if index == len(sheet.cuts) - 1:
        m = pages.measures
        tolerance = size_text(mill, m.tolerance, 1)
        steps.append(
            (
                "9 Measure",
                f"datum {size_text(mill, m.datum, 1)}, opposite {size_text(mill, m.opposite, 1)}",
                f"tip to tip {size_text(mill, m.tips, 1)}, throat to throat "
                f"{size_text(mill, m.throats, 1)}, each ± {tolerance}; {_phase_check(pages)}",
            )
        )
    return steps


def _within(care: float | None, unit: str) -> str:
    return "" if care is None else f"; ±{care:.2f}{unit}: 19 of 20 close"


def _gauge(reading: float, mill: Mill) -> str:
    step = mill.gauge_step
    digits = max(0, math.ceil(-math.log10(step) - 1e-9)) if step < 1 else 0
    return f"{reading:.{digits}f}°"


def _far_end(cut: Cut, mill: Mill) -> str:
    if abs(cut.drop) < 1.0:
        return ""
    return (
        f", the far end {size_text(mill, abs(cut.drop), 0)} {'low' if cut.drop > 0 else 'high'}er"
    )


def _block_step(cut: Cut, block: Seat | None, mill: Mill) -> tuple[str, str]:
    if block is None:
        return "no block fits here: see the notes", ""
    return (
        f"face at {size_text(mill, block.at, 1)} from the start end",
        f"bore {exact_text(mill, block.bore, 2)}; the face nearer the cut, clear of the saw",
    )


def _phase_note(pages: TubePages, index: int) -> str:
    cut = pages.sheet.cuts[index]
    if index == 0:
        return (
            f"tighten both blocks on one flat plate, the line at {cut.line_up:g}° up; faces count "
            "clockwise"
        )
    if cut.block_turn:
        way = "clockwise" if cut.block_turn > 0 else "anticlockwise"
        return f"loosen this block; the other flat, face 1 up; turn this one {way} to the reading"
    quarters = (cut.face_up - 1) * 90
    return f"leave both blocks as they are; {quarters}° from face 1, line {cut.line_up:g}° up"


def _to(cut: Cut) -> str:
    return "to the column" if cut.offset_to == OFFSET_COLUMN else "to you"


def _pointer_note(cut: Cut, mill: Mill) -> str:
    """How the spindle gets from the mark to its place."""
    turns = [
        f"{way}{turns_text(mill, move)}"
        for way, move in ((_way(cut), cut.x_move), ("across", cut.offset))
        if move and mill.travel_per_turn
    ]
    axes = "the offset is across, the axes do not cross" if cut.offset else "the axes cross"
    return "; ".join([*turns, axes, "the seat of the joint is allowed for"])


def _way(cut: Cut) -> str:
    return "right" if cut.x_move > 0 else "left"


def _speed_step(pages: TubePages, index: int, mill: Mill) -> tuple[str, str]:
    pace = pages.speeds[index]
    best = pace[-1]
    value = f"{best.step:g} rpm, {feed_text(mill, best.rate)} a minute, {best.minutes:.1f} min"
    note = f"{feed_text(mill, best.feed)} a revolution; " + "; ".join(
        f"{p.kind} {p.wanted:.0f}, step {p.step:g}" for p in pace
    )
    return value, note


def _phase_check(pages: TubePages) -> str:
    if pages.apart is None:
        return "deburr"
    return f"bars laid in both copes stand {pages.apart:.2f}° apart about the tube"


def _side_view(page: Page, pages: TubePages, cut: Cut, mill: Mill, box: Box) -> None:
    """The tube in the vise from the front, x right, z up; origin on the axis at the mark."""
    sheet = pages.sheet
    sign = 1.0 if cut.end == "end" else -1.0
    rise = math.radians(cut.tilt) * (1.0 if cut.high == "cut end high" else -1.0)
    radius = sheet.od[0][1] / 2
    block = sheet.block(cut.end)
    square = sheet.blank if cut.end == "end" else 0.0
    out_end = sign * (square - cut.mark) - cut.saw_off
    near = sign * (block.at - cut.mark) if block else out_end - 60.0
    back = near - (block.length if block else 40.0) - 20.0

    def place(a: float, h: float) -> tuple[float, float]:
        return (
            a * math.cos(rise) - h * math.sin(rise),
            a * math.sin(rise) + h * math.cos(rise),
        )

    outline = [place(a, h) for a, h in _corners(back, out_end, radius)]
    shapes = [(outline, STEEL)]
    if block:
        corners = _corners(near - block.length, near, block.width / 2)
        shapes.insert(0, ([place(a, h) for a, h in corners], WOOD))
    pointer = place(0.0, radius)
    spindle = pointer[0] + cut.x_move
    reached = (spindle - cut.saw / 2, min(spindle + cut.saw / 2, outline[1][0]))
    under = [(x - radius * math.sin(rise)) / math.cos(rise) for x in reached]
    low = min(place(a, -radius)[1] for a in under) - mill.overtravel
    saw = [(spindle + x, low + z) for x, z in _saw_corners(cut.saw / 2, cut.cup + 8.0)]
    axis = [(spindle, low - 4), (spindle, low + cut.cup + 20)]
    every = [p for points, _ in shapes for p in points] + saw + axis
    transform, scale = fitting(every, box)
    for points, fill in shapes:
        page.line([transform(p) for p in points], fill=fill, closed=True)
    page.line([transform(p) for p in saw], fill=SAW, alpha=0.45, closed=True)
    page.line([transform(p) for p in axis], dash=(8, 2, 2, 2), width=0.6)
    page.line(
        [transform(place(back, 0)), transform(place(out_end, 0))], dash=(8, 2, 2, 2), width=0.6
    )
    level = transform(place(back, 0))
    page.line([level, (level[0] + 70, level[1])], width=0.6, dash=(3, 2))
    x, y = transform(pointer)
    page.line([(x, y), (x - 3, y + 9), (x + 3, y + 9)], closed=True, fill=(0.1, 0.3, 0.7))
    left, floor = box[0], box[1]
    page.line(_box(box), width=0.4, colour=FAINT, closed=True)
    words = f"from the front, {scale_words(scale)}: tube grey, block buff, saw red, mark ▼"
    page.text(left + 4, floor + 4, words, 8, colour=SOFT, room=box[2] - left - 8)


def _end_view(page: Page, pages: TubePages, cut: Cut, box: Box) -> None:
    """Seen from the tube's start end, along it: faces of the block, datum, saw's axis."""
    sheet = pages.sheet
    block = sheet.block(cut.end)
    radius = sheet.od[0][1] / 2
    half = block.width / 2 if block else 1.6 * radius
    reach = max(half, cut.saw / 2 + cut.offset) + 6
    corners = [(-reach, -reach), (reach, reach)]
    transform, scale = fitting(corners, box)
    page.line([transform(p) for p in _square(half)], fill=WOOD, closed=True)
    x, y = transform((0, 0))
    page.canvas.setFillColorRGB(1, 1, 1)
    page.canvas.circle(x, y, radius * scale * MM, stroke=0, fill=1)
    page.circle(x, y, radius * scale * MM, 1.2)
    page.circle(x, y, (radius - sheet.wall[0][1]) * scale * MM, 0.6)
    # Clockwise from the datum to the line that is up: the datum stands as much anticlockwise.
    turn = -math.radians(cut.line_up)
    dx, dy = transform((radius * math.sin(turn), radius * math.cos(turn)))
    page.canvas.setFillColorRGB(0.1, 0.3, 0.7)
    page.canvas.circle(dx, dy, 3.2, stroke=0, fill=1)
    column = -1.0 if cut.end == "end" else 1.0
    side = {"towards the column": column, "towards you": -column}.get(cut.offset_to, 0.0)
    at = side * cut.offset
    for offset, dash in ((0.0, (8, 2, 2, 2)), (-cut.saw / 2, (3, 2)), (cut.saw / 2, (3, 2))):
        page.line(
            [transform((at + offset, -reach)), transform((at + offset, reach))],
            dash=dash,
            width=0.6,
            colour=(0.7, 0.25, 0.1),
        )
    for face in (1, 2, 3, 4):
        turn = math.radians(90.0 * (face - cut.face_up))
        far = half - 5.5 / (scale * MM)
        fx, fy = transform((far * math.sin(turn), far * math.cos(turn)))
        page.canvas.setFillColorRGB(1, 1, 1)
        page.canvas.circle(fx, fy, 6, stroke=0, fill=1)
        page.text(fx, fy - 3, str(face), 9, bold=face == cut.face_up, align="centre")
    page.line(_box(box), width=0.4, colour=FAINT, closed=True)
    left, floor = box[0], box[1]
    where = "left" if column < 0 else "right"
    words = f"from the start end, {scale_words(scale)}: datum ●, column {where}"
    page.text(left + 4, floor + 4, words, 8, colour=SOFT, room=box[2] - left - 8)


def _corners(low: float, high: float, half: float) -> list[tuple[float, float]]:
    return [(low, half), (high, half), (high, -half), (low, -half)]


def _saw_corners(radius: float, height: float) -> list[tuple[float, float]]:
    return [(-radius, 0), (radius, 0), (radius, height), (-radius, height)]


def _square(half: float) -> list[tuple[float, float]]:
    return [(-half, -half), (half, -half), (half, half), (-half, half)]


def _box(box: Box) -> list[tuple[float, float]]:
    x0, y0, x1, y1 = box
    return [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]


def fitting(points: list[Spot], box: Box) -> tuple[Callable[[Spot], Spot], float]:
    """A placing of mm into a box of points at the largest usual scale that fits, and that scale."""
    x0, y0, x1, y1 = box[0] + 6, box[1] + 18, box[2] - 6, box[3] - 6
    low = [min(p[i] for p in points) for i in (0, 1)]
    high = [max(p[i] for p in points) for i in (0, 1)]
    fits = [
        s
        for s in SCALES
        if (high[0] - low[0]) * s * MM <= x1 - x0 and (high[1] - low[1]) * s * MM <= y1 - y0
    ]
    scale = fits[0] if fits else SCALES[-1]
    centre = [(a + b) / 2 for a, b in zip(low, high, strict=True)]

    def transform(point: tuple[float, float]) -> tuple[float, float]:
        return (
            (x0 + x1) / 2 + (point[0] - centre[0]) * scale * MM,
            (y0 + y1) / 2 + (point[1] - centre[1]) * scale * MM,
        )

    return transform, scale


def scale_words(scale: float) -> str:
    return f"scale 1:{1 / scale:.4g}"
