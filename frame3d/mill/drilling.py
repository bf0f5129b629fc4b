"""Holes of a tube, and slots by their angle: where to drill and saw, and where it can be vented."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from frame3d.check.hole_conflicts import conflicts_of
from frame3d.check.vents import AIR, opens_into, vent_places
from frame3d.mill.outside_lines import line_between
from frame3d.mill.printed_numbers import direction_angle, length, printed
from frame3d.model import Frame, Hole, Pinch, Slot, Tube, end_frame
from frame3d.model.tube_section import arc
from frame3d.surfaces.cope import Copes


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
    through: bool = printed("", "whether it goes on through the wall opposite, in one line")
    notes: tuple[str, ...] = printed("", "what else to know of it")


@dataclass(frozen=True)
class SlotCut:
    """A slot as it is marked and sawn."""

    end: str = printed("", "end of the tube that it is sawn from")
    depth: float = printed("mm", "from the end point of the axis to its bottom")
    width: float = printed("mm", "between its sides")
    angle: float = printed(
        "deg", "its middle, from the datum, clockwise as seen from the start end"
    )
    walls: int = printed("", "how many walls it goes through; 2: the one opposite too")
    plate: str = printed("", 'plate that it is for, or ""')


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
    slots: tuple[SlotCut, ...] = printed("", "slots sawn from its ends")
    vents: tuple[Vent, ...] = printed("", "places for vents into coped tubes that meet this one")
    conflicts: tuple[str, ...] = printed("", "what the holes run into")


def drilling(frame: Frame, tube: Tube, copes: Copes, start_point: float) -> Drilling:
    """start_point: from the blank's start end to the tube's start point, mm."""
    holes = frame.holes_of(tube.name)
    slots = [shape for shape in frame.shapes_of(tube.name) if isinstance(shape, Slot)]
    return Drilling(
        tube.name,
        tuple(_marked(frame, tube, hole, copes, start_point) for hole in holes),
        tuple(_slot_cut(tube, slot) for slot in slots),
        tuple(_vents(frame, tube, copes)),
        tuple(conflicts_of(frame, tube, copes)),
    )


def _marked(frame: Frame, tube: Tube, hole: Hole, copes: Copes, start_point: float) -> DrillHole:
    turn = hole.angle % 360.0
    return DrillHole(
        kind=hole.kind,
        at=length(hole.at),
        from_end=length(line_between(tube, np.radians(turn), -start_point, hole.at)),
        angle=direction_angle(turn),
        around=length(float(arc(tube, np.asarray(hole.at), np.radians([turn]))[0])),
        diameter=length(hole.diameter),
        through=hole.through,
        notes=hole_notes(frame, copes, hole),
    )


def hole_notes(frame: Frame, copes: Copes, hole: Hole) -> tuple[str, ...]:
    """What to know of a hole before it is drilled, in words."""
    tube = frame.tube(hole.tube)
    notes = []
    if hole.through:
        notes.append("through both walls in one go, square across the axis")
    for pinch in frame.shapes_of(tube.name):
        inward = hole.at if pinch.end == "start" else tube.length - hole.at
        if isinstance(pinch, Pinch) and inward < pinch.length + pinch.transition:
            notes.append("press the end flat first; then drill square to the flat, in its middle")
    for angle in hole.angles:
        into = opens_into(frame, copes, hole, angle)
        if into not in (None, AIR):
            notes.append(f"opens {into}, whose joint hides it: drill before joining")
    return tuple(notes)


def _slot_cut(tube: Tube, slot: Slot) -> SlotCut:
    frame = end_frame(tube, slot.end)
    way = np.asarray(slot.wall or np.cross(frame.out, slot.normal))
    angle = float(np.degrees(np.arctan2(way @ frame.side, way @ frame.datum)))
    return SlotCut(
        slot.end,
        length(slot.depth),
        length(slot.width),
        direction_angle(angle if slot.wall else angle % 180.0),
        1 if slot.wall else 2,
        slot.plate or "",
    )


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
