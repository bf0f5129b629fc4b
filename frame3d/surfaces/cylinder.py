"""The endless round cylinder: a tube's outside, or what a hole saw sweeps."""

from dataclasses import dataclass

import numpy as np

from frame3d.surfaces.surface import Array, Surface

# A line that rounding alone puts outside still touches: equal tubes meet in just such lines.
TANGENT_MM = 1e-7


@dataclass(frozen=True, eq=False)
class Cylinder:
    """point: any point of the axis (3,), mm; axis: its unit direction (3,); radius: mm."""

    point: Array
    axis: Array
    radius: float

    def distance(self, points: Array) -> Array:
        """Signed distance of points (N, 3): (N,), mm, negative inside."""
        radial = self._square_part(points - self.point)
        return np.asarray(np.linalg.norm(radial, axis=1) - self.radius)

    def entry(self, origins: Array, direction: Array) -> Array:
        """First entry of lines from `origins` (N, 3) along the unit `direction` (3,): (N,), mm.

        The lesser root of |c + t v| = radius, with c and v the parts of origin and direction
        square to the axis.
        """
        c = self._square_part(origins - self.point)
        v = direction - (direction @ self.axis) * self.axis
        a = v @ v
        inside = np.einsum("ij,ij->i", c, c) <= self.radius**2
        if a < 1e-18:  # along the axis: a line stays at its distance for ever
            return np.where(inside, 0.0, np.inf)
        nearest = -(c @ v) / a
        square = np.einsum("ij,ij->i", c, c) - a * nearest**2
        touches = square <= (self.radius + TANGENT_MM) ** 2
        t = nearest - np.sqrt(np.maximum(self.radius**2 - square, 0.0) / a)
        return np.where(inside, 0.0, np.where(touches & (t >= 0), t, np.inf))

    def met_by(self, place: Array, direction: Array, spread: float) -> Surface:
        return self

    def _square_part(self, vectors: Array) -> Array:
        return vectors - np.outer(vectors @ self.axis, self.axis)
