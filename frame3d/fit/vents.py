"""Where air can get out of tubes that are closed at both ends, and how large a hole fits there."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from frame3d.model import Dome, Frame, Joint, Pinch, Plug, Slot, Tube, axis_at, station_of
from frame3d.surfaces.cope import Cope, Copes
from frame3d.surfaces.surface import Array

VENT_EDGE_MM = 1.0  # between a vent and the bore of the tube it vents; own choice, no source
LEAST_VENT_MM = 3.0  # drill wanted for a vent; own choice, no source
MOST_OF_EDGE = 0.6  # a mate that carries less of a joint's edge is not where it is vented
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


def laid_flat(tube: Tube, points: Array, at: float, angle: float) -> Array:
    """Points (N, 3) near the tube's outside as (N, 2), mm: along and around from the place `at` mm
    along its axis, `angle` degrees from its datum."""
    centre, axis, up = axis_at(tube, at)
    relative = points - centre
    turn = np.arctan2(relative @ np.cross(axis, up), relative @ up) - np.radians(angle)
    turn = (turn + np.pi) % (2 * np.pi) - np.pi
    along = station_of(tube, np.nan_to_num(points)) - at
    return np.stack([np.where(np.isfinite(turn), along, np.nan), turn * tube.od(at) / 2], axis=1)


def vent_advice(frame: Frame, copes: Copes) -> list[str]:
    """Where air has to get out of tubes that are closed at both ends, in words."""
    advice = []
    everywhere = list(vent_places(frame, copes))
    for tube in frame.tubes:
        coped = [key for key in copes if key[0] == tube.name]
        shut = [CLOSING[type(shape)] for shape in frame.shapes_of(tube.name)]
        if len(coped) + len(shut) < 2 or any(
            hole.tube == tube.name and hole.kind == "vent" for hole in frame.holes
        ):
            continue
        how = "closed at both ends" if not shut else f"closed ({', '.join(shut)})"
        places = [
            _told(place)
            for place in everywhere
            if place.joint.tube == tube.name and place.largest >= LEAST_VENT_MM
        ]
        where = " or ".join(places) or f"of {LEAST_VENT_MM:g} mm or more through its own wall"
        inside = "inside its bore, " if places else ""
        advice.append(f"{tube.name} is {how}: first drill a vent {inside}{where}")
    return advice


def _told(place: VentPlace) -> str:
    angle = round(place.angle, 1) % 360.0
    return (
        f"into {place.mate} {place.at:.1f} mm along its axis as drawn, {angle:.1f}° from its "
        f"datum (clockwise seen from its start), {LEAST_VENT_MM:g} to {place.largest:.1f} mm wide"
    )
