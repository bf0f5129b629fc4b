"""Two guides for a tube too short to carry both: used one after the other, set by one line."""

from dataclasses import replace
from math import ceil

from frame3d.guides.guide_error import GuideError
from frame3d.guides.guide_length import MARGIN_MM, lengthened
from frame3d.guides.sleeve import WINDOW_HALF_MM, Sleeve
from frame3d.model import Tube

ON_TUBE_MM = 8.0  # so much of a clamp must be over the tube's finished metal
AROUND_MM = 1.0  # wall between the window and the lowest point of the cope


def in_turn(tube: Tube, start: Sleeve, end: Sleeve) -> tuple[Sleeve, Sleeve]:
    """Both guides with room for their windows over one line across the tube, halfway between the
    deepest points of its copes. Raises GuideError where the tube is too short even for that."""
    lengths = f"{start.length:.1f} and {end.length:.1f}"
    overlap = start.length + end.length - tube.length
    told = (
        f"{tube.name} is too short for two guides: they take {lengths} of its {tube.length:.1f} mm"
        f" and would overlap by {overlap:.1f} mm"
    )
    high = WINDOW_HALF_MM * start.grip.lean
    at = line_at(tube, start, end)
    if min(at - start.throat, tube.length - at - end.throat) < high + AROUND_MM:
        raise GuideError(
            f"{told}; used in turn they would be set by one line, and between its copes is no room "
            f"for a window: cut it by paper wraps"
        )
    made = []
    for sleeve, away in ((start, at), (end, tube.length - at)):
        # A band lies over the window, and an ear stands beside it.
        above = 0.0 if sleeve.grip.hardware.screws else sleeve.grip.height
        # A whole number of mm, so that the window's roof meets the printed layers always alike.
        mark = ceil(max(sleeve.length - away, high + MARGIN_MM + above))
        sleeve = replace(lengthened(sleeve, away + mark - sleeve.length), mark=float(mark))
        beyond = sleeve.length - tube.length
        if beyond > sleeve.grip.height - ON_TUBE_MM:
            raise GuideError(
                f"{told}; used in turn, the clamp of the {sleeve.place.end}'s guide would stand "
                f"beyond the tube: cut it by paper wraps"
            )
        made.append(sleeve)
    return made[0], made[1]


def line_at(tube: Tube, start: Sleeve, end: Sleeve) -> float:
    """Where along the tube, mm from the axis's start, the line stands that both are set by."""
    return start.throat + (tube.length - start.throat - end.throat) / 2
