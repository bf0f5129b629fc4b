"""How long a guide must be: to hold, to clamp, to bear its letters, and to print its tip."""

import math
from dataclasses import replace

import numpy as np

from frame3d.guides.clamp import Grip, Hardware
from frame3d.guides.guide_error import GuideError
from frame3d.guides.guide_section import Section, rectangle_points
from frame3d.guides.lettering import BEST_CAP_MM, Line, fitted, shortened
from frame3d.guides.place import Array, Place, outside_changes, outside_radius
from frame3d.guides.sleeve import RELIEF_MM, Sleeve, arrow_room, label_cap, least_foot, with_arrow
from frame3d.model import ENDS, End, Printer, Tube

LOST_TIP_MM = 3.0  # a guide that ends farther behind the tube's own tip leads no saw there
WIDE = "SET 1000"  # as wide as what tells how a guide is set can be
WIDE_WHERE = "BEND 1000.0"  # and as what tells where on the tube it sits
LONGEST_NAME_MM = 60.0  # for whose sake a guide gets longer; own choice
MARGIN_MM = 2.0  # above and below letters, and above a clamp
SECOND_CLAMP_BELOW_DEG = 40.0  # a longer face is loose at its tip on one clamp; own choice


def section_around(place: Place, low: float, high: float, printer: Printer) -> Section:
    """The guide's cross-section around the widest outside between two z, on its own foot."""
    tube = place.tube
    ends = np.sort(place.station(np.array([low, high])))
    at = np.clip([*ends, *outside_changes(tube)], *ends)
    bore = float(outside_radius(tube, at).max()) + printer.clearance
    radius = bore + printer.wall
    return Section(bore, radius, max(radius + printer.foot, least_foot()))


def sleeve_for(place: Place, section: Section, printer: Printer) -> Sleeve:
    """The shortest sleeve that holds, clamps and bears its letters. Raises GuideError.

    Its letters still lack the setting distance, which depends on the other guide. Ears and letters
    change sides where that makes it shorter, or else gives the ears more room below the cope, so
    that the guides of a left and a right tube are mirror images.
    """
    hardware = Hardware(printer.clamp)
    _grooves_leave_wall(hardware, printer)
    halves = printer.opening == "halves" or not slides_on(place, printer)
    top = tip_height(place, section, printer)
    made = []
    for side in (1, -1):
        sides = (side, -side) if halves else (side,)
        grip = Grip(hardware, section, printer.lean, sides)
        made.append(_on_side(place, grip, printer, top))
    first, second = ((round(s.length, 6), -round(_room_over_ear(s), 6)) for s in made)
    return made[1] if second < first else made[0]


def _room_over_ear(sleeve: Sleeve) -> float:
    """Mean height of the face over the ear away from the letters, z in mm."""
    corners = sleeve.grip.ear_corners(-sleeve.lettered_side)
    return float(sleeve.place.height(rectangle_points(*corners)).mean())


def _on_side(place: Place, grip: Grip, printer: Printer, tip: float) -> Sleeve:
    """The sleeve with its ears where `grip` has them. tip: z of its highest point, mm."""
    section, clamped, beside = grip.section, grip.height, grip.beside_letters
    letters_from = MARGIN_MM + (0.0 if beside else clamped)
    sleeve = Sleeve(
        place, section, grip, printer.clearance, 0.0, tip, (), letters_from, printer.thinnest
    )
    length = max(printer.hold + sleeve.throat, clamped - clamp_ceiling(sleeve))
    if place.angle_deg < SECOND_CLAMP_BELOW_DEG:
        sleeve, length = _with_second_clamp(sleeve, length)
    sleeve = lengthened(sleeve, length)
    return lengthened(sleeve, letters_lack(sleeve))


def shortest(sleeve: Sleeve, hold: float, told: str) -> Sleeve:
    """The same guide as short as it still holds and clamps, for a name as short as need be."""
    high, above = sleeve.grip.spans[0][1], sleeve.grip.spans[1:]
    lengths = [hold + sleeve.throat, high - clamp_ceiling(sleeve)]
    lengths += [high + sleeve.grip.slope - (low - sleeve.length) for low, _ in above]
    shorter = lengthened(sleeve, max(lengths) - sleeve.length)
    return lengthened(shorter, letters_lack(shorter, told, 0.0))


def letters_lack(sleeve: Sleeve, told: str = WIDE, most: float = LONGEST_NAME_MM) -> float:
    """By how much a guide must be longer to bear its letters, mm; 0 where they find room. most: the
    longest name for whose sake it gets longer, mm."""
    flat = _flat(sleeve)
    widest = _label_width(lettered(sleeve, told, "", flat, where=WIDE_WHERE, most=most))
    return max(0.0, sleeve.label_from + widest + MARGIN_MM - flat - sleeve.length)


def clamp_ceiling(sleeve: Sleeve) -> float:
    """The highest z, in mm, to which a clamp may reach below the guide's face."""
    grip, lowest = sleeve.grip, -sleeve.throat
    if grip.hardware.screws:
        ears = [_lowest(sleeve.place, *grip.ear_corners(side)) for side in grip.sides]
        lowest = min([*ears, sleeve.top - sleeve.length])  # its tip may be cut off below the face
    return lowest - MARGIN_MM


def _with_second_clamp(sleeve: Sleeve, length: float) -> tuple[Sleeve, float]:
    """The sleeve, still of no length, with a second clamp as high as its face allows; and the
    length that has room for both, at least `length`."""
    grip, ceiling = sleeve.grip, clamp_ceiling(sleeve)
    ((low, high),) = grip.spans
    up = ceiling - high
    grip = replace(grip, raised=(0.0, up))
    return replace(sleeve, grip=grip), max(length, high - low + grip.slope - up)


def _flat(sleeve: Sleeve) -> float:
    """The lowest point of cope and upper clamp over the letters, z in mm."""
    side, radius = sleeve.lettered_side, sleeve.section.radius
    across = sorted((side * radius, side * (radius + RELIEF_MM)))
    lowest = _lowest(sleeve.place, (across[0], -sleeve.section.foot), (across[1], 0.0))
    lowest = min(lowest, sleeve.top - sleeve.length)  # the tip may be cut off below the face
    if sleeve.grip.beside_letters:
        return lowest
    under = [low - sleeve.grip.slope for low, _ in sleeve.grip.spans if low > sleeve.label_from]
    return min([lowest, *(z - sleeve.length for z in under)])


def lengthened(sleeve: Sleeve, by: float) -> Sleeve:
    """The same guide with its setting edge farther from the cope, and the lowest clamp with it."""
    first, *rest = sleeve.grip.raised
    grip = replace(sleeve.grip, raised=(first, *(up + by for up in rest)))
    return replace(sleeve, grip=grip, length=sleeve.length + by, top=sleeve.top + by)


def letter(
    sleeve: Sleeve, told: str, where: str, job: str, most: float = LONGEST_NAME_MM
) -> Sleeve:
    """The sleeve with its letters: tube and end; how it is set, with an arrow; where on the tube it
    sits, and the job."""
    label = lettered(sleeve, told, job, _flat(sleeve), where=where, most=most)
    return replace(sleeve, label=label)


def lettered(
    sleeve: Sleeve,
    told: str,
    job: str,
    flat: float,
    what: str = "",
    where: str = "",
    most: float = LONGEST_NAME_MM,
) -> tuple[Line, ...]:
    """Lines of letters as large as find room below `flat`, the cope's lowest point above them.

    what: said after the tube's name, instead of its end; where: said before the job's, which is
    left out where it finds no room; most: a name gets shorter that is longer than this and than
    the room, mm.
    """
    place = sleeve.place
    room = sleeve.length + flat - sleeve.label_from - MARGIN_MM
    cap = min(BEST_CAP_MM, label_cap(sleeve.section))
    return (
        shortened(place.tube.name, room, cap, tail=f" {what or place.end}", most=most),
        with_arrow(fitted(told, room - arrow_room(cap), cap), sleeve.lettered_side),
        shortened(job, room, cap, head=f"{where}  ") if job else fitted(where, room, cap),
    )


def slides_on(place: Place, printer: Printer) -> tuple[End, ...]:
    """The ends of the tube from which a sleeve can reach its place, its own first."""
    tube, other = place.tube, ENDS[1 - ENDS.index(place.end)]
    if not outside_changes(tube):
        return place.end, other
    station = np.linspace(0.0, tube.length, 1001)
    radius = outside_radius(tube, station)
    if place.end == "start":
        radius = radius[::-1]  # the guide's end is last
    first = np.searchsorted(station, tube.length - printer.hold)
    bore = radius[first:] + printer.clearance
    outward = np.maximum.accumulate(bore[::-1] - printer.clearance)[::-1]
    inward = np.maximum.accumulate(radius)[first:]
    ways = ((place.end, outward), (other, inward))
    return tuple(end for end, widest in ways if (widest <= bore).all())


def _lowest(place: Place, low: tuple[float, float], high: tuple[float, float]) -> float:
    """Least height of the guide's face over a rectangle."""
    return float(place.height(rectangle_points(low, high)).min())


def _label_width(lines: tuple[Line, ...]) -> float:
    return max(line.width for line in lines)


def _grooves_leave_wall(hardware: Hardware, printer: Printer) -> None:
    least = printer.thinnest + hardware.groove_deep
    if printer.wall < least:
        raise GuideError(
            f"printer: wall: found {printer.wall:g}, expected at least {least:g} mm, since the "
            f"grooves for {printer.clamp} take {hardware.groove_deep:g} mm of it"
        )


def tip_height(place: Place, section: Section, printer: Printer) -> float:
    """Where the guide ends: the highest z at which its wall still is two printed lines thick.

    Fins thinner than that, as stand beside a mate no wider than the guide, would not print, and
    need not: no metal of the tube is behind them. Raises GuideError where the face thins out to a
    sliver along the bore, so that the tube would be left without its guide there.
    """
    turn = np.radians(np.arange(0.0, 360.0, 1.5))
    away = np.linspace(section.bore, section.radius, 41)
    around: Array = np.stack([np.cos(turn), np.sin(turn)], axis=1)
    points = (around[:, None] * away[None, :, None]).reshape(-1, 2)
    height = place.height(points).reshape(len(turn), len(away))
    lines = math.ceil(printer.thinnest / (away[1] - away[0])) + 1
    thick = np.lib.stride_tricks.sliding_window_view(height, min(lines, len(away)), axis=1)
    prints = thick.min(axis=2).max(axis=1)
    lost = float((height[:, 0] - prints).max())
    if lost > LOST_TIP_MM:
        raise GuideError(
            f"the cope is so shallow that the guide's edge would be a sliver, thinner than two "
            f"printed lines ({printer.thinnest:g} mm) over its last {lost:.1f} mm: cut this end by "
            f"a paper wrap"
        )
    return float(prints.max())


def whole_setting(tube: Tube, sleeves: list[Sleeve]) -> tuple[float, Sleeve]:
    """The setting distance in whole mm, and the last guide, a little longer for it."""
    apart = tube.length - math.fsum(sleeve.length for sleeve in sleeves)
    return float(math.floor(apart)), lengthened(sleeves[-1], apart - math.floor(apart))
