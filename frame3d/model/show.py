"""How a frame is shown: its paint, and parts that are only drawn and never built."""

from dataclasses import dataclass
from typing import Literal

from frame3d.model.tube import Point


@dataclass(frozen=True)
class Part:
    """A plain shape. A wheel stands upright along the frame about its `centre`, with its outside
    radius and the tyre's width; a rod is round, of diameter `width`, from `centre` to `end`. mm."""

    name: str
    kind: Literal["wheel", "rod"]
    centre: Point
    width: float
    radius: float = 0.0
    end: Point = (0.0, 0.0, 0.0)


@dataclass(frozen=True)
class Show:
    """paint: colour as "#rrggbb" by tube name, "" for all that are not named; without one a tube
    has its material's colour."""

    paint: tuple[tuple[str, str], ...] = ()
    parts: tuple[Part, ...] = ()

    def colour(self, tube: str, otherwise: str) -> str:
        paint = dict(self.paint)
        return paint.get(tube, paint.get("", otherwise))


PLAIN = Show()  # bare metal, no parts
