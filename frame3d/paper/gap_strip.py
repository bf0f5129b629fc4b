"""The gap around a joint as a small plot on a page: angle about the tube against gap."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from frame3d.check.gap import gap_of
from frame3d.check.gap_limit import gap_limit
from frame3d.model import Frame, Mill
from frame3d.paper.pdf_page import FAINT, INK, SOFT, Page, size_text
from frame3d.surfaces.cope import Copes

STEPS = 180
# Okabe and Ito's set, as in the larger plots; the lines differ in their dashes too.
OUTER, INNER = (0.0, 0.447, 0.698), (0.835, 0.369, 0.0)

Curves = dict[tuple[str, str], "GapCurve"]


@dataclass(frozen=True, eq=False)
class GapCurve:
    """gaps: (2, N) of the outer and the inner edge at equal steps from the datum once around, nan
    where the end is not shaped; limit, widest: mm; at: degrees from the datum of the widest"""

    gaps: NDArray[np.float64]
    limit: float
    widest: float
    at: float


def gap_curves(frame: Frame, copes: Copes) -> Curves:
    """Of every coped end, by tube and end."""
    theta = np.linspace(0.0, 2 * np.pi, STEPS + 1)
    found: Curves = {}
    for (tube, end), cope in copes.items():
        joint = frame.joint_at(tube, end)
        assert joint is not None
        gaps = np.stack([cope.gap(theta, np.full_like(theta, depth)) for depth in (1.0, 0.0)])
        if not np.isfinite(gaps).any():
            continue
        gaps = np.where(np.isfinite(gaps), gaps, np.nan)
        widest = gap_of(cope).widest
        at = math.degrees(widest.theta) % 360.0
        found[tube, end] = GapCurve(gaps, gap_limit(frame, joint), widest.value, at)
    return found


def draw_gap(
    page: Page, curve: GapCurve, box: tuple[float, float, float, float], mill: Mill
) -> None:
    """Draw the plot into a box of the page, in points."""
    x0, y0, x1, y1 = box[0] + 6, box[1] + 25, box[2] - 6, box[3] - 14
    top = 1.1 * max(curve.limit, float(np.nanmax(curve.gaps)), 1e-6)

    def at(degrees: float, gap: float) -> tuple[float, float]:
        return x0 + (x1 - x0) * degrees / 360.0, y0 + (y1 - y0) * gap / top

    corners = [(box[0], box[1]), (box[2], box[1]), (box[2], box[3]), (box[0], box[3])]
    page.line(corners, width=0.4, colour=FAINT, closed=True)
    for degrees in range(0, 361, 90):
        page.line([at(degrees, 0), at(degrees, top)], width=0.3, colour=FAINT)
        align = {0: "left", 360: "right"}.get(degrees, "centre")
        page.text(at(degrees, 0)[0], y0 - 9, f"{degrees}°", 7.5, colour=SOFT, align=align)
    page.line([at(0, 0), at(360, 0)], width=0.5)
    page.line([at(0, curve.limit), at(360, curve.limit)], width=0.9, colour=INK, dash=(1, 2))
    steps = np.linspace(0.0, 360.0, curve.gaps.shape[1])
    for gaps, colour, dash in zip(curve.gaps, (OUTER, INNER), ((), (5, 2)), strict=True):
        for run in _runs(gaps):
            points = [at(float(steps[k]), float(gaps[k])) for k in run]
            if len(points) > 1:
                page.line(points, width=1.2, colour=colour, dash=dash)
    words = (
        f"gap: widest {size_text(mill, curve.widest, 3)} at {curve.at:.0f}°, "
        f"limit {size_text(mill, curve.limit, 3)} ···"
    )
    page.text(box[0] + 4, box[3] - 10, words, 8, room=box[2] - box[0] - 8)
    words = "outer edge —, inner - -; from the datum, clockwise"
    page.text(box[0] + 4, box[1] + 4, words, 7.5, colour=SOFT, room=box[2] - box[0] - 8)


def _runs(gaps: NDArray[np.float64]) -> list[list[int]]:
    """Indices of neighbours that are numbers."""
    runs: list[list[int]] = [[]]
    for k, gap in enumerate(gaps):
        if np.isfinite(gap):
            runs[-1].append(k)
        elif runs[-1]:
            runs.append([])
    return runs
