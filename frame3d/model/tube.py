"""A tube: an axis in space, an outside diameter and a wall, both of which may change along it."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from frame3d.model.centreline import Centreline
from frame3d.model.datum import datum

if TYPE_CHECKING:
    from frame3d.model.stock import Raw

Point = tuple[float, float, float]


@dataclass(frozen=True)
class Profile:
    """A number along a tube: straight lines between stations, constant beyond the outer ones.

    at:    distances from the tube's start, mm, rising
    value: the number at each, mm
    """

    at: tuple[float, ...]
    value: tuple[float, ...]

    @staticmethod
    def constant(value: float) -> "Profile":
        return Profile((0.0,), (value,))

    @staticmethod
    def through(stations: Sequence[tuple[float, float]]) -> "Profile":
        """From (distance from start, value) pairs."""
        return Profile(tuple(a for a, _ in stations), tuple(v for _, v in stations))

    @property
    def is_constant(self) -> bool:
        return len(set(self.value)) == 1

    @property
    def greatest(self) -> float:
        return max(self.value)

    @property
    def least(self) -> float:
        return min(self.value)

    def least_between(self, low: float, high: float) -> float:
        """The least value from one distance to another, mm."""
        within = [v for at, v in zip(self.at, self.value, strict=True) if low <= at <= high]
        return min(float(self(low)), float(self(high)), *within)

    def between(self, low: float, high: float) -> NDArray[np.float64]:
        """Stations and values (K, 2) that tell all of the profile from one distance to another."""
        inner = [(at, v) for at, v in zip(self.at, self.value, strict=True) if low < at < high]
        return np.array([(low, float(self(low))), *inner, (high, float(self(high)))])

    def even_about(self, place: float) -> tuple[float, float]:
        """From where to where, around a distance from the start, the value stays what it is there,
        mm; infinite beyond the outer stations."""
        here = float(self(place))
        low = place if self.at[0] < place else -np.inf
        for at, value in zip(reversed(self.at), reversed(self.value), strict=True):
            if at <= place:
                if value != here:
                    break
                low = at if at > self.at[0] else -np.inf
        high = place if place < self.at[-1] else np.inf
        for at, value in zip(self.at, self.value, strict=True):
            if at >= place:
                if value != here:
                    break
                high = at if at < self.at[-1] else np.inf
        return low, high

    def shifted(self, by: float) -> "Profile":
        """The same profile, its stations `by` mm farther along."""
        return Profile(tuple(at + by for at in self.at), self.value)

    def mirrored(self, length: float) -> "Profile":
        """The same profile, counted from the other end of a tube of this length, mm."""
        return Profile(tuple(length - at for at in reversed(self.at)), self.value[::-1])

    def __call__(self, distance: float | NDArray[np.float64]) -> NDArray[np.float64]:
        """The value at each distance from the start, mm."""
        return np.asarray(np.interp(distance, self.at, self.value))


@dataclass(frozen=True)
class Oval:
    """An elliptical outside. The tube's od is then the diameter at `angle`, and `across` the one a
    quarter turn from it.

    across: outside diameter along the distance from start, mm
    angle:  from the datum to the od's direction, degrees, right-handed about start to end
    """

    across: Profile
    angle: float = 0.0


@dataclass(frozen=True)
class Bend:
    """A bend of the axis. corner: where the straights on both sides of it would meet; radius: of
    the axis, mm."""

    corner: Point
    radius: float


@dataclass(frozen=True)
class Tube:
    """A hollow member with a real wall. Lengths in mm, world axes x forward, y left, z up.

    start, end: the points between which the axis runs; a cope decides where the metal stops
    od, wall:   outside diameter and wall thickness along the distance from start
    oval:       for a section that is not round
    bends:      corners that the axis passes on its way from start to end
    raw:        the raw tube that it is cut from, if known; od, wall and oval are then that one's
    """

    name: str
    start: Point
    end: Point
    od: Profile
    wall: Profile
    material: str = field(default="steel")
    oval: Oval | None = None
    bends: tuple[Bend, ...] = ()
    raw: "Raw | None" = None

    @cached_property
    def length(self) -> float:
        """From start to end along the axis, mm; not the finished tube's length."""
        if self.bends:
            return self.centreline.length
        return float(np.linalg.norm(np.subtract(self.end, self.start)))

    @property
    def widest(self) -> float:
        """The farthest that the outside stands from the axis, mm."""
        return max(self.od.greatest, self.oval.across.greatest if self.oval else 0.0) / 2

    @property
    def narrowest(self) -> float:
        """The nearest that the outside comes to the axis, mm."""
        return min(self.od.least, self.oval.across.least if self.oval else np.inf) / 2

    @property
    def is_uniform(self) -> bool:
        """Whether outside and wall are the same all along."""
        across = self.oval is None or self.oval.across.is_constant
        return self.od.is_constant and self.wall.is_constant and across

    def even_about(self, place: float) -> tuple[float, float]:
        """From where to where, around a distance from the start, outside and wall stay what they
        are there, mm."""
        profiles = [self.od, self.wall, *([self.oval.across] if self.oval else [])]
        stretches = [profile.even_about(place) for profile in profiles]
        return max(low for low, _ in stretches), min(high for _, high in stretches)

    @cached_property
    def centreline(self) -> Centreline:
        """The axis, with the datum that the first straight has.

        Raises ValueError where the bends do not fit between start and end.
        """
        points = [self.start, *(bend.corner for bend in self.bends), self.end]
        first = np.subtract(points[1], points[0])
        corners = [(bend.corner, bend.radius) for bend in self.bends]
        return Centreline.through(
            self.start, corners, self.end, datum(first / np.linalg.norm(first))
        )
