"""Where each tube and each crossing of axes stands in the jig."""

from dataclasses import dataclass

import numpy as np

from frame3d.mill.printed_numbers import angle, length, printed
from frame3d.model import (
    End,
    Frame,
    Joint,
    Tube,
    angle_between,
    axis_near,
    direction,
    end_frame,
    offset_between,
    phase,
    station_of,
)

Point = tuple[float, float, float]


@dataclass(frozen=True)
class JigTube:
    """A tube's axis in the frame's coordinates."""

    tube: str = printed("", "name of the tube")
    start: Point = printed("mm", "start of its axis: x forward, y left, z up")
    end: Point = printed("mm", "end of its axis")
    axis: float = printed("mm", "from start to end")
    slope: float = printed("deg", "start to end, above level")
    swing: float = printed("deg", "in plan, from forward to the left")


@dataclass(frozen=True)
class JigJoint:
    """Where the axis of a coped tube comes nearest to a mate's."""

    tube: str = printed("", "coped tube")
    end: str = printed("", "its end")
    onto: str = printed("", "the mate")
    at: float = printed("mm", "along the mate's axis, from its start")
    angle: float = printed("deg", "between the axes")
    offset: float = printed("mm", "shortest distance between the axes")
    phase: float = printed("deg", "of the cut, from the coped tube's datum")


def jig(frame: Frame) -> tuple[tuple[JigTube, ...], tuple[JigJoint, ...]]:
    """The jig table: tubes, then joints, in the job's order."""
    joints = [_joint(frame, joint, name) for joint in frame.joints for name in joint.onto]
    return tuple(_tube(tube) for tube in frame.tubes), tuple(joints)


def _tube(tube: Tube) -> JigTube:
    along = direction(tube)
    flat = float(np.hypot(along[0], along[1]))
    return JigTube(
        tube=tube.name,
        start=_point(tube.start),
        end=_point(tube.end),
        axis=length(tube.length),
        slope=angle(float(np.degrees(np.arctan2(along[2], flat)))),
        swing=angle(float(np.degrees(np.arctan2(along[1], along[0])))) if flat > 1e-9 else 0.0,
    )


def _point(point: Point) -> Point:
    x, y, z = (length(part) for part in point)
    return x, y, z


def _joint(frame: Frame, joint: Joint, onto: str) -> JigJoint:
    tube, mate = frame.tube(joint.tube), frame.tube(onto)
    return JigJoint(
        tube=joint.tube,
        end=joint.end,
        onto=onto,
        at=length(_crossing(tube, mate, joint.end)),
        angle=angle(angle_between(tube, mate, joint.end)),
        offset=length(offset_between(tube, mate, joint.end)),
        phase=angle(phase(tube, mate, joint.end)),
    )


def _crossing(tube: Tube, mate: Tube, end: End) -> float:
    """Along the mate from its start to where its axis is nearest the tube's endless one, mm."""
    frame = end_frame(tube, end)
    place, ahead = axis_near(mate, frame.origin)
    between = frame.origin - place
    cosine = frame.out @ ahead
    square = 1.0 - cosine**2
    along = between @ ahead
    if square > 1e-12:
        along = (along - cosine * (between @ frame.out)) / square
    return float(station_of(mate, np.atleast_2d(place))[0] + along)
