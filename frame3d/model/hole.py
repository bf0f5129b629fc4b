"""A hole drilled square into a tube, through one wall."""

from dataclasses import dataclass
from typing import Literal

HoleKind = Literal["bottle boss", "vent", "guide", "stop"]


@dataclass(frozen=True)
class Hole:
    """tube: its name; at: from the tube's start along its axis, mm; angle: of its centre from the
    datum, right-handed about start to end, degrees; diameter: mm; kind: what it is for."""

    tube: str
    at: float
    angle: float
    diameter: float
    kind: HoleKind
