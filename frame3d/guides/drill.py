"""Drill guides: a sleeve on the same foot as the tube's cope guides, with seats for bushings."""

from dataclasses import dataclass, replace

import numpy as np
from manifold3d import CrossSection, Manifold

from frame3d.guides.clamp import Grip, Hardware, along_y, roofed_hole
from frame3d.guides.layout import MARGIN_MM, lettered, section_around, slides_on
from frame3d.guides.place import Array, Place
from frame3d.guides.refuse import GuideError, checked
from frame3d.guides.sleeve import Sleeve, sleeve_solid
from frame3d.model import Printer, Tube, end_frame
from frame3d.surfaces.cope import Cope
from frame3d.tables import rows

FAR_MM = 200.0
SEAT_WALL_MM = 3.0  # around a bushing
SEAT_ROOM_MM = 0.1  # around a bushing, a side: pressed in with the thumb, glued if loose
FOOT_SIDE_DEG = 60.0  # within this of straight down a rib would stand below the foot


@dataclass(frozen=True)
class Drilling:
    """Holes in one line along a tube, square to its axis. at: from the tube's start, mm, rising;
    angle: from the datum, degrees, right-handed about start to end; diameter: of the drill, mm."""

    at: tuple[float, ...]
    angle: float
    diameter: float


@dataclass(frozen=True, eq=False)
class DrillGuide:
    """solid: standing on its setting edge at z = 0, z along the tube from start to end, mm.

    edge: distance of the setting edge from the tube's start along the axis; matrix: from the
    solid's coordinates to the job's, (4, 4).
    """

    tube: Tube
    drilling: Drilling
    sleeve: Sleeve
    solid: Manifold
    edge: float
    matrix: Array


def bushing(diameter: float) -> tuple[float, float]:
    """Outside diameter and length, mm, of the bushing for a drill. Raises GuideError."""
    for row in rows("drill_bushings"):
        if diameter <= float(row["drill_up_to_mm"]):
            return float(row["outside_mm"]), float(row["length_mm"])
    raise GuideError(f"found a drill of {diameter:g} mm, and no bushing of the table takes it")


def drill_guide(
    tube: Tube, drilling: Drilling, printer: Printer, foot: float | None = None, job: str = ""
) -> DrillGuide:
    """A guide for the holes. foot: that of the tube's cope guides, mm below the axis, so that all
    stand on one plate; None for its own. Raises GuideError."""
    checked(printer)
    if tube.bends:
        raise GuideError(f"{tube.name} is bent: a drill guide needs a straight tube")
    plain = _sleeve(tube, printer, foot)
    seat = _seat(drilling, plain, printer)
    label = lettered(plain, 1000.0, job, seat.starts - plain.length, _name(tube, drilling))
    seat = replace(seat, lift=max(0.0, max(line.width for line in label) - _room(plain, seat)))
    edge = float(np.floor(min(drilling.at) - seat.first))  # whole millimetres are set by a rule
    seat = replace(seat, lift=seat.lift + min(drilling.at) - seat.first - edge)
    top = seat.first + np.ptp(drilling.at) + seat.above
    if edge < 0 or edge + top > tube.length:
        holes = ", ".join(f"{at:g}" for at in drilling.at)
        raise GuideError(
            f"the holes of {tube.name} at {holes} mm stand too near an end: their guide would "
            f"reach from {edge:.1f} to {edge + top:.1f} mm of its {tube.length:.1f} mm"
        )
    sleeve = replace(plain, length=tube.length - edge, top=float(top))
    flat = seat.starts - sleeve.length
    label = lettered(sleeve, edge, job, flat, _name(tube, drilling))
    solid = sleeve_solid(replace(sleeve, label=label), *seat.bodies(drilling, sleeve))
    down = np.eye(4)
    down[2, 3] = -sleeve.length
    return DrillGuide(tube, drilling, sleeve, solid, edge, sleeve.place.matrix @ down)


def _name(tube: Tube, drilling: Drilling) -> str:
    return f"{tube.name} drill {drilling.diameter:g}"


def _room(sleeve: Sleeve, seat: "Seat") -> float:
    return seat.starts - sleeve.label_from - MARGIN_MM


def _sleeve(tube: Tube, printer: Printer, foot: float | None) -> Sleeve:
    """Sleeve and clamp, whose length is not known yet."""
    place = _along(tube)
    hardware = Hardware(printer.clamp)
    section = section_around(place, -tube.length, 0.0, printer)
    section = replace(section, foot=max(section.foot, foot or 0.0))
    halves = printer.opening == "halves" or not slides_on(place, printer)
    grip = Grip(hardware, section, printer.lean, (1, -1) if halves else (1,))
    letters_from = MARGIN_MM + (grip.height if halves or not hardware.screws else 0.0)
    return Sleeve(place, section, grip, printer.clearance, tube.length, 0.0, (), letters_from)


def _along(tube: Tube) -> Place:
    """Guide coordinates at the tube's end, without a cope."""
    frame = end_frame(tube, "end")
    none = np.zeros(0)
    return Place(tube, "end", Cope(tube, "end", frame, (), (), none, none), ())


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

    def bodies(self, drilling: Drilling, sleeve: Sleeve) -> tuple[list[Manifold], list[Manifold]]:
        """The rib, and the holes for the bushings, each under a roof."""
        # The angle turns from +y to -x, as seen against z: a turn about z.
        turn = (0.0, 0.0, drilling.angle)
        low = self.first - self.half
        points = [(0.0, self.starts), (self.surface, self.starts), (self.out, low)]
        points += [(self.out, sleeve.top), (0.0, sleeve.top)]
        side = CrossSection([np.array(points)]).extrude(2 * self.half)  # in (y, z), along x
        upright = np.array([[0.0, 0, 1, -self.half], [1, 0, 0, 0], [0, 1, 0, 0]])
        rib = side.transform(upright).rotate(turn)
        hole = along_y(roofed_hole(self.radius + SEAT_ROOM_MM, self.lean), 0.0, FAR_MM)
        heights = [self.first + at - min(drilling.at) for at in drilling.at]
        holes = [hole.translate((0.0, 0.0, height)).rotate(turn) for height in heights]
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
