"""What a frame's tubes and joints are made of, and where two would share metal at a joint."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from frame3d.model import End, Joint, Oval, Profile, Tube, datum, direction
from frame3d.model.tube import Point

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Section:
    """Outside and wall along a tube, mm from where its axis starts, its material, and its oval."""

    od: Profile
    wall: Profile
    material: str = "steel"
    oval: Oval | None = None

    @staticmethod
    def plain(od: float, wall: float, material: str = "steel") -> "Section":
        """The same outside and wall all along."""
        return Section(Profile.constant(od), Profile.constant(wall), material)

    def radius(self, distance: float) -> float:
        """Half the outside, mm, on an oval's longer way: it has room however it is turned."""
        across = self.od if self.oval is None else self.oval.across
        return float(max(self.od(distance), across(distance))) / 2

    def tube(self, name: str, start: Point, end: Point) -> Tube:
        return Tube(name, start, end, self.od, self.wall, self.material, self.oval)


@dataclass(frozen=True)
class Structure:
    """tubes and joints in the order of work; dropouts: the axle's points in the middle of each
    dropout plate, mm. Saws are left open (None): the copes follow the mating tubes."""

    tubes: tuple[Tube, ...]
    joints: tuple[Joint, ...]
    dropouts: Mapping[str, Point]


def cope(tube: str, end: End, *onto: str) -> Joint:
    return Joint(tube, end, onto, (None,) * len(onto))


def share_metal(one: Tube, other: Tube, mate: Tube) -> bool:
    """Whether two tubes would share metal outside the mate that both meet.

    Looks at points of one's outside, 1 mm and 2 degrees apart, within 150 mm of the mate. An
    overlap thinner than that can go unseen; the fit check measures what is left of it. Ovals count
    as round, by their longer way.
    """
    along = np.arange(0.0, one.length, 1.0)
    around = np.radians(np.arange(0.0, 360.0, 2.0))
    axis = direction(one)
    up = datum(axis)
    ring = np.cos(around)[:, None] * up + np.sin(around)[:, None] * np.cross(axis, up)
    centres = np.asarray(one.start) + along[:, None] * axis
    near = _above(mate, centres) < 150.0
    along, centres = along[near], centres[near]
    points = centres[:, None, :] + _reach(one, along)[:, None, None] * ring[None, :, :]
    points = points.reshape(-1, 3)
    above = _above(mate, points)
    return bool(np.any((above > 0) & (_above(other, points) < 0)))


def _above(tube: Tube, points: Array) -> Array:
    """How far points (N, 3) stand outside a tube, square to its axis, mm; inf past its ends."""
    axis = direction(tube)
    off = points - np.asarray(tube.start)
    at = off @ axis
    square = np.linalg.norm(off - at[:, None] * axis, axis=1)
    outside = square - _reach(tube, at)
    return np.where((at >= 0) & (at <= tube.length), outside, np.inf)


def _reach(tube: Tube, at: Array) -> Array:
    """Half the outside at distances (N,) from the start, mm; the longer way of an oval."""
    across = tube.od if tube.oval is None else tube.oval.across
    return np.maximum(tube.od(at), across(at)) / 2
