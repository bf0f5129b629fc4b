"""Any surface turned, moved and grown: a tool that a set-up's errors have displaced."""

from dataclasses import dataclass

import numpy as np

from frame3d.surfaces.surface import Array, Surface

ROUNDS = 4  # to close in on the entry of a grown surface
PROBE_MM = 1e-3


@dataclass(frozen=True, eq=False)
class Displaced:
    """turn: matrix (3, 3); about: the point (3,) that it turns about; shift: (3,) mm; growth: mm,
    square to the surface."""

    surface: Surface
    turn: Array
    about: Array
    shift: Array
    growth: float = 0.0

    def distance(self, points: Array) -> Array:
        """Signed distance of points (N, 3): (N,), mm, negative inside."""
        return np.asarray(self.surface.distance(self._back(points)) - self.growth)

    def entry(self, origins: Array, direction: Array) -> Array:
        """First entry of lines from `origins` (N, 3) along the unit `direction` (3,): (N,), mm.

        Of a grown surface by Newton's steps from the entry of the plain one, which a line must
        have; good for growths that are small beside the surface's curvature.
        """
        start, way = self._back(origins), direction @ self.turn
        first = self.surface.entry(start, way)
        if self.growth:
            for _ in range(ROUNDS):
                spots = start + np.where(np.isfinite(first), first, 0.0)[:, None] * way
                off = self.surface.distance(spots) - self.growth
                ahead = self.surface.distance(spots + PROBE_MM * way)
                behind = self.surface.distance(spots - PROBE_MM * way)
                slope = np.minimum((ahead - behind) / (2 * PROBE_MM), -1e-3)
                first = np.where(first > 0.0, first - off / slope, first)
        return np.asarray(first)

    def _back(self, points: Array) -> Array:
        """Points where the undisplaced surface has them."""
        return np.asarray((points - self.about - self.shift) @ self.turn + self.about)
