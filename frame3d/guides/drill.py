"""Drill guides: a sleeve on the same foot as the tube's cope guides, with seats for bushings."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from manifold3d import CrossSection, Manifold

from frame3d.guides.clamp import Grip, Hardware, along_y, roofed_hole
from frame3d.guides.guide_error import GuideError, checked
from frame3d.guides.guide_length import MARGIN_MM, WIDE, lettered, section_around, slides_on
from frame3d.guides.place import Array, Place
from frame3d.guides.sleeve import Sleeve, sleeve_solid
from frame3d.guides.upright import Kept
from frame3d.model import ENDS, End, Printer, Tube, end_frame
from frame3d.surfaces.cope import Cope
from frame3d.tables import rows

FAR_MM = 200.0
NOTHING_TAKEN: dict[End, float] = {"start": 0.0, "end": 0.0}
NEAR_SLIT_DEG = 45.0
SEAT_WALL_MM = 3.0  # around a bushing
THROUGH_ROOM_MM = 0.5  # around a drill that comes out on the other side; own choice, no source
SEAT_ROOM_MM = 0.1  # around a bushing, a side: pressed in with the thumb, glued if loose
FOOT_SIDE_DEG = 60.0  # within this of straight down a rib would stand below the foot


@dataclass(frozen=True)
class Drilling:
    """Holes in one line along a tube, square to its axis. at: from the tube's start, mm, rising;
    angle: from the datum, degrees, right-handed about start to end; diameter: of the drill, mm;
    through: on through the wall opposite; notes: what to know before they are drilled."""

    at: tuple[float, ...]
    angle: float
    diameter: float
    through: bool = False
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, eq=False)
class DrillGuide:
    """solid: standing on its setting edge at z = 0, z along the tube away from `reference`, mm.

    reference: the end of the tube that it is set from; setting: from there, that is from the
    setting edge of the cope guide on that end, or from the square end, to this guide's edge;
    matrix: from the solid's coordinates to the job's, (4, 4).
    """

    drilling: Drilling
    sleeve: Sleeve
    solid: Manifold
    reference: End
    setting: float
    matrix: Array

    @property
    def tube(self) -> Tube:
        return self.sleeve.place.tube

    @property
    def kept(self) -> tuple[Kept, ...]:
        """Where no part may end: as for all sleeves, and at the bushings."""
        turn = np.radians(_turn(self.drilling, self.sleeve.place))
        half = bushing(self.drilling.diameter)[0] / 2 + SEAT_WALL_MM
        corridors = []
        for axis, way in enumerate((-np.sin(turn), np.cos(turn))):
            back = -FAR_MM * way if self.drilling.through else 0.0
            ends = sorted((back, FAR_MM * way)) if abs(way) > 0.5 else (0.0, 0.0)
            corridors.append((axis, float(ends[0]) - half, float(ends[1]) + half))
        return (*self.sleeve.kept, *corridors)

    @property
    def name(self) -> str:
        return f"{self.tube.name} {_what(self.drilling)}"


def bushing(diameter: float) -> tuple[float, float]:
    """Outside diameter and length, mm, of the bushing for a drill. Raises GuideError."""
    for row in rows("drill_bushings"):
        if diameter <= float(row["drill_up_to_mm"]):
            return float(row["outside_mm"]), float(row["length_mm"])
    raise GuideError(f"found a drill of {diameter:g} mm, and no bushing of the table takes it")


def drill_guide(
    tube: Tube,
    drilling: Drilling,
    printer: Printer,
    foot: float | None = None,
    taken: Mapping[End, float] = NOTHING_TAKEN,
    job: str = "",
) -> DrillGuide:
    """A guide for the holes, set from the start, or from the end where that has no room.

    foot: that of the tube's cope guides, mm below the axis, so that all stand on one plate; None
    for its own. taken: what the cope guides take of the axis at each end, mm. Raises GuideError.
    """
    checked(printer)
    if tube.bends:
        raise GuideError(f"{tube.name} is bent: a drill guide needs a straight tube")
    for reference in ENDS:
        plain = _sleeve(tube, drilling, reference, printer, foot)
        seat = _seat(drilling, plain, printer)
        label = lettered(plain, WIDE, job, seat.starts - plain.length, _what(drilling))
        wide = max(line.width for line in label)
        seat = replace(seat, lift=max(0.0, wide - _room(plain, seat)))
        near = seat.heights(drilling, tube, reference)[0]  # from the reference end, mm
        setting = float(np.floor(near - seat.first - taken[reference]))  # set by a rule
        edge = setting + taken[reference]
        seat = replace(seat, lift=seat.lift + near - seat.first - edge)
        top = seat.first + float(np.ptp(drilling.at)) + seat.above
        if setting >= 0 and edge + top <= tube.length:
            break
    else:
        raise GuideError(f"too near an end for a guide of {top:.0f} mm")
    sleeve = replace(plain, length=tube.length - edge, top=top)
    told = f"SET {setting:g}"
    label = lettered(sleeve, told, job, seat.starts - sleeve.length, _what(drilling))
    solid = sleeve_solid(replace(sleeve, label=label), *seat.bodies(drilling, sleeve))
    down = np.eye(4)
    down[2, 3] = -sleeve.length
    return DrillGuide(drilling, sleeve, solid, reference, setting, sleeve.place.matrix @ down)


def _what(drilling: Drilling) -> str:
    return f"drill {drilling.diameter:g}"


def _room(sleeve: Sleeve, seat: "Seat") -> float:
    return seat.starts - sleeve.label_from - MARGIN_MM


def _sleeve(
    tube: Tube, drilling: Drilling, reference: End, printer: Printer, foot: float | None
) -> Sleeve:
    """Sleeve and clamp, whose length is not known yet; the slit keeps clear of the holes."""
    place = _away_from(tube, reference)
    hardware = Hardware(printer.clamp)
    section = section_around(place, -tube.length, 0.0, printer)
    section = replace(section, foot=max(section.foot, foot or 0.0))
    halves = printer.opening == "halves" or not slides_on(place, printer)
    turn = _turn(drilling, place)
    # The side at +x is a turn of -90 degrees from y.
    off = {side: abs((turn + 90.0 * side + 180.0) % 360.0 - 180.0) for side in (1, -1)}
    near = [side for side in off if off[side] < NEAR_SLIT_DEG]
    if near and (halves or drilling.through):
        split = "split between the guide's halves" if halves else "guide's slit"
        raise GuideError(f"at {drilling.angle:g} degrees they stand on the {split}")
    sides = (1, -1) if halves else (-1,) if 1 in near else (1,)
    grip = Grip(hardware, section, printer.lean, sides)
    letters_from = MARGIN_MM + (0.0 if grip.beside_letters else grip.height)
    return Sleeve(
        place,
        section,
        grip,
        printer.clearance,
        tube.length,
        0.0,
        (),
        letters_from,
        printer.thinnest,
    )


def _turn(drilling: Drilling, place: Place) -> float:
    """Degrees from y to the holes, right-handed about the guide's z: the job's angle only where z
    points to the end."""
    return drilling.angle if place.end == "end" else -drilling.angle


def _away_from(tube: Tube, reference: End) -> Place:
    """Guide coordinates, without a cope, whose z points away from one of the tube's ends."""
    end: End = "end" if reference == "start" else "start"
    none, frame = np.zeros(0), end_frame(tube, end)
    return Place(tube, end, Cope(tube, end, frame, (), (), none, none), (), frame.datum, 0.0)


@dataclass(frozen=True)
class Seat:
    """Where the bushings sit, mm. radius: of a bushing; out: to its outer end from the tube's axis;
    surface: from there its rib stands out of the sleeve; lowest: least height of the first hole;
    lift: how much higher it goes to leave the letters room."""

    radius: float
    out: float
    surface: float
    lowest: float
    lean: float
    lift: float = 0.0

    @property
    def half(self) -> float:
        return self.radius + SEAT_WALL_MM

    @property
    def first(self) -> float:
        """Height of the first hole above the setting edge."""
        return self.lowest + self.lift + self.half + (self.out - self.surface) * self.lean

    @property
    def starts(self) -> float:
        """Height at which the rib begins to stand out."""
        return self.lowest + self.lift

    @property
    def above(self) -> float:
        """From the last hole to the guide's top: the hole's roof, and a wall."""
        return float(self.radius * np.hypot(1.0, self.lean)) + SEAT_WALL_MM

    @staticmethod
    def heights(drilling: Drilling, tube: Tube, reference: End) -> list[float]:
        """Distances of the holes from the reference end's axis point, rising."""
        if reference == "start":
            return sorted(drilling.at)
        return sorted(tube.length - at for at in drilling.at)

    def bodies(self, drilling: Drilling, sleeve: Sleeve) -> tuple[list[Manifold], list[Manifold]]:
        """The rib, and the holes for the bushings, each under a roof."""
        turn = (0.0, 0.0, _turn(drilling, sleeve.place))
        away = sleeve.place.end == "end"
        low = self.first - self.half
        points = [(0.0, self.starts), (self.surface, self.starts), (self.out, low)]
        points += [(self.out, sleeve.top), (0.0, sleeve.top)]
        side = CrossSection([np.array(points)]).extrude(2 * self.half)  # in (y, z), along x
        upright = np.array([[0.0, 0, 1, -self.half], [1, 0, 0, 0], [0, 1, 0, 0]])
        rib = side.transform(upright).rotate(turn)
        hole = along_y(roofed_hole(self.radius + SEAT_ROOM_MM, self.lean), 0.0, FAR_MM)
        spots = self.heights(drilling, sleeve.place.tube, "start" if away else "end")
        if drilling.through:  # the drill comes out clear of the guide
            clear = roofed_hole(drilling.diameter / 2 + THROUGH_ROOM_MM, self.lean)
            hole += along_y(clear, -FAR_MM, 0.0)
        holes = [
            hole.translate((0.0, 0.0, self.first + spot - spots[0])).rotate(turn) for spot in spots
        ]
        return ([rib] if self.out > self.surface else []), holes


def _seat(drilling: Drilling, sleeve: Sleeve, printer: Printer) -> Seat:
    outside, long = bushing(drilling.diameter)
    section, radius = sleeve.section, outside / 2
    surface = np.sqrt(max(section.radius**2 - (radius + SEAT_WALL_MM) ** 2, 0.0))
    out = max(section.bore + long, section.radius)
    if abs(drilling.angle % 360.0 - 180.0) < FOOT_SIDE_DEG:
        out = surface  # there the foot's own thickness holds the bushing
    lowest = max(sleeve.grip.height, printer.hold) + MARGIN_MM
    return Seat(radius, float(out), float(surface), lowest, sleeve.grip.lean)
