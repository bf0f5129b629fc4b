"""Where each raw tube lies on its axis, so that its butts stay under the joints.

Outside and wall of a finished tube follow from that, so it comes before all else: every cope, solid
and figure is of the tube as it is laid here.
"""

from dataclasses import dataclass
from graphlib import TopologicalSorter

import numpy as np

from frame3d.model import ENDS, End, Frame, Tube, laid
from frame3d.surfaces.cope import cope_of, too_parallel

SETTLED_MM = 1e-6
MOST_STEPS = 10


@dataclass(frozen=True)
class Sides:
    """How far a finished end goes past its axis's end point, mm outward: its long and its short
    side. coped: whether a joint shapes it."""

    long: float = 0.0
    short: float = 0.0
    coped: bool = False


def placed(frame: Frame) -> Frame:
    """The frame with every raw tube laid, mates before the tubes that end on them."""
    mates: dict[str, set[str]] = {tube.name: set() for tube in frame.tubes}
    for joint in frame.joints:
        mates[joint.tube].update(joint.onto)
    for name in TopologicalSorter(mates).static_order():
        if frame.tube(name).raw is not None:
            frame = _settled(frame, name)
    return frame


def sides_of(frame: Frame, name: str) -> dict[End, Sides]:
    """Both ends of a tube as they are finished; square where nothing can be shaped."""
    found = {}
    for end in ENDS:
        found[end] = Sides()
        joint = frame.joint_at(name, end)
        if joint is not None and not too_parallel(frame, joint):
            cope = cope_of(frame, joint)
            long, short = cope.tip.value, -cope.throat.value
            if np.isfinite(long) and np.isfinite(short):
                found[end] = Sides(long, short, True)
    return found


def _settled(frame: Frame, name: str) -> Frame:
    """The cope's long side moves with the outside, and that with where the raw tube lies."""
    for _ in range(MOST_STEPS):
        tube = frame.tube(name)
        assert tube.raw is not None
        sides = sides_of(frame, name)
        start = -sides["start"].long - _trim_start(tube, sides)
        if abs(start - tube.raw.start) < SETTLED_MM:
            break
        frame = frame.with_tube(laid(tube, start))
        if tube.is_uniform:
            break
    return frame


def _trim_start(tube: Tube, sides: dict[End, Sides]) -> float:
    """How much to cut off the raw tube at the tube's start, mm.

    Left to us, so that beyond the short side of each joint as much butt is left at one end as at
    the other; all of it at the end where one end only is coped and butted. A tube whose wall does
    not change is cut at its end only.
    """
    assert tube.raw is not None
    stock = tube.raw.stock
    if tube.raw.trim_start is not None:
        return tube.raw.trim_start
    start, end = sides["start"], sides["end"]
    excess = stock.length - (tube.length + start.long + end.long)
    spare_start = stock.butt_start - (start.long - start.short) if start.coped else np.inf
    spare_end = stock.butt_end - (end.long - end.short) if end.coped else np.inf
    if np.isinf(spare_start):
        ideal = 0.0 if np.isinf(spare_end) else excess
    elif np.isinf(spare_end):
        ideal = 0.0
    else:
        ideal = (spare_start - spare_end + excess) / 2
    return float(np.clip(ideal, min(0.0, excess), max(0.0, excess)))
