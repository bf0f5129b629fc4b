"""Holes of a tube: where to drill them, what they run into, and where a joint can be vented."""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations, pairwise

import numpy as np

from frame3d.fit.vents import VENT_EDGE_MM, laid_flat, vent_places
from frame3d.model import ENDS, Frame, Hole, Joint, Tube
from frame3d.shop.lines import line_between
from frame3d.shop.numbers import direction_angle, length, printed
from frame3d.shop.section import arc
from frame3d.surfaces.cope import Cope, Copes
from frame3d.surfaces.surface import Array

LEAST_WEB_MM = 2.0  # metal wanted around a hole; own choice, no source


@dataclass(frozen=True)
class DrillHole:
    """A hole as it is marked and drilled."""

    kind: str = printed("", "what it is for")
    at: float = printed("mm", "centre, from the tube's start point along the axis")
    from_end: float = printed(
        "mm",
        "centre, from the start end of the blank as sawn off, along the outside at its angle, "
        "round bends too",
    )
    angle: float = printed("deg", "centre, from the datum, clockwise as seen from the start end")
    around: float = printed("mm", "the same around the outside, clockwise from the datum line")
    diameter: float = printed("mm", "of the drill")


@dataclass(frozen=True)
class Vent:
    """Where a hole in this tube would vent another, inside the footprint of its coped end."""

    vented: str = printed("", "tube that would be vented")
    end: str = printed("", "its coped end")
    at: float = printed("mm", "centre, from this tube's start point along the axis")
    angle: float = printed("deg", "centre, from the datum, clockwise as seen from the start end")
    largest: float = printed("mm", "largest drill that stays inside the vented tube's bore")


@dataclass(frozen=True)
class Drilling:
    """All drilling of one tube."""

    tube: str = printed("", "name of the tube")
    holes: tuple[DrillHole, ...] = printed("", "holes, in the job's order")
    vents: tuple[Vent, ...] = printed("", "places for vents into coped tubes that meet this one")
    conflicts: tuple[str, ...] = printed("", "what the holes run into")


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
    found = ((t.name, words) for t in frame.tubes for words in _conflicts(frame, t, copes))
    return HoleConflicts(len(frame.holes), tuple(found))


def drilling(frame: Frame, tube: Tube, copes: Copes, start_point: float) -> Drilling:
    """start_point: from the blank's start end to the tube's start point, mm."""
    return Drilling(
        tube.name,
        tuple(_marked(tube, hole, start_point) for hole in _holes_of(frame, tube)),
        tuple(_vents(frame, tube, copes)),
        tuple(_conflicts(frame, tube, copes)),
    )


def _holes_of(frame: Frame, tube: Tube) -> list[Hole]:
    return [hole for hole in frame.holes if hole.tube == tube.name]


def _marked(tube: Tube, hole: Hole, start_point: float) -> DrillHole:
    turn = hole.angle % 360.0
    return DrillHole(
        kind=hole.kind,
        at=length(hole.at),
        from_end=length(line_between(tube, np.radians(turn), -start_point, hole.at)),
        angle=direction_angle(turn),
        around=length(float(arc(tube, np.asarray(hole.at), np.radians([turn]))[0])),
        diameter=length(hole.diameter),
    )


def _conflicts(frame: Frame, tube: Tube, copes: Copes) -> Iterator[str]:
    holes = _holes_of(frame, tube)
    for hole in holes:
        yield from _at_ends(tube, hole, copes)
        yield from _at_butts(tube, hole)
        for joint in frame.joints:
            if tube.name in joint.onto and (joint.tube, joint.end) in copes:
                yield from _at_joint(tube, hole, joint, copes[joint.tube, joint.end])
    for one, other in combinations(holes, 2):
        web = float(np.hypot(*_apart(tube, one, other))) - (one.diameter + other.diameter) / 2
        if web < LEAST_WEB_MM:
            yield (
                f"the {_named(one)} and the {_named(other)} leave {max(web, 0):.1f} mm between "
                f"them, less than {LEAST_WEB_MM:g} mm"
            )


def _named(hole: Hole) -> str:
    return f"{hole.kind} hole at {hole.at:g} mm"


def _apart(tube: Tube, one: Hole, other: Hole) -> tuple[float, float]:
    """Along the tube and around its outside, mm."""
    turn = np.radians((other.angle - one.angle + 180.0) % 360.0 - 180.0)
    return other.at - one.at, float(turn * tube.od(one.at) / 2)


def _at_ends(tube: Tube, hole: Hole, copes: Copes) -> Iterator[str]:
    """Too near to where the tube's own metal ends."""
    radius = float(tube.od(hole.at)) / 2
    reach = hole.diameter / 2 + LEAST_WEB_MM
    theta = np.radians(hole.angle) + np.linspace(-1, 1, 41) * reach / radius
    for end in ENDS:
        inward = hole.at if end == "start" else tube.length - hole.at
        cope = copes.get((tube.name, end))
        stop = cope.position(theta, np.ones_like(theta)) if cope else np.zeros_like(theta)
        around = (theta - np.radians(hole.angle)) * radius
        square = np.min(np.hypot(np.maximum(inward + stop, 0.0), around))
        if square < reach:
            yield (
                f"the {_named(hole)} comes within {LEAST_WEB_MM:g} mm of the {end} of {tube.name}, "
                "where it is joined or cut"
            )


def _at_butts(tube: Tube, hole: Hole) -> Iterator[str]:
    low, high = hole.at - hole.diameter / 2, hole.at + hole.diameter / 2
    for profile in (tube.wall, tube.od, *([tube.oval.across] if tube.oval else [])):
        for (a, u), (b, v) in pairwise(zip(profile.at, profile.value, strict=True)):
            if u != v and a < high and b > low:
                yield (f"the {_named(hole)} stands on the butt's transition from {a:g} to {b:g} mm")


def _at_joint(tube: Tube, hole: Hole, joint: Joint, cope: Cope) -> Iterator[str]:
    """Under the wall of a tube that is joined here; or, but for a vent, inside it."""
    theta = cope.theta
    edges = [
        laid_flat(tube, cope.points(theta, np.full_like(theta, d)), hole.at, hole.angle)
        for d in (0.0, 1.0)
    ]
    near = min(float(np.nanmin(np.hypot(*edge.T))) for edge in edges)
    inside = _encloses(edges[1])
    if near < hole.diameter / 2 or inside != _encloses(edges[0]):
        yield f"the {_named(hole)} cuts into the joint of {joint.tube}"
    elif inside and hole.kind != "vent":
        yield f"the {_named(hole)} is covered by {joint.tube}"
    elif near < hole.diameter / 2 + VENT_EDGE_MM:
        yield (
            f"the {_named(hole)} leaves less than {VENT_EDGE_MM:g} mm to the joint of {joint.tube}"
        )


def _encloses(loop: Array) -> bool:
    """Whether a closed loop (N, 2) goes around the origin."""
    turn = np.arctan2(loop[:, 1], loop[:, 0])
    step = (np.roll(turn, -1) - turn + np.pi) % (2 * np.pi) - np.pi
    return bool(abs(np.nansum(step)) > np.pi)


def _vents(frame: Frame, tube: Tube, copes: Copes) -> Iterator[Vent]:
    for place in vent_places(frame, copes):
        if place.mate == tube.name:
            yield Vent(
                place.joint.tube,
                place.joint.end,
                length(place.at),
                direction_angle(place.angle),
                length(place.largest),
            )
