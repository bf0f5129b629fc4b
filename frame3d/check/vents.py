"""Where air can get out of the insides of tubes, and where a vent goes where it cannot."""

import json
from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import numpy as np

from frame3d.check.hole_conflicts import VENT_EDGE_MM, edges_at, encloses, hole_runs_into, laid_flat
from frame3d.model import (
    ENDS,
    Dome,
    End,
    EndShape,
    Frame,
    Hole,
    Joint,
    Pinch,
    Plug,
    Slot,
    Tube,
    axis_at,
    station_of,
)
from frame3d.surfaces.cope import Cope, Copes

AIR = ""  # no tube has this name
LEAST_VENT_MM = 3.0  # drill wanted for a vent; own choice, no source
USUAL_VENT_MM = 5.0  # most that is offered; own choice, no source
MOST_OF_EDGE = 0.6  # a mate that carries less of a joint's edge is not where it is vented
FREE_END_MM = 60.0  # how far from an end a place is sought for a vent through the own wall
OPEN_KINDS = ("vent", "bolt")  # holes that stay open; into all others something is brazed
AROUND_DEG = (180.0, 90.0, 270.0, 0.0)  # where water drains out first
CLOSING: dict[type, str] = {
    Slot: "slot brazed shut",
    Plug: "plugged",
    Dome: "capped",
    Pinch: "pinched flat",
}


@dataclass(frozen=True)
class VentPlace:
    """A hole in a mate, inside the footprint of a tube's bore.

    at: centre, from the mate's start along its axis, mm; angle: of the centre from the mate's
    datum, clockwise as seen from its start, degrees from 0 to 360; largest: drill that leaves
    VENT_EDGE_MM to the bore, mm
    """

    joint: Joint
    mate: str
    at: float
    angle: float
    largest: float


@dataclass(frozen=True)
class VentAdvice:
    """A tube whose inside has no way to the air. shut: how its ends are closed other than by
    joints; places: in mates, hidden under its joints; hole: ready to be drilled, None where no
    free place was found."""

    tube: str
    shut: tuple[str, ...]
    places: tuple[VentPlace, ...]
    hole: Hole | None

    @property
    def words(self) -> str:
        how = f"closed ({', '.join(self.shut)})" if self.shut else "closed at both ends"
        if self.places:
            where = "inside its bore, " + " or ".join(map(_told, self.places))
        else:
            where = f"of {LEAST_VENT_MM:g} mm or more through its own wall"
        return f"{self.tube} is {how}: first drill a vent {where}"


def hole_toml(hole: Hole) -> str:
    """The hole as it stands in a job file."""
    lines = [
        "[[hole]]",
        f"tube = {json.dumps(hole.tube, ensure_ascii=False)}",
        f"at = {hole.at:g}",
        f"angle_deg = {hole.angle:g}",
        f"diameter = {hole.diameter:g}",
        f'kind = "{hole.kind}"',
    ]
    return "\n".join(lines) + "\n"


def vent_places(frame: Frame, copes: Copes) -> Iterator[VentPlace]:
    """At each joint whose bore stands mainly on one mate and leaves room for a hole: the middle of
    what stands on it."""
    for joint in frame.joints:
        cope = copes.get((joint.tube, joint.end))
        if cope is None:
            continue
        for name in joint.onto:
            place = _place(frame.tube(name), joint, cope)
            if place is not None:
                yield place


def vent_advice(frame: Frame, copes: Copes) -> list[VentAdvice]:
    """Vents that the frame lacks, in an order in which each leads to the air once those before it
    are drilled."""
    ways = _Ways(frame, copes)
    everywhere = list(vent_places(frame, copes))
    advice: list[VentAdvice] = []
    while closed := [name for name in ways.closed if name not in {a.tube for a in advice}]:
        hidden = {
            name: [
                place
                for place in everywhere
                if place.joint.tube == name
                and place.mate not in ways.closed
                and place.largest >= LEAST_VENT_MM
            ]
            for name in closed
        }
        name = next((name for name in closed if hidden[name]), closed[0])
        tube, places = frame.tube(name), tuple(hidden[name])
        offered = (*map(_offered, places), *(_through_own_wall(tube) if not places else ()))
        hole = next((hole for hole in offered if ways.frees(hole, name)), None)
        shut = tuple(CLOSING[type(shape)] for shape in frame.shapes_of(name) if _closes(shape))
        advice.append(VentAdvice(name, shut, places, hole))
        if hole is not None:
            ways.drill(hole)
    return advice


def opens_into(frame: Frame, copes: Copes, hole: Hole, angle: float) -> str | None:
    """What the inside of a hole's tube is joined to where the hole goes through the wall at an
    angle: AIR, a tube whose bore covers it, or None where no bore is behind it or a wall covers it.
    """
    tube = frame.tube(hole.tube)
    for shape in frame.shapes_of(tube.name):
        inward = hole.at if shape.end == "start" else tube.length - hole.at
        if inward < _without_bore(shape):
            return None
    for joint in frame.joints:
        cope = copes.get((joint.tube, joint.end))
        if tube.name in joint.onto and cope is not None:
            bore, outside = edges_at(tube, hole.at, angle, cope)
            if encloses(bore):
                return joint.tube
            if encloses(outside):
                return None
    return AIR


class _Ways:
    """Which insides are joined to each other and to the air."""

    def __init__(self, frame: Frame, copes: Copes) -> None:
        self.frame, self.copes = frame, copes
        self.ways: defaultdict[str, set[str]] = defaultdict(set)
        for tube in frame.tubes:
            if any(_stays_open(frame, tube, end) for end in ENDS):
                self._join(AIR, tube.name)
        for hole in frame.holes:
            self.drill(hole)

    @property
    def closed(self) -> list[str]:
        """Names of tubes without a way to the air, in the job's order."""
        seen, reached = {AIR}, [AIR]
        while reached:
            fresh = self.ways[reached.pop()] - seen
            seen |= fresh
            reached += fresh
        return [tube.name for tube in self.frame.tubes if tube.name not in seen]

    def drill(self, hole: Hole) -> None:
        if hole.kind not in OPEN_KINDS:
            return
        for angle in hole.angles:
            into = opens_into(self.frame, self.copes, hole, angle)
            if into is not None:
                self._join(hole.tube, into)

    def frees(self, hole: Hole, name: str) -> bool:
        """Whether a hole can be drilled and gives a closed tube a way: to the air through its own
        wall, or into a mate that has one."""
        tube = self.frame.tube(hole.tube)
        if any(hole_runs_into(self.frame, tube, hole, self.copes)):
            return False
        into = opens_into(self.frame, self.copes, hole, hole.angle)
        return into == (AIR if hole.tube == name else name)

    def _join(self, one: str, other: str) -> None:
        self.ways[one].add(other)
        self.ways[other].add(one)


def _stays_open(frame: Frame, tube: Tube, end: End) -> bool:
    shaped = any(shape.end == end and _closes(shape) for shape in frame.shapes_of(tube.name))
    return not shaped and frame.joint_at(tube.name, end) is None


def _closes(shape: EndShape) -> bool:
    """A slot only with a plate in it, which is brazed in all around."""
    return not isinstance(shape, Slot) or shape.plate is not None


def _without_bore(shape: EndShape) -> float:
    """From the end inward, mm."""
    if isinstance(shape, Pinch):
        return shape.length
    return shape.thickness if isinstance(shape, Plug) else 0.0


def _place(mate: Tube, joint: Joint, cope: Cope) -> VentPlace | None:
    points = cope.points(cope.theta, np.zeros_like(cope.theta))
    points = points[np.isfinite(points).all(axis=1)]
    if len(points) == 0:
        return None
    nearest = np.argmin([surface.distance(points) for surface in cope.mates], axis=0)
    own = points[nearest == joint.onto.index(mate.name)]
    if len(own) < MOST_OF_EDGE * len(cope.theta):
        return None
    along = station_of(mate, own)
    centre, axis, up = axis_at(mate, float(along.mean()))
    off = own.mean(axis=0) - centre
    angle = float(np.degrees(np.arctan2(off @ np.cross(axis, up), off @ up)))
    at = float((along.min() + along.max()) / 2)
    room = float(np.hypot(*laid_flat(mate, own, at, angle).T).min()) - VENT_EDGE_MM
    return VentPlace(joint, mate.name, at, angle % 360.0, 2 * room) if room > 0 else None


def _offered(place: VentPlace) -> Hole:
    diameter = min(np.floor(2 * (place.largest - 0.1)) / 2, USUAL_VENT_MM)
    diameter = max(float(diameter), LEAST_VENT_MM)
    return Hole(place.mate, round(place.at, 1), round(place.angle, 1) % 360.0, diameter, "vent")


def _through_own_wall(tube: Tube) -> Iterable[Hole]:
    """From both ends inward, until one is free."""
    for inward in np.arange(5.0, min(FREE_END_MM, tube.length / 2), 1.0):
        for angle in AROUND_DEG:
            for at in (inward, tube.length - inward):
                yield Hole(tube.name, round(float(at), 1), angle, LEAST_VENT_MM, "vent")


def _told(place: VentPlace) -> str:
    angle = round(place.angle, 1) % 360.0
    return (
        f"into {place.mate} {place.at:.1f} mm along its axis as drawn, {angle:.1f}° from its "
        f"datum (clockwise seen from its start), {LEAST_VENT_MM:g} to {place.largest:.1f} mm wide"
    )
