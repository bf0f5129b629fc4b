"""Joints that stand on a shaped end of their mate: pinched, slotted or plugged."""

from collections.abc import Iterator

import numpy as np

from frame3d.check.gap import Footprint, points_on
from frame3d.model import Frame, Joint, Pinch, Plug, Slot, end_frame
from frame3d.surfaces.cope import Cope
from frame3d.surfaces.surface import Array

ROUNDING_MM = 1e-6


def landing_reasons(
    frame: Frame, joint: Joint, cope: Cope, which: int, footprint: Footprint
) -> Iterator[str]:
    """Why the end cannot stand where it does: the mate is not round there, or has no metal."""
    name = joint.onto[which]
    for shape in frame.shapes_of(name):
        if isinstance(shape, Pinch):
            reach = _reach(frame, name, shape.end, footprint, shape.length + shape.transition)
            if reach > ROUNDING_MM:
                yield (
                    f"{joint.tube} stands on the pinched {shape.end} of {name}: its footprint goes "
                    f"{reach:.2f} mm onto the part that is no longer round, and the cope fits the "
                    f"round"
                )
        elif isinstance(shape, Slot):
            over = _over_slot(frame, shape, points_on(cope, which))
            if over > 0:
                yield (
                    f"{joint.tube} stands on the slot in the {shape.end} of {name}: "
                    f"{100 * over:.0f} % of its footprint has the slot under it, and no metal"
                )


def landing_notes(frame: Frame, joint: Joint, which: int, footprint: Footprint) -> Iterator[str]:
    """What to know where the end stands beside a slot or over a plug."""
    name = joint.onto[which]
    for shape in frame.shapes_of(name):
        if isinstance(shape, Slot):
            reach = _reach(frame, name, shape.end, footprint, shape.depth)
            what = "beside the slot"
        elif isinstance(shape, Plug):
            reach = _reach(frame, name, shape.end, footprint, shape.thickness)
            what = "over the plug"
        else:
            continue
        if reach > ROUNDING_MM:
            yield (
                f"{joint.tube} stands {what} in the {shape.end} of {name}: its footprint goes "
                f"{reach:.2f} mm past it, and its heat into that joint"
            )


def _reach(frame: Frame, name: str, end: str, footprint: Footprint, zone: float) -> float:
    """How far the footprint goes into the last `zone` mm of the mate's end; nan without one."""
    if end == "start":
        return zone - footprint.low
    return footprint.high - (frame.tube(name).length - zone)


def _over_slot(frame: Frame, slot: Slot, points: Array) -> float:
    """The share of points (N, 3) that stand where the slot's plate goes through the wall."""
    end = end_frame(frame.tube(slot.tube), slot.end)
    along = (points - end.origin) @ end.out
    aside = np.abs((points - slot.point) @ np.asarray(slot.normal))
    over = (along > -slot.depth) & (aside < slot.width / 2)
    return float(over.mean()) if len(points) else 0.0
