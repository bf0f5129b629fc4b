"""Room about a tube in the vise: over the table, under the spindle, beside the head."""

from dataclasses import dataclass

import numpy as np

from frame3d.mill.pose import Pose
from frame3d.mill.workholding import Seats
from frame3d.model import Frame, Tube

FAR_MM = 100.0  # a far end this much lower or higher is worth a word; own choice, no source


@dataclass(frozen=True)
class Headroom:
    """What stays free, mm; None where the shop's [mill] does not tell its sizes, or no block holds
    the tube.

    spindle: between the teeth and where they first touch, with the table at its lowest
    table:   between the table's top and the tube's lower far end; negative: lower than its top
    head:    from the spindle to the tube's upper side, at the height of the spindle's nose when
             the teeth touch; None where the tube does not rise away from the saw
    """

    spindle: float | None
    table: float | None
    head: float | None


def headroom(
    frame: Frame, tube: Tube, seats: Seats, pose: Pose, touch: float, far: float
) -> Headroom:
    """Of one cut. touch, far: heights of the teeth's first touch and of the far end's axis over
    the axis's end point, mm."""
    mill, middle = frame.shop.mill, _middle(tube, seats, pose)
    spindle = table = head = None
    if mill.vise_height is not None and middle is not None:
        held = -middle * np.sin(pose.rise)  # height of the block's middle, which is in the vise
        table = mill.vise_height + far - held - tube.widest
        if mill.daylight is not None and mill.saw_length is not None:
            spindle = mill.daylight - mill.saw_length - mill.vise_height - (touch - held)
    if mill.saw_length is not None and pose.rise < 0.0 and not tube.bends:
        # The upper side: x tan(rise) + radius / cos(rise) high, x from the end point.
        nose = touch + mill.saw_length
        upper = (nose - tube.widest / np.cos(pose.rise)) / np.tan(pose.rise)
        head = pose.x - float(upper)
    return Headroom(spindle, table, head)


def _middle(tube: Tube, seats: Seats, pose: Pose) -> float | None:
    """How far inward of the end point the middle of the block stands that holds it."""
    end = pose.cope.end
    seat = seats.get(end) or seats.get("both")
    if seat is None:
        return None
    inward = seat.inward + seat.block.length / 2
    return inward if seat.end == end else tube.length - inward


def far_end_words(end: str, bent: bool, drop: float, room: Headroom) -> str:
    """What to take care of at the end that is not cut, lower by `drop` than the mark; "" where it
    is near level or known to stand clear of the table."""
    what = "beyond the bend the tube" if bent else "the far end"
    if drop > FAR_MM:
        if room.table is not None and room.table >= 0.0:
            return ""
        below = "" if room.table is None else f", {-room.table:.0f} mm lower than the table's top"
        return (
            f"{end}: {what} hangs {drop:.0f} mm lower{below}: set the vise at the table's edge, or "
            "raise it, and prop the tube"
        )
    if drop < -FAR_MM:
        beside = ""
        if room.head is not None:
            beside = f", {room.head:.0f} mm left of the spindle where its nose stands"
        return f"{end}: {what} rises {-drop:.0f} mm{beside}: mind the machine's head; prop the tube"
    return ""


def spindle_words(end: str, room: Headroom) -> str:
    """Where the saw does not go over the tube."""
    if room.spindle is None or room.spindle >= 0.0:
        return ""
    return (
        f"{end}: {-room.spindle:.0f} mm too little room under the spindle: set the vise lower, or "
        "take a shorter arbor"
    )
