"""A drawing of the frame from the side: exact outlines of the tubes, dimensions, as polygons."""

from collections.abc import Sequence
from dataclasses import dataclass
from html import escape

import numpy as np
from numpy.typing import NDArray

from frame3d.solids.frame_solids import Finished
from frame3d.view.label_layout import lay_out
from frame3d.view.lettering import text_size
from frame3d.view.scene import Dimension, Scene

Array = NDArray[np.float64]

LEAST_SHOWN = 0.5
LETTERS = 46  # letters are this part of an SVG drawing's width


@dataclass(frozen=True, eq=False)
class Outline:
    """A tube's or plate's silhouette: closed polygons (N, 2), mm, x forward and y up; holes run the
    other way round. far: mm to the left of the bicycle's middle."""

    name: str
    colour: str
    far: float
    polygons: tuple[Array, ...]


@dataclass(frozen=True)
class Measure:
    """A dimension line in the drawing, mm, with its feet at the points that it measures."""

    text: str
    feet: tuple[tuple[float, float], tuple[float, float]]
    line: tuple[tuple[float, float], tuple[float, float]]

    @property
    def middle(self) -> Array:
        return np.asarray(np.mean(self.line, axis=0))


@dataclass(frozen=True, eq=False)
class Drawing:
    """outlines: farthest first. circles: (x, y, radius) of wheels. box: (2, 2) of all."""

    outlines: tuple[Outline, ...]
    circles: tuple[tuple[float, float, float], ...]
    measures: tuple[Measure, ...]
    box: Array

    def texts(self, letters: float) -> tuple[Array, Array]:
        """Middles and sizes (N, 2) of the measures' texts, mm, with letters so high, mm; nan where
        there is no room for one."""
        sizes = np.array([text_size(m.text, letters) for m in self.measures]).reshape(-1, 2)
        anchors = np.array([m.middle for m in self.measures]).reshape(-1, 2)
        room = self.box + np.array([[-2.0], [2.0]]) * letters
        return lay_out(anchors, sizes, room), sizes


def outline_of(finished: Finished, colour: str) -> Outline:
    """A finished tube or plate as it is seen from the drive side."""
    turned = finished.solid.rotate((-90.0, 0.0, 0.0))  # z to y, -y to z
    found = turned.project().simplify(0.02).to_polygons()
    _, low, _, _, high, _ = finished.solid.bounding_box()
    polygons = tuple(np.asarray(p)[:, :2] for p in found)
    return Outline(finished.name, colour, (low + high) / 2, polygons)


def side_drawing(
    scene: Scene,
    outlines: Sequence[Outline],
    circles: tuple[tuple[float, float, float], ...] = (),
) -> Drawing:
    """From the drive side (the bicycle's right), heading right."""
    outlines = sorted(outlines, key=lambda outline: -outline.far)
    # What runs towards the eye cannot be measured in the drawing; left and right are told once.
    seen = [_measure(d) for d in scene.dimensions if _foreshortened(d) > LEAST_SHOWN]
    measures = tuple({(m.text, m.line): m for m in seen}.values())
    corners = [p for outline in outlines for p in outline.polygons]
    corners += [np.array(m.line) for m in measures]
    corners += [np.array([[x - r, y - r], [x + r, y + r]]) for x, y, r in circles]
    points = np.concatenate(corners)
    return Drawing(
        tuple(outlines), circles, measures, np.stack([points.min(axis=0), points.max(axis=0)])
    )


def _foreshortened(dimension: Dimension) -> float:
    """Length in the drawing over true length."""
    span = np.subtract(dimension.b, dimension.a)
    return float(np.hypot(span[0], span[2]) / np.linalg.norm(span))


def _measure(dimension: Dimension) -> Measure:
    a, b, aside = (np.array([v[0], v[2]]) for v in (dimension.a, dimension.b, dimension.aside))

    def pair(p: Array, q: Array) -> tuple[tuple[float, float], tuple[float, float]]:
        ends = np.round([p, q], 3).tolist()
        return (ends[0][0], ends[0][1]), (ends[1][0], ends[1][1])

    return Measure(dimension.text, pair(a, b), pair(a + aside, b + aside))


def as_svg(drawing: Drawing, title: str) -> str:
    """An inline SVG that scales to its place; y points down in it."""
    low, high = drawing.box
    pad = 0.04 * float((high - low).max())
    wide, tall = high - low + 2 * pad
    size = wide / LETTERS
    parts = [
        f'<svg class="drawing" viewBox="{low[0] - pad:.1f} {-high[1] - pad:.1f} {wide:.1f} '
        f'{tall:.1f}" role="img" aria-label="{escape(title)}" xmlns="http://www.w3.org/2000/svg">'
    ]
    for x, y, radius in drawing.circles:
        parts.append(
            f'<circle cx="{x:.1f}" cy="{-y:.1f}" r="{radius:.1f}" fill="none" stroke="#8a939b" '
            f'stroke-width="{wide / 500:.2f}"/>'
        )
    for outline in drawing.outlines:
        path = "".join(_path(polygon) for polygon in outline.polygons)
        parts.append(
            f'<path d="{path}" fill="{outline.colour}" stroke="#1b2530" '
            f'stroke-width="{wide / 1200:.2f}"><title>{escape(outline.name)}</title></path>'
        )
    for measure in drawing.measures:
        (ax, ay), (bx, by) = measure.line
        for (fx, fy), (lx, ly) in zip(measure.feet, measure.line, strict=True):
            parts.append(_line(fx, fy, lx, ly, wide / 2000))
        parts.append(_line(ax, ay, bx, by, wide / 1000))
    middles, sizes = drawing.texts(size)
    for measure, (x, y), (w, h) in zip(drawing.measures, middles, sizes, strict=True):
        if np.isfinite(x):
            parts.append(
                f'<rect x="{x - w / 2:.1f}" y="{-y - h / 2:.1f}" width="{w:.1f}" '
                f'height="{h:.1f}" fill="#fff" opacity="0.85"/>'
                f'<text x="{x:.1f}" y="{-y + size / 3:.1f}" font-size="{size:.1f}" '
                f'text-anchor="middle">{escape(measure.text)}</text>'
            )
    return "".join([*parts, "</svg>"])


def _path(polygon: Array) -> str:
    return "M" + "L".join(f"{x:.2f} {-y:.2f}" for x, y in polygon) + "Z"


def _line(ax: float, ay: float, bx: float, by: float, width: float) -> str:
    return (
        f'<line x1="{ax:.1f}" y1="{-ay:.1f}" x2="{bx:.1f}" y2="{-by:.1f}" stroke="#1b2530" '
        f'stroke-width="{width:.2f}"/>'
    )
