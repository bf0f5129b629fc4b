"""The shape of a tube in a job file: lengths that change along it, ovals and bends."""

from itertools import pairwise
from typing import Annotated, Any

from pydantic import Field

from frame3d.jobs.field_types import Point
from frame3d.jobs.validation import (
    Kind,
    Table,
    length_between,
    length_schema,
    list_schema,
    number_between,
)
from frame3d.model import Bend, Oval, Profile
from frame3d.quantities import LONGEST_MM, listed, parse_length

LEAST_OD_MM, LEAST_WALL_MM = 1.0, 0.1
GREATEST_OD_MM = 300.0  # no frame has more: "28.6 in" for 28.6 mm is a slip

Station = tuple[float, float]


def _stations(least: float, greatest: float, what: str, short: str) -> Kind:
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

    one = length_schema(least, greatest)
    several = list_schema(list_schema(length_schema(), 2, 2))  # no prefixItems: editors know less
    return Kind(check, {**one, "anyOf": [*one["anyOf"], several]})


Stations = list[Station]
OdStations = Annotated[
    Stations, _stations(LEAST_OD_MM, GREATEST_OD_MM, "an outside diameter", "od")
]
WallStations = Annotated[Stations, _stations(LEAST_WALL_MM, GREATEST_OD_MM / 2, "a wall", "wall")]


class OvalTable(Table):
    """An oval outside; `od`, then, is the diameter at `angle`."""

    across: OdStations = Field(
        description="the diameter square to the one at `angle`; or pairs [distance, diameter]",
        examples=[22.2, [[0, 17], [150, 22.2]]],
    )
    angle: Annotated[float, number_between(-360, 360, "an angle in degrees", "deg")] = Field(
        0.0, description="where `od` is measured: from the datum, right-handed about start to end"
    )

    def shape(self) -> Oval:
        return Oval(Profile.through(self.across), self.angle)


class BendTable(Table):
    """A bend of a tube's axis."""

    corner: Point = Field(
        description="where the straight lengths beside the bend would meet, [x, y, z]",
        examples=[[120, 0, 40]],
    )
    radius: Annotated[float, length_between(1.0, LONGEST_MM, "a bend's radius")] = Field(
        description="radius of the bend, to the tube's axis", examples=[150]
    )

    def shape(self) -> Bend:
        return Bend(self.corner, self.radius)


class SectionTable(Table):
    """Outside and wall along a tube."""

    od: OdStations = Field(
        description="outside diameter; tapered or stepped: pairs [distance from start, outside], "
        "one distance twice for a step",
        examples=[28.6, "1 1/8 in", [[0, 22.2], [200, 22.2], [380, 12.5]]],
    )
    wall: WallStations = Field(
        description="wall thickness; butted: pairs [distance from start, wall]",
        examples=[0.9, "0.035 in", [[0, 0.9], [60, 0.9], [90, 0.6]]],
    )
    oval: OvalTable | None = Field(
        None,
        description="an oval outside: the second diameter, and where the first one is measured",
        examples=[{"across": [[0, 17], [150, 22.2]], "angle": 0}],
    )

    def section(self) -> dict[str, Any]:
        """The same as keys of model.Tube."""
        return {
            "od": Profile.through(self.od),
            "wall": Profile.through(self.wall),
            "oval": self.oval and self.oval.shape(),
        }


class ShapeTable(SectionTable):
    """What a tube is like along its axis."""

    bends: tuple[BendTable, ...] = Field(
        (),
        description="bends of the axis, in their order from start",
        examples=[[{"corner": [120, 0, 40], "radius": 150}]],
    )

    def shape(self) -> dict[str, Any]:
        """The same as keys of model.Tube."""
        return {
            **self.section(),
            "bends": tuple(bend.shape() for bend in self.bends),
        }
