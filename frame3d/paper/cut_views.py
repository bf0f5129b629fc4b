"""The drawings of a cut, to scale: the tube in the vise from the front, and along the tube."""

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from frame3d.mill.printed_numbers import as_json
from frame3d.mill.tube_sheet import OFFSET_COLUMN, OFFSET_OPERATOR, Cut, TubeSheet
from frame3d.mill.virtual_mill import MillError, Workpiece, mill
from frame3d.model import Mill
from frame3d.paper.pdf_page import FAINT, MM, SOFT, Page

Spot = tuple[float, float]
Box = tuple[float, float, float, float]

SCALES = (1.0, 2 / 3, 0.5, 0.4, 0.25, 0.2, 0.1, 0.05, 0.02)
STEEL, WOOD, SAW = (0.78, 0.81, 0.84), (0.9, 0.85, 0.74), (0.86, 0.55, 0.42)
BLUE, RED = (0.1, 0.3, 0.7), (0.7, 0.25, 0.1)
LINES = 40  # steps over half a tube


@dataclass(frozen=True, eq=False)
class View:
    """A cut about to be made on the tube as the cuts before it left it, by the printed numbers."""

    sheet: TubeSheet
    cut: Cut
    work: Workpiece

    @staticmethod
    def of(sheet: TubeSheet, index: int) -> "View":
        plain = as_json(sheet)
        try:
            work = mill(plain, index)
        except MillError:  # told on the page; drawn as if uncut
            work = mill(plain, 0)
        return View(sheet, sheet.cuts[index], work)

    @property
    def sign(self) -> float:
        return 1.0 if self.cut.end == "end" else -1.0

    @property
    def mark(self) -> float:
        """From the raw blank's start end, mm."""
        at = self.sheet.from_start(self.cut.mark, self.cut.mark_from)
        return self.sheet.saw_off_start + at

    def out(self, station: float) -> float:
        """Outward of the mark, of a place from the raw blank's start end, mm."""
        return self.sign * (station - self.mark)

    def station(self, out: float) -> float:
        return self.mark + self.sign * out

    def half(self, out: float) -> float:
        """How high the tube stands over its axis, mm outward of the mark."""
        up = math.radians(self.cut.line_up)
        way = np.array([math.cos(up), math.sin(up)])
        return self.work.fresh.half_width(self.station(out), way)

    def edge(self, side: float) -> list[Spot]:
        """The end's edge from top to bottom, (outward, height) mm; side 1 towards you, -1 away."""
        turn = np.linspace(0.0, np.pi, LINES + 1)
        theta = np.radians(self.cut.line_up) + side * self.sign * turn
        way = np.stack([np.cos(theta), np.sin(theta)], axis=1)
        fresh = self.work.fresh
        radius = np.array([fresh.radius(self.mark, w) for w in way])
        stops = self.work.stops(self.cut.end, *(radius[:, None] * way).T)
        outs = [self.out(float(s)) for s in stops]
        scale = self.half(0.0)
        high = radius * np.cos(turn) / scale
        return [(out, float(h) * self.half(out)) for out, h in zip(outs, high, strict=True)]


def side_view(page: Page, view: View, machine: Mill, box: Box) -> None:
    """The tube in the vise from the front, x right, z up; origin on the axis at the mark."""
    sheet, cut = view.sheet, view.cut
    rise = math.radians(cut.tilt) * (1.0 if cut.high == "cut end high" else -1.0)
    block = sheet.block(cut.end)
    edge = view.edge(1.0)
    far = view.edge(-1.0)
    out_end = max(out for out, _ in (*edge, *far))
    if block:
        at, inner = (
            sheet.saw_off_start + sheet.from_start(face, block.at_from)
            for face in (block.at, block.to)
        )
        near, deep = max(view.out(at), view.out(inner)), min(view.out(at), view.out(inner))
    else:
        near, deep = out_end - 60.0, out_end - 100.0
    back = deep - 20.0

    def place(a: float, h: float) -> Spot:
        return (
            a * math.cos(rise) - h * math.sin(rise),
            a * math.sin(rise) + h * math.cos(rise),
        )

    outs = np.linspace(back, edge[0][0], 30)
    lows = np.linspace(edge[-1][0], back, 30)
    outline = [place(float(a), view.half(float(a))) for a in outs]
    outline += [place(*max(p, q)) for p, q in zip(edge, far, strict=True)]
    outline += [place(float(a), -view.half(float(a))) for a in lows]
    shapes = [(outline, STEEL)]
    if block:
        half = block.width / 2
        corners = [(deep, half), (near, half), (near, -half), (deep, -half)]
        shapes.insert(0, ([place(a, h) for a, h in corners], WOOD))
    pointer = place(0.0, view.half(0.0))
    spindle = pointer[0] + cut.x_move
    right = max(x for x, _ in outline)
    reached = (spindle - cut.saw / 2, min(spindle + cut.saw / 2, right))
    under = [(x - view.half(0.0) * math.sin(rise)) / math.cos(rise) for x in reached]
    low = min(place(a, -view.half(a))[1] for a in under) - machine.overtravel
    saw = [(spindle + x, low + z) for x, z in _saw_corners(cut.saw / 2, cut.cup + 8.0)]
    axis = [(spindle, low - 4), (spindle, low + cut.cup + 20)]
    every = [p for points, _ in shapes for p in points] + saw + axis
    transform, scale = fitting(every, box)
    for points, fill in shapes:
        page.line([transform(p) for p in points], fill=fill, closed=True)
    page.line([transform(place(*p)) for p in edge], width=0.6)
    page.line([transform(p) for p in saw], fill=SAW, alpha=0.45, closed=True)
    page.line([transform(p) for p in axis], dash=(8, 2, 2, 2), width=0.6)
    centre = [transform(place(back, 0)), transform(place(out_end, 0))]
    page.line(centre, dash=(8, 2, 2, 2), width=0.6)
    page.line([centre[0], (centre[0][0] + 70, centre[0][1])], width=0.6, dash=(3, 2))
    x, y = transform(pointer)
    page.line([(x, y), (x - 3, y + 9), (x + 3, y + 9)], closed=True, fill=BLUE)
    words = f"from the front, {scale_words(scale)}: tube grey, block buff, saw red, mark ▼"
    _frame(page, box, words)


def end_view(page: Page, view: View, box: Box) -> None:
    """Seen from the tube's start end, along it: faces of the block, datum, saw's axis."""
    sheet, cut = view.sheet, view.cut
    block = sheet.block(cut.end)
    widest = max(view.half(0.0), view.work.fresh.semi(view.mark)[0].item())
    half = block.width / 2 if block else 1.6 * widest
    reach = max(half, cut.saw / 2 + cut.offset) + 6
    transform, scale = fitting([(-reach, -reach), (reach, reach)], box)
    if block:
        page.line([transform(p) for p in _square(half)], fill=WOOD, closed=True)
    for inward, width in ((0.0, 1.2), (1.0, 0.6)):
        ring = [transform(p) for p in _section(view, inward)]
        page.line(ring, closed=True, width=width, fill=(1.0, 1.0, 1.0))
    datum = _section(view, 0.0, at=(0.0,))[0]
    page.canvas.setFillColorRGB(*BLUE)
    page.canvas.circle(*transform(datum), 3.2, stroke=0, fill=1)
    column = -1.0 if cut.end == "end" else 1.0
    side = {OFFSET_COLUMN: column, OFFSET_OPERATOR: -column}.get(cut.offset_to, 0.0)
    at = side * cut.offset
    for offset, dash in ((0.0, (8, 2, 2, 2)), (-cut.saw / 2, (3, 2)), (cut.saw / 2, (3, 2))):
        line = [transform((at + offset, -reach)), transform((at + offset, reach))]
        page.line(line, dash=dash, width=0.6, colour=RED)
    for face in (1, 2, 3, 4) if block else ():
        turn = math.radians(90.0 * (face - cut.face_up))
        far = half - 5.5 / (scale * MM)
        fx, fy = transform((far * math.sin(turn), far * math.cos(turn)))
        page.canvas.setFillColorRGB(1, 1, 1)
        page.canvas.circle(fx, fy, 5.4, stroke=0, fill=1)
        page.text(fx, fy - 3, str(face), 8.5, bold=face == cut.face_up, align="centre")
    where = "left" if column < 0 else "right"
    words = f"from the start end, {scale_words(scale)}: datum ●, column {where}"
    _frame(page, box, words)


def _section(view: View, inward: float, at: tuple[float, ...] | None = None) -> list[Spot]:
    """The outside, or the bore if inward, at the mark: x right, the line that faces up on top."""
    fresh, up = view.work.fresh, math.radians(view.cut.line_up)
    wall = inward * view.sheet.wall[0][1]
    found = []
    for theta in at if at is not None else np.linspace(0.0, 2 * np.pi, 181)[:-1]:
        way = np.array([math.cos(theta), math.sin(theta)])
        radius = fresh.radius(view.mark, way) - wall
        found.append((radius * math.sin(theta - up), radius * math.cos(theta - up)))
    return found


def _frame(page: Page, box: Box, words: str) -> None:
    x0, y0, x1, y1 = box
    page.line([(x0, y0), (x1, y0), (x1, y1), (x0, y1)], width=0.4, colour=FAINT, closed=True)
    page.text(x0 + 4, y0 + 4, words, 8, colour=SOFT, room=x1 - x0 - 8)


def _saw_corners(radius: float, height: float) -> list[Spot]:
    return [(-radius, 0), (radius, 0), (radius, height), (-radius, height)]


def _square(half: float) -> list[Spot]:
    return [(-half, -half), (half, -half), (half, half), (-half, half)]


def fitting(points: list[Spot], box: Box) -> tuple[Callable[[Spot], Spot], float]:
    """A placing of mm into a box of points at the largest usual scale that fits, and that scale."""
    x0, y0, x1, y1 = box[0] + 6, box[1] + 16, box[2] - 6, box[3] - 6
    low = [min(p[i] for p in points) for i in (0, 1)]
    high = [max(p[i] for p in points) for i in (0, 1)]
    fits = [
        s
        for s in SCALES
        if (high[0] - low[0]) * s * MM <= x1 - x0 and (high[1] - low[1]) * s * MM <= y1 - y0
    ]
    scale = fits[0] if fits else SCALES[-1]
    centre = [(a + b) / 2 for a, b in zip(low, high, strict=True)]

    def transform(point: Spot) -> Spot:
        return (
            (x0 + x1) / 2 + (point[0] - centre[0]) * scale * MM,
            (y0 + y1) / 2 + (point[1] - centre[1]) * scale * MM,
        )

    return transform, scale


def scale_words(scale: float) -> str:
    return f"scale 1:{1 / scale:.4g}"
