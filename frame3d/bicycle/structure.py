"""What a frame's tubes and joints are made of, and where two would share metal at a joint."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from frame3d.cache import cached
from frame3d.model import Bend, End, Joint, Oval, Profile, Tube
from frame3d.model.tube import Point

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Section:
    """What a builder picks for a tube: outside and wall along it, mm from where its axis starts,
    its material, oval and bends; start, end: of its axis, where the geometry is not to give them.
    Of tubes in pairs, bends, start and end are the left one's."""

    od: Profile
    wall: Profile
    material: str = "steel"
    oval: Oval | None = None
    bends: tuple[Bend, ...] = ()
    start: Point | None = None
    end: Point | None = None

    @staticmethod
    def plain(od: float, wall: float, material: str = "steel") -> "Section":
        """The same outside and wall all along."""
        return Section(Profile.constant(od), Profile.constant(wall), material)

    def radius(self, distance: float) -> float:
        """Half the outside, mm, on an oval's longer way: it has room however it is turned."""
        across = self.od if self.oval is None else self.oval.across
        return float(max(self.od(distance), across(distance))) / 2

    def tube(self, name: str, start: Point, end: Point) -> Tube:
        """On the axis that the geometry gives, but for what the section says itself."""
        start, end = self.start or start, self.end or end
        return Tube(name, start, end, self.od, self.wall, self.material, self.oval, self.bends)

    def pair(self, kind: str, start: Point, end: Point) -> tuple[Tube, Tube]:
        """The left tube, on this axis, and the right one, its mirror image."""
        left = self.tube(f"left {kind}", start, end)
        return left, mirrored(left, f"right {kind}")

    def aim(self, end: Point) -> Point:
        """Where the axis heads for from its start: its first bend, or its end."""
        return self.bends[0].corner if self.bends else self.end or end


def mirrored(tube: Tube, name: str) -> Tube:
    """The same on the other side of the middle plane. Its datum mirrors too, angles turn round."""

    def across(point: Point) -> Point:
        return (point[0], -point[1], point[2])

    return replace(
        tube,
        name=name,
        start=across(tube.start),
        end=across(tube.end),
        bends=tuple(replace(bend, corner=across(bend.corner)) for bend in tube.bends),
        oval=tube.oval and replace(tube.oval, angle=-tube.oval.angle),
    )


@dataclass(frozen=True)
class Structure:
    """tubes and joints in the order of work; dropouts: the axle's points in the middle of each
    dropout plate, mm. Saws are left open (None): the copes follow the mating tubes."""

    tubes: tuple[Tube, ...]
    joints: tuple[Joint, ...]
    dropouts: Mapping[str, Point]


def cope(tube: str, end: End, *onto: str) -> Joint:
    return Joint(tube, end, onto, (None,) * len(onto))


@cached
def share_metal(one: Tube, other: Tube, mate: Tube) -> bool:
    """Whether two tubes would share metal outside the mate that both meet.

    Looks at points of one's outside, 1 mm and 2 degrees apart, within 150 mm of the mate. An
    overlap thinner than that can go unseen; the fit check measures what is left of it. Ovals count
    as round, by their longer way.
    """
    along = np.arange(0.0, one.length, 1.0)
    centres, axes, ups = one.centreline.at(along)
    off = centres - other.centreline.at(other.centreline.nearest(centres))[0]
    near = np.linalg.norm(off, axis=1) < one.widest + other.widest
    near &= _above(mate, centres) < 150.0
    along, centres, axes, ups = along[near], centres[near], axes[near], ups[near]
    around = np.radians(np.arange(0.0, 360.0, 2.0))[:, None, None]
    ring = np.cos(around) * ups + np.sin(around) * np.cross(axes, ups)
    points = (centres + _reach(one, along)[:, None] * ring).reshape(-1, 3)
    points = points[_above(mate, points) > 0]
    return bool(np.any(_above(other, points) < 0))


def _above(tube: Tube, points: Array) -> Array:
    """How far points (N, 3) stand outside a tube, square to its axis, mm; inf past its ends."""
    at = tube.centreline.nearest(points)
    outside = np.linalg.norm(points - tube.centreline.at(at)[0], axis=1) - _reach(tube, at)
    return np.where((at >= 0) & (at <= tube.length), outside, np.inf)


def _reach(tube: Tube, at: Array) -> Array:
    """Half the outside at distances (N,) from the start, mm; the longer way of an oval."""
    across = tube.od if tube.oval is None else tube.oval.across
    return np.maximum(tube.od(at), across(at)) / 2
