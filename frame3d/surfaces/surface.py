"""The one interface that every outer surface offers to the fit, the solids and the mill pages."""

from typing import Protocol

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


class Surface(Protocol):
    """A closed or endless surface in world coordinates, mm; exact, or as near as its class says."""

    def distance(self, points: Array) -> Array:
        """Signed distance of points (N, 3) to the surface: (N,), mm, negative inside."""
        ...

    def entry(self, origins: Array, direction: Array) -> Array:
        """Where lines from `origins` (N, 3) along the unit `direction` (3,) first are inside.

        (N,), mm: the least distance >= 0 at which the line is inside or on the surface; 0 for an
        origin that already is inside, inf for a line that never enters.
        """
        ...

    def met_by(self, place: Array, direction: Array, spread: float) -> "Surface":
        """A surface that lines enter just where they enter this one, and that may be quicker to
        ask: lines along the unit `direction` (3,), `spread` mm at most from the one through `place`
        (3,). Nothing else of it need be the same."""
        ...


def bundle(points: Array) -> tuple[Array, float]:
    """The middle of points (N, 3) and how far the farthest stands from it, mm."""
    centre = points.mean(axis=0) if len(points) else np.zeros(3)
    return centre, float(np.sqrt(np.sum((points - centre) ** 2, axis=1).max(initial=0.0)))
