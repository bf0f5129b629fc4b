"""Cross-sections of a tube as it lies for a cut: an ellipse about its axis, most often a circle."""

from dataclasses import dataclass

import numpy as np

from frame3d.model import End, Tube
from frame3d.model.tube_section import arc, semi_axes
from frame3d.surfaces.surface import Array


@dataclass(frozen=True)
class Lying:
    """A tube with one line up and one end pointed at. Lengths mm.

    line_up: angle of the line that faces up from the datum, radians, right-handed start to end
    Places are given outward from the end point of the axis, offsets along `away` (up x outward).
    """

    tube: Tube
    end: End
    line_up: float

    def station(self, outward: float | Array) -> Array:
        """Distance from the tube's start."""
        return np.asarray(self.tube.length + outward if self.end == "end" else -np.asarray(outward))

    def semi(self, outward: float | Array, bore: bool = False) -> tuple[Array, Array]:
        """Half the od, and half the diameter a quarter turn from it; of the bore if asked for.

        The bore of an oval is taken as an ellipse: within a few hundredths of the true one.
        """
        return semi_axes(self.tube, self.station(outward), bore)

    @property
    def _turn(self) -> tuple[float, float]:
        """Direction of the od in the section: (along `away`, up)."""
        oval = self.tube.oval
        turn = (np.radians(oval.angle) if oval else 0.0) - self.line_up
        return float(np.sin(turn)) * (-1.0 if self.end == "end" else 1.0), float(np.cos(turn))

    def heights(self, outward: Array, across: Array, bore: bool = False) -> tuple[Array, Array]:
        """Upper and lower height of the wall's face over offsets (N,); nan beside the tube."""
        a, b = self.semi(outward, bore)
        s, c = self._turn
        square = (c / a) ** 2 + (s / b) ** 2
        half = across * s * c * (1 / a**2 - 1 / b**2)
        rest = across**2 * ((s / a) ** 2 + (c / b) ** 2) - 1.0
        with np.errstate(invalid="ignore"):
            root = np.sqrt(half**2 - square * rest)
        return (-half + root) / square, (-half - root) / square

    def ring(self, outward: float | Array, angle: Array, bore: bool = False) -> tuple[Array, Array]:
        """Offsets and heights of the face at eccentric angles (N,) from the od's direction."""
        a, b = self.semi(outward, bore)
        s, c = self._turn
        along, across = a * np.cos(angle), b * np.sin(angle)
        return along * s + across * c, along * c - across * s

    def up(self, outward: float) -> float:
        """From the axis to the outside on the line that faces up."""
        (upper,), _ = self.heights(np.array([outward]), np.zeros(1))
        return float(upper)

    def half_width(self, outward: float, bore: bool = False) -> float:
        """From the axis to either side, as the edge finder meets them."""
        a, b = self.semi(outward, bore)
        s, c = self._turn
        return float(np.hypot(a * s, b * c))

    def around(self, outward: float, line: float) -> float:
        """From the datum line around the outside to a line, degrees, both clockwise as seen from
        the tube's start."""
        (around,) = arc(self.tube, self.station(outward), np.radians([line]))
        return float(around)
