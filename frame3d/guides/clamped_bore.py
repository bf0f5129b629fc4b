"""How a clamp closes a guide's bore onto the tube, and where that takes the guide's wall."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from frame3d.surfaces.ellipse import nearest_on_ellipse

Array = NDArray[np.float64]
FADES_FROM, FADES_TO = 1 / 3, 2 / 3  # of the way to the axis: no guide has any wall there


@dataclass(frozen=True, eq=False)
class Tightening:
    """A guide whose bore closes by its clearance all around, square to the tube's outside.

    Every point of the wall goes with it, at its own height: the first-order picture of a slit that
    closes. first, second: half the tube's outside along the unit vector `long` (2,) and square to
    it, mm; all in the guide's x and y.
    """

    first: float
    second: float
    long: Array
    clearance: float

    def closed(self, printed: Array) -> Array:
        """Where points (N, 2) of the printed guide stand once it is tightened: (N, 2), mm."""
        away, normal = self._from_tube(printed)
        room = np.maximum(away + min(self.first, self.second), 0.0)  # no point passes the axis
        return np.asarray(printed - np.minimum(self.clearance, room)[:, None] * normal)

    def opened(self, held: Array) -> Array:
        """Where points (N, 2) of the tightened guide are printed, so that `closed` takes them back
        to their places: (N, 2), mm. Near the tube's axis, where no guide has any wall, they stay.
        """
        away, normal = self._from_tube(held)
        # Normals of an oval meet no deeper than at its sharpest place's centre of curvature.
        sharpest = min(self.first, self.second) ** 2 / max(self.first, self.second)
        moved = np.clip((FADES_TO + away / sharpest) / (FADES_TO - FADES_FROM), 0.0, 1.0)
        return np.asarray(held + self.clearance * moved[:, None] * normal)

    def _from_tube(self, points: Array) -> tuple[Array, Array]:
        """Distance (N,), negative inside, from the tube's outside, and its normal there (N, 2)."""
        turned = np.stack([self.long, [-self.long[1], self.long[0]]])
        own = points @ turned.T
        if self.first == self.second:
            away = np.linalg.norm(own, axis=1)
            normal = own / np.maximum(away, 1e-12)[:, None]
            return away - self.first, normal @ turned
        a, b = np.full(len(own), self.first), np.full(len(own), self.second)
        foot = np.stack(nearest_on_ellipse(own[:, 0], own[:, 1], a, b), axis=1)
        normal = foot / [self.first**2, self.second**2]
        normal /= np.linalg.norm(normal, axis=1, keepdims=True)
        return np.einsum("ij,ij->i", own - foot, normal), normal @ turned
