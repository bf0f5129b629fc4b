"""Two guides for a tube too short to carry both: used one after the other, set by one line."""

from dataclasses import replace
from math import ceil

from frame3d.guides.guide_error import GuideError
from frame3d.guides.guide_length import MARGIN_MM, clamp_ceiling, lengthened, letters_lack
from frame3d.guides.sleeve import WINDOW_HALF_MM, Sleeve
from frame3d.model import Tube

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
        other = end if sleeve.place.end == "start" else start
        whole = tube.length - other.throat
        tried = [clamped_on_tube(s, whole) for s in (sleeve, *_with_less_clamp(sleeve))]
        clamped = next((s for s in tried if s is not None), None)
        if clamped is None:
            raise GuideError(
                f"{told}; used in turn, the clamp of the {sleeve.place.end}'s guide finds no room "
                f"between the copes, and would reach past the tube: cut it by paper wraps"
            )
        sleeve = clamped
        made.append(sleeve)
    return made[0], made[1]


def clamped_on_tube(sleeve: Sleeve, whole: float) -> Sleeve | None:
    """The guide with all of its clamps over the tube, which is whole all around over `whole` mm
    from this end's axis point on; a little longer where letters need that; None without room."""
    grip = sleeve.grip
    low, high = replace(grip, raised=(0.0,)).spans[0]
    least = sleeve.length - whole  # above the setting edge
    most = sleeve.length + clamp_ceiling(sleeve)
    if low >= least:
        return sleeve
    up = least - low
    if not grip.hardware.screws:  # no band runs over the window
        window = WINDOW_HALF_MM * grip.lean + AROUND_MM
        if low + up < sleeve.mark + window and high + up > sleeve.mark - window:
            up = sleeve.mark + window - low
    if high + up > most:
        return None
    second = [k for k in grip.raised[1:] if low + k - grip.slope >= high + up]
    made = replace(sleeve, grip=replace(grip, raised=(up, *second)))
    if grip.beside_letters:
        return made
    made = replace(made, label_from=MARGIN_MM)  # letters stand below the clamps
    by = ceil(letters_lack(made))
    longer = lengthened(made, by)
    lifted = tuple(k + by for k in (up, *second))
    return replace(longer, mark=made.mark + by, grip=replace(grip, raised=lifted))


def _with_less_clamp(sleeve: Sleeve) -> list[Sleeve]:
    """The same guide with one screw or band less and so on, down to one."""
    hardware = sleeve.grip.hardware
    less = [replace(hardware, fewer=k) for k in range(1, hardware.count)]
    return [replace(sleeve, grip=replace(sleeve.grip, hardware=h)) for h in less]


def line_at(tube: Tube, start: Sleeve, end: Sleeve) -> float:
    """Where along the tube, mm from the axis's start, the line stands that both are set by."""
    return start.throat + (tube.length - start.throat - end.throat) / 2
