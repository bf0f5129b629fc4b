"""Plain bodies for what moves beside the frame, each with its exact signed distance."""

from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


class Ghost(Protocol):
    def distance(self, points: Array) -> Array:
        """Signed distance (N,) of points (N, 3), mm; negative inside."""
        ...

    def outward(self, points: Array) -> Array:
        """Unit directions (N, 3) in which the distance grows fastest; 0 where there is none."""
        ...

    def curving(self, points: Array, reach: Array) -> Array:
        """How strongly the distance may curve down within `reach` (N,) mm of the points: (N,),
        1/mm, at least 0."""
        ...


def _units(vectors: Array) -> Array:
    """Vectors (N, 3) at length 1; those of length 0 as they are."""
    return np.asarray(vectors / np.maximum(np.linalg.norm(vectors, axis=1, keepdims=True), 1e-12))


@dataclass(frozen=True, eq=False)
class Ring:
    """A torus: a tyre, or a ball that is carried round a circle. ring: radius of the circle, mm;
    section: of what runs round it. axis: unit (3,)."""

    centre: Array
    axis: Array
    ring: float
    section: float

    def distance(self, points: Array) -> Array:
        off = points - self.centre
        height = off @ self.axis
        radial = np.linalg.norm(off - height[:, None] * self.axis, axis=1)
        return np.asarray(np.hypot(radial - self.ring, height) - self.section)

    def outward(self, points: Array) -> Array:
        off = points - self.centre
        flat = off - (off @ self.axis)[:, None] * self.axis
        return _units(off - self.ring * _units(flat))

    def curving(self, points: Array, reach: Array) -> Array:
        """Around the ring, on its inside, by (ring - radial) / (radial distance to its circle),
        which is below 1 / radial; across it a distance only curves up."""
        off = points - self.centre
        radial = np.linalg.norm(off - (off @ self.axis)[:, None] * self.axis, axis=1)
        return np.asarray(1.0 / np.maximum(radial - reach, 1e-9))


@dataclass(frozen=True, eq=False)
class Disc:
    """A round slab or rod: a chain ring, all that a crank arm sweeps. half: half its length along
    the axis, mm."""

    centre: Array
    axis: Array
    radius: float
    half: float

    def distance(self, points: Array) -> Array:
        off = points - self.centre
        height = off @ self.axis
        radial = np.linalg.norm(off - height[:, None] * self.axis, axis=1)
        over = np.stack([radial - self.radius, np.abs(height) - self.half])
        outside = np.hypot(*np.maximum(over, 0.0))
        return np.asarray(outside + np.minimum(over.max(axis=0), 0.0))

    def outward(self, points: Array) -> Array:
        off = points - self.centre
        height = (off @ self.axis)[:, None]
        flat = off - height * self.axis
        rim = np.linalg.norm(flat, axis=1, keepdims=True) - self.radius
        face = np.abs(height) - self.half
        to_rim, to_face = _units(flat), np.sign(height) * self.axis
        inside = np.where(rim > face, to_rim, to_face)
        outside = np.maximum(rim, 0.0) * to_rim + np.maximum(face, 0.0) * to_face
        return np.where(np.maximum(rim, face) > 0, _units(outside), inside)

    def curving(self, points: Array, reach: Array) -> Array:
        return np.zeros(len(points))  # the distance to a convex body curves up only
