"""Where a guide sits: the coordinates of a tube's end, and the exact height of the mates there."""

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from frame3d.guides.refuse import GuideError
from frame3d.model import End, Frame, Joint, Tube, direction, end_frame
from frame3d.model.section import lateral
from frame3d.surfaces.cope import Cope, cope_of

Array = NDArray[np.float64]
LEVEL_MM = 0.001  # how far the feet of a bent tube's guides may stand out of one plane


@dataclass(frozen=True, eq=False)
class Place:
    """The end of a tube as its guide sees it.

    Guide coordinates, mm: z along the axis outward from the axis's end point, y up from the foot,
    x square to both (right-handed). cope: as the hand cuts it, along the mates themselves. up: y as
    a unit vector (3,) of the world: the datum, but on some bent tubes (see `up_from_plate`).
    """

    tube: Tube
    end: End
    cope: Cope
    mates: tuple[Tube, ...]
    up: Array

    @cached_property
    def axes(self) -> Array:
        """Rows x, y, z of the guide in world coordinates: (3, 3)."""
        out = self.cope.frame.out
        return np.stack([np.cross(self.up, out), self.up, out])

    @property
    def line_deg(self) -> float:
        """From the tube's datum to the line over which the guide's windows stand, degrees,
        right-handed about start to end."""
        frame = self.cope.frame
        return float(np.degrees(np.arctan2(self.up @ frame.side, self.up @ frame.datum)))

    @property
    def matrix(self) -> Array:
        """From guide to world coordinates: (4, 4)."""
        matrix = np.eye(4)
        matrix[:3, :3] = self.axes.T
        matrix[:3, 3] = self.cope.frame.origin
        return matrix

    def height(self, across: Array) -> Array:
        """z (N,) at which lines along the tube through x, y (N, 2) first meet the guide's face.

        That is the outside of the mates; a line that passes all of them ends at a shoulder.
        """
        frame = self.cope.frame
        offsets = across @ self.axes[:2] @ np.stack([frame.datum, frame.side]).T
        mate = self.cope.position_across(offsets)
        return np.where(np.isfinite(mate), mate, self._shoulder(across))

    def reached(self, theta: Array) -> bool:
        """Whether all lines of the tube's outside at `theta` (N,) meet a mate."""
        return bool(np.isfinite(self.cope.position(theta, np.ones_like(theta))).all())

    @cached_property
    def shoulders(self) -> list[tuple[Array, float]]:
        """For each mate the plane through its axis that faces the tube: unit normal (3,) outward
        and distance, in guide coordinates."""
        planes = []
        for mate in self.mates:
            point, axis = _axis_near(mate, self.cope.frame.origin)
            along = self.axes @ axis
            normal = np.array([0.0, 0.0, 1.0]) - along[2] * along
            normal /= np.linalg.norm(normal)
            planes.append((normal, float(normal @ self.axes @ (point - self.cope.frame.origin))))
        return planes

    def _shoulder(self, across: Array) -> Array:
        heights = [(d - across @ n[:2]) / n[2] for n, d in self.shoulders]
        return np.asarray(np.min(heights, axis=0))

    def station(self, z: float | Array) -> Array:
        """Distance from the tube's start, mm."""
        z = np.asarray(z, float)
        return self.tube.length + z if self.end == "end" else -z

    def outside(self, z: float, count: int, extra: float) -> Array:
        """The tube's outside at z, `extra` mm larger, as `count` flats that stand outside it.

        x, y (count, 2), right-handed about z.
        """
        theta = np.linspace(0.0, 2 * np.pi, count, endpoint=False)
        ring = lateral(self.tube, np.full(count, self.station(z)), theta, 1.0)
        frame = self.cope.frame
        ring = ring @ np.stack([frame.datum, frame.side]) @ self.axes[:2].T
        if self.end == "start":  # there the angle turns left-handed about the way out
            ring = ring[::-1]
        tangent = np.roll(ring, -1, axis=0) - np.roll(ring, 1, axis=0)
        normal = np.stack([tangent[:, 1], -tangent[:, 0]], axis=1)
        normal /= np.linalg.norm(normal, axis=1, keepdims=True)
        return np.asarray((ring + extra * normal) / np.cos(np.pi / count))


def outside_changes(tube: Tube) -> list[float]:
    """Distances from the start at which the outside changes its taper, mm."""
    profiles = [tube.od, *([tube.oval.across] if tube.oval else [])]
    return sorted({at for profile in profiles if not profile.is_constant for at in profile.at})


def outside_radius(tube: Tube, station: Array) -> Array:
    """Half the greater diameter at distances (N,) from the start, mm."""
    across = tube.od(station) if tube.oval is None else tube.oval.across(station)
    return np.asarray(np.maximum(tube.od(station), across) / 2)


def _axis_near(mate: Tube, point: Array) -> tuple[Array, Array]:
    """The point of the mate's axis nearest to `point`, and the axis's direction there: (3,) each.

    Exact on a straight axis; on a bent one the nearest of points a thousandth apart.
    """
    if not mate.bends:
        start, axis = np.asarray(mate.start, float), direction(mate)
        return start + ((point - start) @ axis) * axis, axis
    points, tangents, _ = mate.centreline.at(np.linspace(0.0, mate.length, 1001))
    nearest = int(np.linalg.norm(points - point, axis=1).argmin())
    return points[nearest], tangents[nearest]


def place_of(frame: Frame, joint: Joint) -> Place:
    """The place of the guide for a joint, cut by hand: whatever saws the job names."""
    by_hand = replace(joint, saws=(None,) * len(joint.onto))
    mates = tuple(frame.tube(name) for name in joint.onto)
    tube = frame.tube(joint.tube)
    return Place(tube, joint.end, cope_of(frame, by_hand), mates, up_from_plate(tube, joint.end))


def up_from_plate(tube: Tube, end: End) -> Array:
    """Unit vector (3,) square to the plate on which a tube's guides stand: the same at both ends.

    That is the datum; for a tube bent in a plane, the side square to that plane, so that the tube
    lies flat on the plate and the line on top is as long as the axis. Raises GuideError for a tube
    bent in more than one plane.
    """
    if not tube.bends:
        return end_frame(tube, end).datum
    line = tube.centreline
    points = np.vstack([line.starts, end_frame(tube, "end").origin])
    bent = line.inward[line.curvature > 0][0]
    normal = np.cross(line.tangents[line.curvature > 0][0], bent)
    if np.abs((points - points[0]) @ normal).max() > LEVEL_MM:
        raise GuideError(
            f"{tube.name} is bent in more than one plane, so that its guides cannot stand on one "
            f"plate: cut it by paper wraps"
        )
    return np.asarray(normal * np.sign(normal[np.abs(normal).argmax()]))
