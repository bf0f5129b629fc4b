"""One guide as a solid: sleeve, foot, clamp, mark window, datum line, letters, end face."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from manifold3d import CrossSection, Manifold, OpType

from frame3d.guides.clamp import EAR_THICK_MM, SLIT_MM, Grip, along_y
from frame3d.guides.face import behind_face
from frame3d.guides.guide_section import LEAD_IN_MM, Section, rectangle
from frame3d.guides.halves import keys_and_slots
from frame3d.guides.lettering import LEAST_CAP_MM, Line, arrow
from frame3d.guides.place import Array, Place, outside_changes
from frame3d.guides.upright import Kept
from frame3d.solids.rings import arrays, solid, stack
from frame3d.solids.simplify import tidied

BORE_FLATS = 180  # they stand outside the asked bore by at most radius * 1.5e-4
MARK_MM = 10.0  # the mark window's middle above the setting edge, where two guides have room
WINDOW_HALF_MM = 4.0
DATUM_WIDE_MM = 0.9
DATUM_DEEP_MM = 0.6
RELIEF_MM = 0.6  # letters stand out this far
ROOT_MM = 0.4  # and reach this far into the wall
SLIVER_MM = 0.01  # less of a letter beside the wall is rounding
LABEL_LINES = 3
LABEL_MARGIN_MM = 1.2
PITCH_PER_CAP = 1.47
ARROW_GAP_PER_CAP = 0.6


@dataclass(frozen=True, eq=False)
class Sleeve:
    """All that shapes a guide; mm.

    length: from the setting edge to the axis's end point, so that the file's z is the guide's z
    plus `length`; top: height of the guide's tip above the setting edge; label: lines of letters,
    first above; label_from: where they begin, above the setting edge; thinnest: wall that prints;
    mark: the middle of the mark window above the setting edge.
    """

    place: Place
    section: Section
    grip: Grip
    clearance: float
    length: float
    top: float
    label: tuple[Line, ...]
    label_from: float
    thinnest: float
    mark: float = MARK_MM

    @property
    def halves(self) -> bool:
        """Whether it comes in two halves, split on both sides."""
        return len(self.grip.sides) == 2

    @property
    def keys(self) -> tuple[list[Manifold], list[Manifold]]:
        """What locates its halves: bodies to add, and to cut before."""
        if not self.halves:
            return [], []
        return keys_and_slots(self.section, self.grip.sides, self.grip.lean, self.thinnest)

    @property
    def lettered_side(self) -> int:
        """+1 or -1: which flat side along x bears the letters, away from a lone pair of ears."""
        return lettered_side(self.grip)

    @property
    def kept(self) -> tuple[Kept, ...]:
        """Where no part may end: at the windows and the datum line, letters, ears, side walls."""
        side, ear = self.section.radius, SLIT_MM / 2 + EAR_THICK_MM
        beside = max(ear if self.grip.hardware.screws else 0.0, SLIT_MM / 2 + LABEL_MARGIN_MM)
        return (
            (0, -WINDOW_HALF_MM - 1.0, WINDOW_HALF_MM + 1.0),
            (0, side - 1.0, np.inf),
            (0, -np.inf, 1.0 - side),
            (1, -self.section.foot, -SLIT_MM / 2),
            (1, SLIT_MM / 2, beside),
        )

    @property
    def throat(self) -> float:
        """From the axis's end point back to the deepest point of the guide's face, mm."""
        return -float(self.place.height(self.section.samples()).min())


def label_cap(section: Section) -> float:
    """Height of capitals for which all lines find room on the flat side, mm."""
    return max(label_pitch(section) / PITCH_PER_CAP, LEAST_CAP_MM)  # the least foot is rounded


def label_pitch(section: Section) -> float:
    return (section.foot - SLIT_MM / 2 - 2 * LABEL_MARGIN_MM) / LABEL_LINES


def least_foot() -> float:
    """From the axis down to the foot, mm, so that all lines find room on the flat side."""
    return SLIT_MM / 2 + 2 * LABEL_MARGIN_MM + LABEL_LINES * LEAST_CAP_MM * PITCH_PER_CAP


def sleeve_solid(
    sleeve: Sleeve, more: Sequence[Manifold] = (), holes: Sequence[Manifold] = ()
) -> Manifold:
    """The guide, standing on its setting edge at z = 0, cope up, the tube's axis along z.

    more: bodies to add before the bore is cut; holes: bodies to cut.
    """
    place, section = sleeve.place, sleeve.section
    height = sleeve.top
    blank = Manifold.batch_boolean(
        [section.outline().extrude(height), sleeve.grip.ears(), *more], OpType.Add
    )
    cuts = [
        bore_solid(place, sleeve.clearance, sleeve.length, height, sleeve.grip.lean),
        sleeve.grip.openings(height),
        mark_window(sleeve.grip.lean, section.radius, sleeve.mark),
        datum_line(section.radius, height),
        *holes,
    ]
    if place.mates:
        lowered = blank.translate((0.0, 0.0, -sleeve.length))
        cuts += [b.translate((0.0, 0.0, sleeve.length)) for b in behind_face(lowered, place)]
    keys, slots = sleeve.keys
    body = Manifold.batch_boolean([blank, *cuts, *slots], OpType.Subtract)
    body = Manifold.batch_boolean([body, *keys], OpType.Add)
    # Letters have half the triangles and stand where nothing is cut: they come last.
    return tidy(body + _letters(sleeve, body))


def bore_solid(
    place: Place, clearance: float, length: float, height: float, lean: float
) -> Manifold:
    """The tube's outside and its clearance, past both ends of the guide; z as the guide's file.

    It widens to the bed, whose first layer spreads inward, and so that the tube finds its way in.
    """
    tube, wide = place.tube, clearance + LEAD_IN_MM
    low, high, even = -length, height - length + 1.0, -length + LEAD_IN_MM * lean
    inner = [_z_at(place, at) for at in outside_changes(tube)]
    levels = sorted({even, high, *(z for z in inner if even < z < high)})
    rings = [(low - 1.0, wide), (low, wide), *((z, clearance) for z in levels)]
    return stack(
        np.stack([_ring(place.outside(z, BORE_FLATS, extra), z + length) for z, extra in rings])
    )


def _z_at(place: Place, station: float) -> float:
    return station - place.tube.length if place.end == "end" else -station


def _ring(across: Array, z: float) -> Array:
    return np.column_stack([across, np.full(len(across), z)])


def mark_window(lean: float, radius: float, mark: float = MARK_MM) -> Manifold:
    """A window on edge: its upper and lower corners stand on the datum line, those at its sides
    on the mark."""
    half, high = WINDOW_HALF_MM, WINDOW_HALF_MM * lean
    rhomb = CrossSection([np.array([[0, -high], [half, 0], [0, high], [-half, 0]], float)])
    return along_y(rhomb, 0.0, radius + 1.0).translate((0.0, 0.0, mark))


def datum_line(radius: float, height: float) -> Manifold:
    """A groove along the top, over the datum of the tube."""
    half = DATUM_WIDE_MM / 2
    flat = rectangle((-half, radius - DATUM_DEEP_MM), (half, radius + 1.0))
    return flat.extrude(height + 2.0).translate((0.0, 0.0, -1.0))


def lettered_side(grip: Grip) -> int:
    """+1 or -1: the side along x that bears the letters."""
    return -grip.sides[0]


def _letters(sleeve: Sleeve, body: Manifold) -> Manifold:
    """Raised letters on a flat side, the foot below them: at -x read towards the cope, at +x away
    from it. What of a letter would not be rooted in the wall of the `body` is left out.

    Carried outward they also rise, so that no stroke's underside is flatter than a roof.
    """
    pitch = label_pitch(sleeve.section)
    base = -SLIT_MM / 2 - LABEL_MARGIN_MM
    flat = CrossSection()
    for k, line in enumerate(sleeve.label):
        flat = flat + line.outline.translate((0.0, base - k * pitch - line.cap))
    side, radius, lean = sleeve.lettered_side, sleeve.section.radius, sleeve.grip.lean
    if side > 0:  # right is down, so that the letters begin above
        flat = flat.translate((-max(line.width for line in sleeve.label), 0.0))
    wall = body.rotate((0.0, -90.0 * side, 0.0)).slice(radius - ROOT_MM / 2)
    # Drawn as letters are: from where they begin, without what they have risen at that depth.
    wall = wall.translate((side * (sleeve.label_from - lean * ROOT_MM / 2), 0.0))
    flat = _rooted(flat, wall)
    if flat.is_empty():
        return Manifold()
    return embossed(flat, radius, lean, side).translate((0.0, 0.0, sleeve.label_from))


def _rooted(letters: CrossSection, wall: CrossSection) -> CrossSection:
    """Those outlines of letters that have wall behind all of them."""
    kept = CrossSection()
    if (letters - wall).area() < SLIVER_MM**2:
        return letters
    for letter in letters.decompose():
        if (letter - wall).area() < SLIVER_MM**2:
            kept = kept + letter
    return kept


def embossed(flat: CrossSection, radius: float, lean: float, side: int = -1) -> Manifold:
    """Letters, drawn in (-side z, y), raised from the plane x = side radius."""
    raised = flat.extrude(ROOT_MM + RELIEF_MM)
    place = np.array(
        [
            [0.0, 0.0, side, side * (radius - ROOT_MM)],
            [0.0, 1.0, 0.0, 0.0],
            [-side, 0.0, lean, -lean * ROOT_MM],
        ]
    )
    return raised.transform(place)


def with_arrow(line: Line, side: int = -1) -> Line:
    """The line with an arrow towards the end, as it reads on that side: after it or before it."""
    head = arrow(line.cap)
    gap = ARROW_GAP_PER_CAP * line.cap
    width = line.width + gap + head.width
    if side > 0:
        outline = line.outline.translate((head.width + gap, 0.0))
        back = head.outline.mirror((1.0, 0.0)).translate((head.width, 0.0))
        return Line(f"← {line.text}", outline + back, width, line.cap)
    outline = line.outline + head.outline.translate((line.width + gap, 0.0))
    return Line(f"{line.text} {head.text}", outline, width, line.cap)


def arrow_room(cap: float) -> float:
    """What an arrow adds to a line with capitals of `cap` mm."""
    return ARROW_GAP_PER_CAP * cap + arrow(cap).width


def tidy(body: Manifold) -> Manifold:
    """Without triangles too thin for a mesh file, which holds single precision."""
    return solid(*tidied(*arrays(body)))
