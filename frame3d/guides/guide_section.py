"""The cross-section of a guide: half round above, flat sides and the foot below."""

from dataclasses import dataclass

import numpy as np
from manifold3d import CrossSection

from frame3d.guides.place import Array

ROUND_FLATS = 180
LEAD_IN_MM = 0.4  # by which the bore is wider at the bed, a side; own choice
CORNER_MM = 2.0  # the foot's edges, so that a hose clamp or a tie runs around them


@dataclass(frozen=True)
class Section:
    """bore: largest radius of the bore; radius: half the guide's width; foot: from the tube's axis
    down to the plane that the guide stands on; mm. y points to the datum, the foot is at -y."""

    bore: float
    radius: float
    foot: float

    def points(self, grown: float = 0.0) -> Array:
        """The convex outline, (N, 2), grown outward by `grown` mm."""
        r = self.radius + grown
        top = np.linspace(0.0, np.pi, ROUND_FLATS // 2 + 1)
        rim = r * np.stack([np.cos(top), np.sin(top)], axis=1)
        corner = CORNER_MM + grown
        turn = np.linspace(-np.pi / 2, 0.0, 9)
        right = corner * np.stack([np.cos(turn), np.sin(turn)], axis=1)
        right += [self.radius - CORNER_MM, -(self.foot - CORNER_MM)]
        left = right[::-1] * [-1.0, 1.0]
        return np.concatenate([rim, left, right])

    def outline(self, grown: float = 0.0) -> CrossSection:
        """The same as a cross-section."""
        return CrossSection([self.points(grown)])

    def samples(self) -> Array:
        """Points (N, 2) about a millimetre apart all over the wall, its edges included."""
        across = np.linspace(-self.radius, self.radius, 2 * int(self.radius) + 1)
        down = np.linspace(-self.foot, self.radius, int(self.radius + self.foot) + 1)
        grid = np.stack(np.meshgrid(across, down), axis=-1).reshape(-1, 2)
        away = np.linalg.norm(grid, axis=1)
        grid = grid[(away > self.bore) & ((grid[:, 1] < 0) | (away < self.radius))]
        turn = np.linspace(0.0, 2 * np.pi, 361)[:-1]
        rim = self.bore * np.stack([np.cos(turn), np.sin(turn)], axis=1)
        return np.concatenate([grid, rim, self.points()])


def rectangle(low: tuple[float, float], high: tuple[float, float]) -> CrossSection:
    """The rectangle between two corners."""
    size = (high[0] - low[0], high[1] - low[1])
    return CrossSection.square(size).translate(low)


def rectangle_points(low: tuple[float, float], high: tuple[float, float]) -> Array:
    """Points (N, 2) all over the rectangle, 21 by 21."""
    across, down = np.linspace(low[0], high[0], 21), np.linspace(low[1], high[1], 21)
    return np.stack(np.meshgrid(across, down), axis=-1).reshape(-1, 2)
