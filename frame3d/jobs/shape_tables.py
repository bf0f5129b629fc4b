"""The shape of a tube in a job file: lengths that change along it, ovals and bends."""

from collections.abc import Callable
from itertools import pairwise
from typing import Annotated, Any

from pydantic import BeforeValidator, Field

from frame3d.jobs.field_types import Point
from frame3d.jobs.validation import Table, length_between, number_between
from frame3d.model import Bend, Oval, Profile
from frame3d.quantities import LONGEST_MM, listed, parse_length

LEAST_OD_MM, LEAST_WALL_MM = 1.0, 0.1
GREATEST_OD_MM = 300.0  # no frame has more: "28.6 in" for 28.6 mm is a slip

Station = tuple[float, float]


def _stations(
    least: float, greatest: float, what: str, short: str
) -> Callable[[object], list[Station]]:
    """Stations (distance from start, length), mm; a single length is one station.

    Two stations at one distance are a step.
    """

    def check(value: object) -> list[Station]:
        if not isinstance(value, list):
            return [(0.0, parse_length(value, least, greatest, what))]
        expected = f"expected pairs [distance from start, {short}]"
        if not value:
            raise ValueError(f"found an empty list, {expected}")
        found = []
        for station in value:
            if not isinstance(station, list) or len(station) != 2:
                raise ValueError(f"found {listed(station)}, {expected}")
            size = parse_length(station[1], least, greatest, what)
            found.append((parse_length(station[0]), size))
        distances = [at for at, _ in found]
        if any(after < before for before, after in pairwise(distances)):
            raise ValueError(f"found the distances {distances}, expected them to rise")
        if any(distances.count(at) > 2 for at in distances):
            raise ValueError(
                f"found the distances {distances}, expected each once, or twice for a step"
            )
        return found

    return check


Stations = list[Station]
OdStations = Annotated[
    Stations,
    BeforeValidator(_stations(LEAST_OD_MM, GREATEST_OD_MM, "an outside diameter", "od")),
]
WallStations = Annotated[
    Stations, BeforeValidator(_stations(LEAST_WALL_MM, GREATEST_OD_MM / 2, "a wall", "wall"))
]


class OvalTable(Table):
    across: OdStations
    angle: Annotated[float, number_between(-360, 360, "an angle in degrees")] = 0.0

    def shape(self) -> Oval:
        return Oval(Profile.through(self.across), self.angle)


class BendTable(Table):
    corner: Point
    radius: Annotated[float, length_between(1.0, LONGEST_MM, "a bend's radius")]

    def shape(self) -> Bend:
        return Bend(self.corner, self.radius)


class SectionTable(Table):
    """Outside and wall along a tube."""

    od: OdStations
    wall: WallStations
    oval: OvalTable | None = None

    def section(self) -> dict[str, Any]:
        """The same as keys of model.Tube."""
        return {
            "od": Profile.through(self.od),
            "wall": Profile.through(self.wall),
            "oval": self.oval and self.oval.shape(),
        }


class ShapeTable(SectionTable):
    """What a tube is like along its axis."""

    bends: tuple[BendTable, ...] = Field(default=())

    def shape(self) -> dict[str, Any]:
        """The same as keys of model.Tube."""
        return {
            **self.section(),
            "bends": tuple(bend.shape() for bend in self.bends),
        }
