"""A guide as the printer makes it: one part or several, each standing on the bed, cope up."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from manifold3d import CrossSection, JoinType, Manifold

from frame3d.guides.guide_error import GuideError
from frame3d.guides.place import Array
from frame3d.guides.upright import Kept, cut_to_width, quarter_turn
from frame3d.model import Printer

PIN_RADII_MM = (2.0, 1.2)  # the thicker where the wall has room
PIN_MM = 5.0  # how far a pin stands up
PIN_ROOM_MM = 0.2  # around a pin, a side
NEAR_CUT_MM = 0.01
CRUMBS_MM3 = 1.0  # what may fall off; a whole guide has thousands
STEP_MM = 1.0  # between the heights that are tried for a cut


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


def parts_of(
    whole: Manifold, halves: bool, printer: Printer, kept: Sequence[Kept] = ()
) -> tuple[Part, ...]:
    """One body or two halves, cut to the bed where need be; upright cuts leave what is `kept`.

    Raises GuideError.
    """
    bodies = sorted(whole.decompose(), key=lambda body: -body.volume())
    names = ("upper half", "lower half") if halves else ("",)
    bodies, rest = bodies[: len(names)], bodies[len(names) :]
    if sum(body.volume() for body in rest) > CRUMBS_MM3 or len(bodies) < len(names):
        raise GuideError(
            "its slits, windows and cope cut it into loose pieces: cut by a paper wrap"
        )
    bodies.sort(key=lambda body: -body.bounding_box()[4])
    named = zip(names, bodies, strict=True)
    parts = []
    for what, body in named:
        pieces = [
            piece
            for high in _cut_to_height(body, printer)
            for piece in cut_to_width(high, printer, kept)
        ]
        for number, piece in enumerate(pieces, start=1):
            of = f"part {number} of {len(pieces)}" if len(pieces) > 1 else ""
            label = ", ".join(text for text in (what, of) if text) or "whole"
            parts.append(_on_the_bed(label, piece, printer))
    return tuple(parts)


def _cut_to_height(body: Manifold, printer: Printer) -> list[Manifold]:
    """The body in as few heights as the bed takes, with pins between them. Raises GuideError."""
    low, high = body.bounding_box()[2], body.bounding_box()[5]
    room = printer.bed[2] / printer.scale - PIN_MM
    if high - low <= printer.bed[2] / printer.scale:
        return [body]
    fewest = math.ceil((high - low) / room)
    try:
        return _in_heights(body, fewest, room, printer)
    except GuideError:
        return _in_heights(body, fewest + 1, room, printer)


def _in_heights(body: Manifold, count: int, room: float, printer: Printer) -> list[Manifold]:
    """The body in `count` heights of at most `room` mm, as equal as the pins find wall."""
    low, high = body.bounding_box()[2], body.bounding_box()[5]
    pieces, rest, below = [], [body], low
    for k in range(1, count):
        first, last = max(high - (count - k) * room, below + STEP_MM), below + room
        levels = np.arange(first, last + NEAR_CUT_MM, STEP_MM)
        equal = low + (high - low) * k / count
        for level in sorted(levels.tolist(), key=lambda level: abs(level - equal)):
            try:
                cut = [_pinned(piece, level, printer) for piece in rest]
                break
            except GuideError as why:
                refusal = why
        else:
            raise refusal
        pieces += [lower for lower, _ in cut]
        rest = [upper for _, uppers in cut for upper in uppers]
        below = level
    return pieces + rest


def _pinned(body: Manifold, level: float, printer: Printer) -> tuple[Manifold, list[Manifold]]:
    """The body below a level, with pins, and the bodies above it, with their holes."""
    above, below = body.split_by_plane((0.0, 0.0, 1.0), level)
    uppers = []
    for upper in above.decompose():
        radius, places = _pin_places(below, upper, level, printer)
        for x, y in places:
            below = below + _peg(radius, PIN_MM, 1.0).translate((x, y, level))
            hole = _peg(radius + PIN_ROOM_MM, PIN_MM + 0.5, printer.lean)
            upper = upper - hole.translate((x, y, level))
        uppers.append(upper)
    return below, uppers


def _pin_places(
    below: Manifold, upper: Manifold, level: float, printer: Printer
) -> tuple[float, list[tuple[float, float]]]:
    """The pins' radius and two places with enough wall around them, as far from each other as can
    be."""
    for radius in PIN_RADII_MM:
        top = PIN_MM + 0.5 + (radius + PIN_ROOM_MM) * printer.lean + printer.thinnest
        room: CrossSection = below.slice(level - NEAR_CUT_MM)
        for height in (level + NEAR_CUT_MM, level + top):
            room = room ^ upper.slice(height)
        room = room.offset(-(radius + PIN_ROOM_MM + printer.thinnest), JoinType.Round)
        if not room.is_empty():
            break
    else:
        raise GuideError(
            f"the guide is higher than the bed's {printer.bed[2]:g} mm, and where it would be cut, "
            f"{level:.0f} mm above its setting edge, is no room for locating pins: a wall or foot "
            f"of more than {printer.wall:g} and {printer.foot:g} mm, or a higher bed would do"
        )
    points = np.concatenate(room.to_polygons())
    first = points[np.linalg.norm(points - points.mean(axis=0), axis=1).argmax()]
    apart = np.linalg.norm(points - first, axis=1)
    pair = [first, points[apart.argmax()]] if apart.max() > 4 * radius else [first]
    return radius, [(float(x), float(y)) for x, y in pair]


def _peg(radius: float, height: float, lean: float) -> Manifold:
    """A pin with a pointed head that needs no support, with a root of 1 mm below z = 0."""
    shaft = Manifold.cylinder(height + 1.0, radius, radius, 48).translate((0.0, 0.0, -1.0))
    head = Manifold.cylinder(radius * lean, radius, 0.0, 48).translate((0.0, 0.0, height))
    return shaft + head


def _on_the_bed(what: str, body: Manifold, printer: Printer) -> Part:
    """Stood at the bed's corner, turned by a quarter where it only fits so."""
    scale = printer.scale
    turn = quarter_turn(np.diff(np.reshape(body.bounding_box(), (2, 3)), axis=0)[0], printer)
    assert turn is not None  # it was cut to the bed
    turned = body.rotate((0.0, 0.0, turn))
    low = np.array(turned.bounding_box()[:3])
    placed = turned.translate(tuple(-low)).scale((scale, scale, scale))
    return Part(what, placed, _back(turn, low, scale))


def _back(turn: float, low: Array, scale: float) -> Array:
    """The inverse of: turn about z, take `low` off, enlarge."""
    angle = math.radians(turn)
    cos, sin = round(math.cos(angle)), round(math.sin(angle))
    matrix = np.eye(4)
    matrix[:3, :3] = np.array([[cos, sin, 0], [-sin, cos, 0], [0, 0, 1]]) / scale
    matrix[:3, 3] = matrix[:3, :3] @ (scale * low)
    return matrix
