"""The raw tube that is laid in: where its square ends stand along the drawing's axis."""

from dataclasses import dataclass

import numpy as np

from frame3d.mill.metal import lying
from frame3d.mill.pose import Pose
from frame3d.mill.printed_numbers import length
from frame3d.model import ENDS, End, Tube
from frame3d.surfaces.cope import Copes

EDGE_MM = 2.0  # a mark nearer to a raw edge than this cannot be pointed at


@dataclass(frozen=True)
class Blank:
    """Distances of its square ends from the tube's start, mm; the start is negative as a rule.

    A trim plan that places a butted tube gives its own; `blank_of` is for plain tube by length.
    """

    start: float
    end: float

    @property
    def length(self) -> float:
        return self.end - self.start

    def beyond(self, tube: Tube, end: End) -> float:
        """How far it stands out beyond an end of the axis, mm."""
        return self.end - tube.length if end == "end" else -self.start


def blank_of(tube: Tube, copes: Copes, waste: float) -> Blank:
    """Enough tube for every tip, with `waste` beyond; square ends stay as drawn."""

    def beyond(end: End) -> float:
        cope = copes.get((tube.name, end))
        if cope is None:
            return 0.0
        stop = cope.position(cope.theta, np.ones_like(cope.theta))
        return float(stop[np.isfinite(stop)].max(initial=-cope.frame.run)) + waste

    start, end = (beyond(e) for e in ENDS)
    return Blank(length(-start), length(tube.length + end))


def raw_blank(tube: Tube) -> Blank | None:
    """The listed raw tube that this one is cut from, where the trim plan lays it."""
    if tube.raw is None:
        return None
    return Blank(length(tube.raw.start), length(tube.raw.start + tube.raw.stock.length))


def mark_outward(pose: Pose) -> float:
    """Where the spindle's axis, set over the middle of the tube, meets the line that faces up:
    mm outward from the axis's end point."""
    tube, outward = lying(pose), 0.0
    for _ in range(8):  # a taper's radius depends on the place, and settles at once
        outward = float(pose.along(pose.x, tube.up(outward)))
    return outward
