"""Where each raw tube lies on its axis, so that its butts stay under the joints, and some waste
stands beyond each cope.

Outside and wall of a finished tube follow from that, so it comes before all else: every cope, solid
and figure is of the tube as it is laid here.
"""

from dataclasses import dataclass
from graphlib import TopologicalSorter

import numpy as np

from frame3d.model import ENDS, End, Frame, Profile, Tube, laid
from frame3d.surfaces.cope import cope_of, too_parallel
from frame3d.tables import row

SETTLED_MM = 1e-6
SAME_MM = 1e-9
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


def heated_zone(frame: Frame) -> float:
    """How far the heat of the frame's process reaches beside a joint, mm."""
    return float(row("heated_zones", frame.process)["zone_mm"])


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
    """The cope's long side moves with the outside, and that with where the raw tube lies: no more
    where the outside and the wall are the same at its ends as before."""
    for _ in range(MOST_STEPS):
        tube = frame.tube(name)
        assert tube.raw is not None
        sides = sides_of(frame, name)
        start = -sides["start"].long - _trim_start(frame, tube, sides)
        if abs(start - tube.raw.start) < SETTLED_MM:
            break
        moved = laid(tube, start)
        frame = frame.with_tube(moved)
        if _same_ends(tube, moved, sides):
            break
    return frame


def _same_ends(one: Tube, other: Tube, sides: dict[End, Sides]) -> bool:
    """Whether two tubes on one axis have the same section all over their shaped ends."""
    for end, side in sides.items():
        if not side.coped:
            continue
        low, high = sorted(
            one.length + past if end == "end" else -past for past in (side.short, side.long)
        )
        for p, q in zip(_profiles(one), _profiles(other), strict=True):
            here, there = p.between(low, high), q.between(low, high)
            if here.shape != there.shape or np.abs(here - there).max() > SAME_MM:
                return False
    return True


def _profiles(tube: Tube) -> list[Profile]:
    return [tube.od, tube.wall, *([tube.oval.across] if tube.oval else [])]


def _trim_start(frame: Frame, tube: Tube, sides: dict[End, Sides]) -> float:
    """How much to cut off the raw tube at the tube's start, mm.

    Left to us, so that beyond the short side of each joint as much butt is left at one end as at
    the other; as much as can be at the end where one end only is coped and butted. A tube whose
    wall does not change is cut at its end. From there it moves to leave the mill's waste at each
    coped end, as far as its length allows, and no further than the heat stays on the butts.
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
    ideal = float(np.clip(ideal, min(0.0, excess), max(0.0, excess)))
    if excess <= 0.0:
        return ideal
    zone = heated_zone(frame)
    least, most = max(excess - spare_end + zone, 0.0), min(spare_start - zone, excess)
    if least > most:  # no butt to give away
        return ideal
    return float(np.clip(_with_waste(ideal, excess, frame.shop.mill.waste, sides), least, most))


def _with_waste(ideal: float, excess: float, waste: float, sides: dict[End, Sides]) -> float:
    """The trim at the start nearest to the ideal one that leaves waste at each coped end; where
    there is too little for that, each coped end has as much."""
    start, end = (waste if sides[name].coped else 0.0 for name in ENDS)
    if start + end > excess:
        return excess * start / (start + end)
    return float(np.clip(ideal, start, excess - end))
