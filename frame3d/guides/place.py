"""Where a guide sits: the coordinates of a tube's end, and the exact height of the mates there."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from frame3d.guides.clamped_bore import Tightening
from frame3d.guides.guide_error import GuideError
from frame3d.model import End, Frame, Joint, Tube, axis_near, end_frame
from frame3d.model.tube_section import lateral
from frame3d.surfaces.cope import Cope, cope_of

Array = NDArray[np.float64]
LEVEL_MM = 0.001  # how far the feet of a bent tube's guides may stand out of one plane


@dataclass(frozen=True, eq=False)
class Place:
    """The end of a tube as its guide sees it.

    Guide coordinates, mm: z along the axis outward from the axis's end point, y up from the foot,
    x square to both (right-handed). cope: as it is checked, by the saws that the job names, or else
    along the mates themselves. up: y as a unit vector (3,) of the world: the datum, but on some
    bent tubes (see `up_from_plate`). clearance: by which the bore closes as the clamp is tightened.
    saws: whose cope it is, mm, None for a mate's own, in the order of the mates.
    """

    tube: Tube
    end: End
    cope: Cope
    mates: tuple[Tube, ...]
    up: Array
    clearance: float
    saws: tuple[float | None, ...] = ()

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

    @cached_property
    def tightening(self) -> Tightening:
        """How the clamp moves the guide's wall onto the tube."""
        station, oval, frame = self.station(0.0), self.tube.oval, self.cope.frame
        od = float(self.tube.od(station))
        across, turn = (float(oval.across(station)), oval.angle) if oval else (od, 0.0)
        (long,) = frame.around(np.radians([turn]))
        return Tightening(od / 2, across / 2, self.axes[:2] @ long, self.clearance)

    def height(self, across: Array) -> Array:
        """z (N,) of the guide's face, as it is printed, at x, y (N, 2).

        Tightened, its lines along the tube stop at what shapes the cope, the saw or the outside of
        the mates; a line that passes all of them ends at a shoulder.
        """
        frame, held = self.cope.frame, self.tightening.closed(across)
        offsets = held @ self.axes[:2] @ np.stack([frame.datum, frame.side]).T
        tool = self.cope.position_across(offsets)
        return np.where(np.isfinite(tool), tool, self._shoulder(held))

    @cached_property
    def angle_deg(self) -> float:
        """The least angle at which the tube meets a mate, 0 to 90 degrees."""
        out, origin = self.cope.frame.out, self.cope.frame.origin
        along = [abs(float(axis_near(mate, origin)[1] @ out)) for mate in self.mates]
        return float(np.degrees(np.arccos(min(max(along), 1.0))))

    def reached(self, theta: Array) -> bool:
        """Whether all lines of the tube's outside at `theta` (N,) meet a mate."""
        return bool(np.isfinite(self.cope.position(theta, np.ones_like(theta))).all())

    @cached_property
    def shoulders(self) -> list[tuple[Array, float]]:
        """For each tool the plane through its axis that faces the tube: unit normal (3,) outward
        and distance, in guide coordinates of the tightened guide."""
        planes = []
        for mate in self.mates:
            point, axis = axis_near(mate, self.cope.frame.origin)
            along = self.axes @ axis
            normal = np.array([0.0, 0.0, 1.0]) - along[2] * along
            normal /= np.linalg.norm(normal)
            place = self.axes @ (point - self.cope.frame.origin) + [0.0, 0.0, self.cope.seat]
            planes.append((normal, float(normal @ place)))
        return planes

    def _shoulder(self, held: Array) -> Array:
        heights = [(d - held @ n[:2]) / n[2] for n, d in self.shoulders]
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


def place_of(frame: Frame, joint: Joint) -> Place:
    """The place of the guide for a joint, whose cope is that of the frame as it is checked."""
    mates = tuple(frame.tube(name) for name in joint.onto)
    tube = frame.tube(joint.tube)
    up = up_from_plate(tube, joint.end)
    cope = cope_of(frame, joint)
    return Place(tube, joint.end, cope, mates, up, frame.shop.printer.clearance, joint.saws)


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
