"""A guide as the printer makes it: one part or several, each standing on the bed, cope up."""

import math
from dataclasses import dataclass

import numpy as np
from manifold3d import CrossSection, JoinType, Manifold

from frame3d.guides.place import Array
from frame3d.guides.refuse import GuideError
from frame3d.model import Printer

PIN_RADIUS_MM = 2.0
PIN_MM = 5.0  # how far a pin stands up
PIN_ROOM_MM = 0.2  # around a pin, a side
NEAR_CUT_MM = 0.01


@dataclass(frozen=True, eq=False)
class Part:
    """One body to print.

    solid:    as in the file: on the bed at z = 0, x and y from 0, larger by the shrinkage
    to_whole: from there to the coordinates in which the whole guide was made, (4, 4)
    what:     "whole", or which part it is
    """

    what: str
    solid: Manifold
    to_whole: Array

    @property
    def size(self) -> Array:
        """Width, depth and height, mm: (3,)."""
        box = np.reshape(self.solid.bounding_box(), (2, 3))
        return np.asarray(box[1] - box[0])


def parts_of(whole: Manifold, printer: Printer) -> tuple[Part, ...]:
    """The bodies of a guide, cut to the bed's height where need be. Raises GuideError."""
    bodies = sorted(whole.decompose(), key=lambda body: -body.bounding_box()[4])
    if len(bodies) == 1:
        named = [("", bodies[0])]
    else:
        named = [("upper half", bodies[0]), ("lower half", bodies[1])]
    parts = []
    for what, body in named:
        pieces = _cut_to_height(body, printer)
        for number, piece in enumerate(pieces, start=1):
            of = f"part {number} of {len(pieces)}" if len(pieces) > 1 else ""
            label = ", ".join(text for text in (what, of) if text) or "whole"
            parts.append(_on_the_bed(label, piece, printer))
    return tuple(parts)


def _cut_to_height(body: Manifold, printer: Printer) -> list[Manifold]:
    """The body in as few equal heights as the bed takes, with pins between them."""
    low, high = body.bounding_box()[2], body.bounding_box()[5]
    room = printer.bed[2] / printer.scale - PIN_MM
    if high - low <= printer.bed[2] / printer.scale:
        return [body]
    count = math.ceil((high - low) / room)
    pieces, rest = [], [body]
    for level in np.linspace(low, high, count + 1)[1:-1]:
        upper = []
        for piece in rest:
            below, above = _pinned(piece, float(level), printer)
            pieces.append(below)
            upper += above
        rest = upper
    return pieces + rest


def _pinned(body: Manifold, level: float, printer: Printer) -> tuple[Manifold, list[Manifold]]:
    """The body below a level, with pins, and the bodies above it, with their holes."""
    above, below = body.split_by_plane((0.0, 0.0, 1.0), level)
    uppers = []
    for upper in above.decompose():
        for x, y in _pin_places(below, upper, level, printer):
            below = below + _peg(PIN_RADIUS_MM, PIN_MM, 1.0).translate((x, y, level))
            hole = _peg(PIN_RADIUS_MM + PIN_ROOM_MM, PIN_MM + 0.5, printer.lean)
            upper = upper - hole.translate((x, y, level))
        uppers.append(upper)
    return below, uppers


def _pin_places(
    below: Manifold, upper: Manifold, level: float, printer: Printer
) -> list[tuple[float, float]]:
    """Two places with enough wall around a pin, as far from each other as can be."""
    top = PIN_MM + 0.5 + (PIN_RADIUS_MM + PIN_ROOM_MM) * printer.lean + printer.thinnest
    room: CrossSection = below.slice(level - NEAR_CUT_MM)
    for height in (level + NEAR_CUT_MM, level + top):
        room = room ^ upper.slice(height)
    room = room.offset(-(PIN_RADIUS_MM + PIN_ROOM_MM + printer.thinnest), JoinType.Round)
    if room.is_empty():
        raise GuideError(
            f"the guide is higher than the bed's {printer.bed[2]:g} mm, and where it would be cut, "
            f"{level:.0f} mm above its setting edge, is no room for locating pins: a wall or foot "
            f"of more than {printer.wall:g} and {printer.foot:g} mm, or a higher bed would do"
        )
    points = np.concatenate(room.to_polygons())
    first = points[np.linalg.norm(points - points.mean(axis=0), axis=1).argmax()]
    apart = np.linalg.norm(points - first, axis=1)
    pair = [first, points[apart.argmax()]] if apart.max() > 4 * PIN_RADIUS_MM else [first]
    return [(float(x), float(y)) for x, y in pair]


def _peg(radius: float, height: float, lean: float) -> Manifold:
    """A pin with a pointed head that needs no support, with a root of 1 mm below z = 0."""
    shaft = Manifold.cylinder(height + 1.0, radius, radius, 48).translate((0.0, 0.0, -1.0))
    head = Manifold.cylinder(radius * lean, radius, 0.0, 48).translate((0.0, 0.0, height))
    return shaft + head


def _on_the_bed(what: str, body: Manifold, printer: Printer) -> Part:
    """Stood at the bed's corner, turned by a quarter where it only fits so."""
    scale = printer.scale
    for turn in (0.0, 90.0):
        turned = body.rotate((0.0, 0.0, turn))
        low = np.array(turned.bounding_box()[:3])
        size = scale * (np.array(turned.bounding_box()[3:]) - low)
        if np.all(size <= printer.bed):
            placed = turned.translate(tuple(-low)).scale((scale, scale, scale))
            return Part(what, placed, _back(turn, low, scale))
    sizes = " x ".join(f"{length:.0f}" for length in size)
    bed = " x ".join(f"{length:g}" for length in printer.bed)
    raise GuideError(
        f"the guide, {sizes} mm, does not fit the bed of {bed} mm: a larger bed, or opening = "
        f'"halves" where that is not set, would do'
    )


def _back(turn: float, low: Array, scale: float) -> Array:
    """The inverse of: turn about z, take `low` off, enlarge."""
    angle = math.radians(turn)
    cos, sin = round(math.cos(angle)), round(math.sin(angle))
    matrix = np.eye(4)
    matrix[:3, :3] = np.array([[cos, sin, 0], [-sin, cos, 0], [0, 0, 1]]) / scale
    matrix[:3, 3] = matrix[:3, :3] @ (scale * low)
    return matrix
