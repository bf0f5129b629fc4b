"""Plain bodies for what moves beside the frame, each with its exact signed distance.

Vectors are columns (3, N): the sums over x, y and z then run along the N.
"""

from collections.abc import Hashable
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


class Ghost(Hashable, Protocol):
    def distance(self, points: Array) -> Array:
        """Signed distance (N,) of points (3, N), mm; negative inside."""
        ...

    def outward(self, points: Array) -> Array:
        """Unit directions (3, N) in which the distance grows fastest; 0 where there is none."""
        ...

    def sag(self, points: Array, off: Array) -> Array:
        """How far the distance may lie below the straight line that leaves the points (3, N) with
        its slope there, anywhere within the corners `off` (C, 3, N) about them: (N,), mm."""
        ...


def dot(a: Array, b: Array) -> Array:
    """Products (..., N) of vectors (..., 3, N) and (3, N)."""
    return np.asarray(np.einsum("...jn,jn->...n", a, b))


def _length(vectors: Array) -> Array:
    return np.asarray(np.sqrt(dot(vectors, vectors)))


def _units(vectors: Array) -> Array:
    """Vectors (3, N) at length 1; those of length 0 as they are."""
    return np.asarray(vectors / np.maximum(_length(vectors), 1e-12))


def _about(points: Array, centre: Array, axis: Array) -> tuple[Array, Array]:
    """Points (3, N) seen from an axis: height (N,) along it, and the way from it (3, N)."""
    off = points - centre[:, None]
    height = axis @ off
    return height, off - height * axis[:, None]


@dataclass(frozen=True, eq=False)
class Ring:
    """A torus: a tyre, or a ball that is carried round a circle. ring: radius of the circle, mm;
    section: of what runs round it. axis: unit (3,)."""

    centre: Array
    axis: Array
    ring: float
    section: float

    def distance(self, points: Array) -> Array:
        height, flat = _about(points, self.centre, self.axis)
        return np.asarray(np.hypot(_length(flat) - self.ring, height) - self.section)

    def outward(self, points: Array) -> Array:
        height, flat = _about(points, self.centre, self.axis)
        return _units(flat + height * self.axis[:, None] - self.ring * _units(flat))

    def sag(self, points: Array, off: Array) -> Array:
        """In the half plane through the axis the distance to the ring's circle only curves up. On
        the circle's inner side, where it falls as the way r from the axis grows, what counts is how
        r grows: by no more than its slope and (sideways)^2 / (2 r), r at its least."""
        height, flat = _about(points, self.centre, self.axis)
        radial, away = _length(flat), _units(flat)
        inner = np.maximum(self.ring - radial, 0.0)
        inward = inner / np.maximum(np.hypot(inner, height), 1e-12)
        sideways = dot(off, np.cross(self.axis, away, axisb=0, axisc=0))
        least = np.maximum(radial + dot(off, away).min(axis=0), 1e-9)
        return np.asarray(inward * (sideways**2).max(axis=0) / (2.0 * least))


@dataclass(frozen=True, eq=False)
class Disc:
    """A round slab or rod: a chain ring, all that a crank arm sweeps. half: half its length along
    the axis, mm."""

    centre: Array
    axis: Array
    radius: float
    half: float

    def distance(self, points: Array) -> Array:
        height, flat = _about(points, self.centre, self.axis)
        rim, face = _length(flat) - self.radius, np.abs(height) - self.half
        outside = np.hypot(np.maximum(rim, 0.0), np.maximum(face, 0.0))
        return np.asarray(outside + np.minimum(np.maximum(rim, face), 0.0))

    def outward(self, points: Array) -> Array:
        height, flat = _about(points, self.centre, self.axis)
        rim, face = _length(flat) - self.radius, np.abs(height) - self.half
        to_rim, to_face = _units(flat), np.sign(height) * self.axis[:, None]
        inside = np.where(rim > face, to_rim, to_face)
        outside = np.maximum(rim, 0.0) * to_rim + np.maximum(face, 0.0) * to_face
        return np.where(np.maximum(rim, face) > 0, _units(outside), inside)

    def sag(self, points: Array, off: Array) -> Array:
        return np.zeros(points.shape[1])  # the distance to a convex body curves up only
