"""A drawing of the frame from the side: exact outlines of the tubes, dimensions, as polygons."""

from collections.abc import Sequence
from dataclasses import dataclass
from html import escape

import numpy as np
from numpy.typing import NDArray

from frame3d.share.scene import Dimension, Scene
from frame3d.solids.tube import FinishedTube

Array = NDArray[np.float64]

LEAST_SHOWN = 0.5


@dataclass(frozen=True, eq=False)
class Outline:
    """A tube's silhouette: closed polygons (N, 2), mm, x forward and y up; holes run the other
    way round."""

    name: str
    colour: str
    polygons: tuple[Array, ...]


@dataclass(frozen=True)
class Measure:
    """A dimension line in the drawing, mm, with its feet at the points that it measures."""

    text: str
    feet: tuple[tuple[float, float], tuple[float, float]]
    line: tuple[tuple[float, float], tuple[float, float]]


@dataclass(frozen=True, eq=False)
class Drawing:
    """outlines: farthest first. circles: (x, y, radius) of wheels. box: (2, 2) of all."""

    outlines: tuple[Outline, ...]
    circles: tuple[tuple[float, float, float], ...]
    measures: tuple[Measure, ...]
    box: Array


def outline_of(finished: FinishedTube, colour: str) -> Outline:
    """A finished tube as it is seen from the drive side."""
    turned = finished.solid.rotate((-90.0, 0.0, 0.0))  # z to y, -y to z
    polygons = turned.project().simplify(0.02).to_polygons()
    return Outline(finished.name, colour, tuple(np.asarray(p)[:, :2] for p in polygons))


def side_drawing(
    scene: Scene,
    outlines: Sequence[Outline],
    circles: tuple[tuple[float, float, float], ...] = (),
) -> Drawing:
    """From the drive side (the bicycle's right), heading right. outlines: of the scene's pieces."""
    far = {piece.name: -float(piece.mesh.vertices[:, 1].mean()) for piece in scene.pieces}
    outlines = sorted(outlines, key=lambda outline: far[outline.name])
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
    text = f"{dimension.label} {dimension.value}".strip()

    def pair(p: Array, q: Array) -> tuple[tuple[float, float], tuple[float, float]]:
        ends = np.round([p, q], 3).tolist()
        return (ends[0][0], ends[0][1]), (ends[1][0], ends[1][1])

    return Measure(text, pair(a, b), pair(a + aside, b + aside))


def as_svg(drawing: Drawing, title: str) -> str:
    """An inline SVG that scales to its place; y points down in it."""
    low, high = drawing.box
    pad = 0.04 * float((high - low).max())
    wide, tall = high - low + 2 * pad
    size = wide / 60
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
        parts.append(
            f'<text x="{(ax + bx) / 2:.1f}" y="{-(ay + by) / 2 - size / 3:.1f}" '
            f'font-size="{size:.1f}" text-anchor="middle">{escape(measure.text)}</text>'
        )
    return "".join([*parts, "</svg>"])


def _path(polygon: Array) -> str:
    return "M" + "L".join(f"{x:.2f} {-y:.2f}" for x, y in polygon) + "Z"


def _line(ax: float, ay: float, bx: float, by: float, width: float) -> str:
    return (
        f'<line x1="{ax:.1f}" y1="{-ay:.1f}" x2="{bx:.1f}" y2="{-by:.1f}" stroke="#1b2530" '
        f'stroke-width="{width:.2f}"/>'
    )
