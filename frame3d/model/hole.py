"""A hole drilled square into a tube, through one wall or through both."""

from dataclasses import dataclass
from typing import Literal

HoleKind = Literal["bottle boss", "vent", "guide", "stop", "bolt"]


@dataclass(frozen=True)
class Hole:
    """tube: its name; at: from the tube's start along its axis, mm; angle: of its centre from the
    datum, right-handed about start to end, degrees; diameter: mm; kind: what it is for; through:
    on through the wall opposite, in one line across the axis."""

    tube: str
    at: float
    angle: float
    diameter: float
    kind: HoleKind
    through: bool = False

    @property
    def angles(self) -> tuple[float, ...]:
        """Where it goes through the wall, degrees from the datum."""
        return (self.angle, self.angle + 180.0) if self.through else (self.angle,)
