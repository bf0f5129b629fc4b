"""Directions along a tube: its axis, its datum line, and the frame in which an end is shaped."""

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from frame3d.model.datum import datum
from frame3d.model.tube import Tube

Array = NDArray[np.float64]
End = Literal["start", "end"]
ENDS: tuple[End, End] = ("start", "end")


@dataclass(frozen=True, eq=False)
class EndFrame:
    """Where an end is shaped. Vectors (3,), unit but for `origin` (mm); world axes.

    origin: the axis's end point
    out:    along the axis, from the middle of the tube outward
    datum:  from the axis to the datum line
    side:   a quarter turn from the datum, right-handed about start to end (at both ends)
    run:    straight axis behind the end, mm: from where lines are followed towards the end
    """

    origin: Array
    out: Array
    datum: Array
    side: Array
    run: float

    def around(self, theta: Array) -> Array:
        """Unit directions (N, 3) from the axis at angles `theta` (N,), radians from the datum."""
        theta = np.asarray(theta)[:, None]
        return np.cos(theta) * self.datum + np.sin(theta) * self.side


def direction(tube: Tube) -> Array:
    """Unit vector (3,) from start to end."""
    span = np.subtract(tube.end, tube.start)
    return np.asarray(span / np.linalg.norm(span))


def end_frame(tube: Tube, end: End) -> EndFrame:
    """The frame in which `end` of `tube` is shaped.

    Lines start at the middle of a straight axis, and where a bent axis's last straight starts. The
    datum of a bent axis is the one carried round the bends.
    """
    if tube.bends:
        line = tube.centreline
        piece, sense, station = (-1, 1.0, line.length) if end == "end" else (0, -1.0, 0.0)
        (origin,), (ahead,), (up,) = line.at(station)
        run = float(line.lengths[piece]) if line.curvature[piece] == 0.0 else 0.0
        return EndFrame(origin, sense * ahead, up, np.cross(ahead, up), run)
    axis = direction(tube)
    up = datum(axis)
    origin, out = (tube.end, axis) if end == "end" else (tube.start, -axis)
    return EndFrame(np.asarray(origin, float), out, up, np.cross(axis, up), tube.length / 2)


def axis_near(tube: Tube, point: Array) -> tuple[Array, Array]:
    """A point (3,) of the tube's axis and the axis's direction (3,) there, nearest to `point`.

    Of a straight tube any point will do, so its start is given.
    """
    if not tube.bends:
        return np.asarray(tube.start, float), direction(tube)
    places, tangents, _ = tube.centreline.at(tube.centreline.nearest(np.atleast_2d(point)))
    return places[0], tangents[0]


def axis_at(tube: Tube, station: float) -> tuple[Array, Array, Array]:
    """Point of the axis, its direction and the datum there, each (3,), `station` mm from start."""
    if tube.bends:
        (point,), (ahead,), (up,) = tube.centreline.at(station)
        return point, ahead, up
    ahead = direction(tube)
    return np.asarray(tube.start, float) + station * ahead, ahead, datum(ahead)


def station_of(tube: Tube, points: Array) -> Array:
    """How far along the axis from the tube's start points (N, 3) stand: (N,), mm."""
    if tube.bends:
        return tube.centreline.nearest(points)
    return np.asarray((points - np.asarray(tube.start)) @ direction(tube))


# How a tube stands to its mate. A straight tube stands alike at both ends; of a bent one `end` says
# which end meets the mate, and of a bent mate the axis nearest to that end counts.


def phase(tube: Tube, mate: Tube, end: End = "start") -> float:
    """Angle from the datum of `tube` to the plane that holds both axes' directions, degrees.

    Right-handed about start to end, at least 0 and below 180; 0 for parallel axes.
    """
    frame = end_frame(tube, end)
    _, other = axis_near(mate, frame.origin)
    angle = float(np.degrees(np.arctan2(other @ frame.side, other @ frame.datum))) % 180.0
    return 0.0 if 180.0 - angle < 1e-9 else angle


def angle_between(tube: Tube, mate: Tube, end: End = "start") -> float:
    """Angle between two axes, degrees, 0 to 90."""
    frame = end_frame(tube, end)
    a, (_, b) = frame.out, axis_near(mate, frame.origin)
    return float(np.degrees(np.arctan2(np.linalg.norm(np.cross(a, b)), abs(a @ b))))


def offset_between(tube: Tube, mate: Tube, end: End = "start") -> float:
    """Shortest distance between the two endless axes, mm."""
    frame = end_frame(tube, end)
    a, (place, b) = frame.out, axis_near(mate, frame.origin)
    between = place - frame.origin
    common = np.cross(a, b)
    size = np.linalg.norm(common)
    if size < 1e-12:
        return float(np.linalg.norm(between - (between @ a) * a))
    return float(abs(between @ common) / size)
