"""Holes of a tube: what they run into."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise, product

import numpy as np

from frame3d.model import ENDS, Frame, Hole, Joint, Pinch, Tube, axis_at, station_of
from frame3d.model.tube_section import arc, semi_axes
from frame3d.surfaces.cope import Cope, Copes
from frame3d.surfaces.surface import Array

LEAST_WEB_MM = 2.0  # metal wanted around a hole; own choice, no source
VENT_EDGE_MM = 1.0  # between a vent and the bore of the tube it vents; own choice, no source
SQUARE_DEG = 1.0  # a hole that leans more is not square to a flat; own choice, no source


@dataclass(frozen=True)
class HoleConflicts:
    """The report's section on holes: how many there are, and what they run into, each conflict
    with its tube."""

    count: int
    conflicts: tuple[tuple[str, str], ...]
    key: str = "holes"

    @property
    def passes(self) -> bool:
        return not self.conflicts

    def as_json(self) -> dict[str, object]:
        return {
            "count": self.count,
            "verdict": "pass" if self.passes else "fail",
            "conflicts": [{"tube": tube, "conflict": words} for tube, words in self.conflicts],
        }


def hole_conflicts(frame: Frame, copes: Copes) -> HoleConflicts:
    """What all holes of a frame run into."""
    found = ((t.name, words) for t in frame.tubes for words in conflicts_of(frame, t, copes))
    return HoleConflicts(len(frame.holes), tuple(found))


def conflicts_of(frame: Frame, tube: Tube, copes: Copes) -> Iterator[str]:
    """What a tube's holes run into, and which stand too near each other."""
    holes = frame.holes_of(tube.name)
    for hole in holes:
        yield from hole_runs_into(frame, tube, hole, copes)
    for one, other in _neighbours(holes):
        pairs = product(one.angles, other.angles)
        web = min(_apart(tube, one.at, other.at, a, b) for a, b in pairs)
        web -= (one.diameter + other.diameter) / 2
        if web < LEAST_WEB_MM:
            yield (
                f"the {_named(one)} and the {_named(other)} leave {max(web, 0):.1f} mm between "
                f"them, less than {LEAST_WEB_MM:g} mm"
            )


def _neighbours(holes: Sequence[Hole]) -> Iterator[tuple[Hole, Hole]]:
    """Pairs that may stand too near each other along the tube, in the job's order."""
    order = sorted(range(len(holes)), key=lambda k: holes[k].at)
    widest = max((hole.diameter for hole in holes), default=0.0)
    near = []
    for place, k in enumerate(order):
        for other in order[place + 1 :]:
            if holes[other].at - holes[k].at >= widest + LEAST_WEB_MM:
                break
            near.append((min(k, other), max(k, other)))
    return ((holes[k], holes[other]) for k, other in sorted(near))


def hole_runs_into(frame: Frame, tube: Tube, hole: Hole, copes: Copes) -> Iterator[str]:
    """What one hole runs into, other holes aside."""
    for shape in frame.shapes_of(tube.name):
        if isinstance(shape, Pinch):
            yield from _in_flat(tube, hole, shape)
    yield from _at_butts(tube, hole)
    for angle in hole.angles:
        yield from _at_ends(tube, hole, angle, copes)
        for joint in frame.joints:
            if tube.name in joint.onto and (joint.tube, joint.end) in copes:
                yield from _at_joint(tube, hole, angle, joint, copes[joint.tube, joint.end])


def laid_flat(tube: Tube, points: Array, at: float, angle: float) -> Array:
    """A line of points (N, 3) near the tube's outside as (N, 2), mm: along and around the outside
    from the place `at` mm along its axis, `angle` degrees from its datum.

    The line stays whole where it passes the side opposite to that place.
    """
    flat = np.full((len(points), 2), np.nan)
    known = np.isfinite(points).all(axis=1)
    if not known.any():
        return flat
    centre, axis, up = axis_at(tube, at)
    relative = points[known] - centre
    from_datum = np.arctan2(relative @ np.cross(axis, up), relative @ up)
    turn = np.unwrap(from_datum - np.radians(angle))
    turn -= 2 * np.pi * np.round(turn.mean() / (2 * np.pi))
    flat[known, 0] = station_of(tube, points[known]) - at
    flat[known, 1] = _around(tube, at, angle, turn)
    return flat


def encloses(loop: Array) -> bool:
    """Whether a closed loop (N, 2) goes around the origin."""
    loop = loop[np.isfinite(loop).all(axis=1)]
    turn = np.arctan2(loop[:, 1], loop[:, 0])
    step = (np.roll(turn, -1) - turn + np.pi) % (2 * np.pi) - np.pi
    return bool(abs(step.sum()) > np.pi)


def edges_at(tube: Tube, at: float, angle: float, cope: Cope) -> tuple[Array, Array]:
    """Edges (N, 2) of the bore and the outside of a coped end on its mate, laid flat."""
    theta = cope.theta
    bore, outside = (
        laid_flat(tube, cope.points(theta, np.full_like(theta, depth)), at, angle)
        for depth in (0.0, 1.0)
    )
    return bore, outside


def _around(tube: Tube, at: float, angle: float, turn: Array) -> Array:
    """Around the outside from an angle, degrees, on by turns (N,), radians; mm."""
    here = np.radians(angle)
    return arc(tube, np.asarray(at), here + turn) - arc(tube, np.asarray(at), np.array([here]))


def _apart(tube: Tube, at: float, to: float, angle: float, other: float) -> float:
    """Between two places on a tube's outside: along and around it, mm."""
    turn = np.radians((other - angle + 180.0) % 360.0 - 180.0)
    (around,) = _around(tube, (at + to) / 2, angle, np.array([turn]))
    return float(np.hypot(to - at, around))


def _named(hole: Hole) -> str:
    return f"{hole.kind} hole at {hole.at:g} mm"


def _in_flat(tube: Tube, hole: Hole, pinch: Pinch) -> Iterator[str]:
    """In a pinched flat only a bolt's way makes sense: through both walls, square to them."""
    inward = hole.at if pinch.end == "start" else tube.length - hole.at
    if inward >= pinch.length:
        return
    lean = abs((hole.angle - pinch.angle) % 180.0 - 90.0)
    if not hole.through:
        yield (
            f"the {_named(hole)} stands in the flat pinched at the {pinch.end}, where the walls "
            "touch and there is no bore: through = true makes it a hole through both"
        )
    if lean > SQUARE_DEG:
        square = (pinch.angle + 90.0) % 360.0
        yield (
            f"the {_named(hole)} leans {lean:g}° in the flat pinched at the {pinch.end}, expected "
            f"square to it: angle_deg = {square:g}"
        )


def _at_ends(tube: Tube, hole: Hole, angle: float, copes: Copes) -> Iterator[str]:
    """Too near to where the tube's own metal ends."""
    reach = hole.diameter / 2 + LEAST_WEB_MM
    least = float(min(semi_axes(tube, np.asarray(hole.at))))
    turn = np.linspace(-1, 1, 81) * min(reach / least, np.pi)
    theta, around = np.radians(angle) + turn, _around(tube, hole.at, angle, turn)
    for end in ENDS:
        inward = hole.at if end == "start" else tube.length - hole.at
        cope = copes.get((tube.name, end))
        stop = cope.position(theta, np.ones_like(theta)) if cope else np.zeros_like(theta)
        square = np.min(np.hypot(np.maximum(inward + stop, 0.0), around))
        if square < reach:
            yield (
                f"the {_named(hole)} comes within {LEAST_WEB_MM:g} mm of the {end} of {tube.name}, "
                "where it is joined or cut"
            )


def _at_butts(tube: Tube, hole: Hole) -> Iterator[str]:
    low, high = hole.at - hole.diameter / 2, hole.at + hole.diameter / 2
    for (a, u), (b, v) in pairwise(zip(tube.wall.at, tube.wall.value, strict=True)):
        if u != v and a < high and b > low:
            yield (f"the {_named(hole)} stands on the butt's transition from {a:g} to {b:g} mm")


def _at_joint(tube: Tube, hole: Hole, angle: float, joint: Joint, cope: Cope) -> Iterator[str]:
    """Under the wall of a tube that is joined here; or, but for a vent, inside it."""
    bore, outside = edges_at(tube, hole.at, angle, cope)
    near = float(np.nanmin(np.hypot(*np.concatenate([bore, outside]).T), initial=np.inf))
    inside = encloses(outside)
    if near < hole.diameter / 2 or inside != encloses(bore):
        yield f"the {_named(hole)} cuts into the joint of {joint.tube}"
    elif inside and hole.kind != "vent":
        yield f"the {_named(hole)} is covered by {joint.tube}"
    elif near < hole.diameter / 2 + VENT_EDGE_MM:
        yield (
            f"the {_named(hole)} leaves less than {VENT_EDGE_MM:g} mm to the joint of {joint.tube}"
        )
