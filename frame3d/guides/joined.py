"""One guide for both ends of a short tube: two sleeves that meet edge to edge, on loose dowels.

Printed lengths and dowel holes set how far the copes stand apart and how they are turned to each
other; no mark on the tube does.
"""

from dataclasses import replace

import numpy as np
from manifold3d import Manifold

from frame3d.guides.guide_length import lengthened, shortest
from frame3d.guides.guide_section import CORNER_MM, LEAD_IN_MM, Section
from frame3d.guides.place import Array, outside_changes
from frame3d.guides.sleeve import RELIEF_MM, Sleeve
from frame3d.guides.upright import quarter_turn
from frame3d.model import Frame, Printer, Tube

JOIN = "JOIN"  # as embossed
DOWEL_MM = 3.0  # rod of this size is common
DOWEL_LONG_MM = 15.0
HOLE_MM = 8.0  # deep in each sleeve, so that a dowel never holds the edges apart
SLIDE_MM = 0.1  # towards the axis and away, beside what the bore closes
FROM_SIDES_MM = CORNER_MM + DOWEL_MM / 2 + 0.5  # of the foot to a hole's middle


def joined(frame: Frame, tube: Tube, sleeves: list[Sleeve], printer: Printer) -> list[Sleeve] | str:
    """A tube's two sleeves, longer so that they meet in the middle between both; or why they cannot
    be one guide."""
    if sum(sleeve.length for sleeve in sleeves) > tube.length:
        sleeves = [shortest(sleeve, printer.hold, JOIN) for sleeve in sleeves]
    lengths = [sleeve.length for sleeve in sleeves]
    apart = tube.length - sum(lengths)
    whole = tube.length + sum(sleeve.top - sleeve.length for sleeve in sleeves)
    if tube.bends or outside_changes(tube):
        return f"{tube.name} is {'bent' if tube.bends else 'tapered'}"
    if whole > max(printer.bed):
        return f"it would be {whole:.1f} mm long, more than the bed's {max(printer.bed):g} mm"
    if apart < 0:
        return (
            f"its two sleeves take at least {lengths[0]:.1f} and {lengths[1]:.1f} of the tube's "
            f"{tube.length:.1f} mm"
        )
    if any(hole.tube == tube.name for hole in frame.holes):
        return "it would leave no room for the guides of the tube's holes"
    if not _dowels_fit(sleeves[0].section, sleeves[0].clearance, printer):
        return "its foot is too narrow for two dowels"
    made = [_lifted(sleeve, apart / 2) for sleeve in sleeves]
    if any(quarter_turn(_size(sleeve), printer) is None for sleeve in made):
        return "one of its two sleeves does not fit the bed in one part"
    return made


def dowel_holes(sleeve: Sleeve) -> list[Manifold]:
    """Blind holes out of the setting edge at z = 0, in both lower corners: as wide as the dowel
    across, and longer the way that the closing bore takes them, so that neither sleeve turns."""
    x, y = _corner(sleeve.section)
    held = sleeve.place.tightening.closed(np.array([[x, y], [-x, y]]))
    holes = []
    for at, to in zip(((x, y), (-x, y)), held, strict=True):
        inward = to - at
        turn = float(np.degrees(np.arctan2(inward[1], inward[0])))
        hole = _hole(sleeve.clearance + SLIDE_MM, sleeve.grip.lean)
        holes.append(hole.rotate((0.0, 0.0, turn)).translate((*at, 0.0)))
    return holes


def _hole(slide: float, lean: float) -> Manifold:
    """Around z = 0 up, longer along x by `slide` to either side; wider at the bed, whose first
    layer spreads inward, and under a roof."""
    radius, lead = DOWEL_MM / 2, LEAD_IN_MM * lean
    wide = radius + LEAD_IN_MM
    roof = radius * lean
    shaft = Manifold.cylinder(HOLE_MM + 1.0, radius, radius, 48).translate((0.0, 0.0, -1.0))
    head = Manifold.cylinder(roof, radius, 0.0, 48).translate((0.0, 0.0, HOLE_MM))
    mouth = Manifold.cylinder(lead, wide, radius, 48)
    below = Manifold.cylinder(1.0, wide, wide, 48).translate((0.0, 0.0, -1.0))
    ways = [(-slide, 0.0, 0.0), (slide, 0.0, 0.0)]
    long = [Manifold.batch_hull([b.translate(w) for b in two for w in ways])
            for two in ((shaft, head), (mouth, below))]  # fmt: skip
    return long[0] + long[1]


def _corner(section: Section) -> tuple[float, float]:
    return section.radius - FROM_SIDES_MM, -(section.foot - FROM_SIDES_MM)


def _dowels_fit(section: Section, clearance: float, printer: Printer) -> bool:
    """Whether there is wall between both holes, and between them and the bore."""
    x, y = _corner(section)
    reach = DOWEL_MM / 2 + LEAD_IN_MM + clearance + SLIDE_MM + printer.thinnest
    return x > reach and float(np.hypot(x, y)) - section.bore > reach


def _lifted(sleeve: Sleeve, by: float) -> Sleeve:
    """The same guide with its setting edge farther from the cope; clamps and letters stay."""
    longer = lengthened(sleeve, by)
    first, *rest = longer.grip.raised
    letters = sleeve.label_from + (0.0 if sleeve.grip.beside_letters else by)
    grip = replace(longer.grip, raised=(first + by, *rest))
    return replace(longer, grip=grip, label_from=letters)


def _size(sleeve: Sleeve) -> Array:
    """Width, depth and height, mm: (3,)."""
    blank = sleeve.section.outline().extrude(sleeve.top) + sleeve.grip.ears()
    low, high = np.reshape(blank.bounding_box(), (2, 3))
    return np.asarray(high - low + [RELIEF_MM, 0.0, 0.0])
