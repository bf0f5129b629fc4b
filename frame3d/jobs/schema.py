"""The tables of a job file and of a shop file, as a builder may write them."""

from itertools import pairwise
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field

from frame3d.jobs.error_sizes import ErrorSizes
from frame3d.jobs.kinds import Point, known_in, listed
from frame3d.jobs.measured import MeasuredTable
from frame3d.jobs.shop_mill import BlockTable, HoleTable, MillTable
from frame3d.jobs.shop_printer import PrinterTable
from frame3d.jobs.show import PaintTable, PartTable
from frame3d.jobs.strict import (
    LONGEST_MM,
    Name,
    Table,
    Text,
    length,
    length_between,
    number_between,
)
from frame3d.quantities import parse_length

LEAST_OD_MM, LEAST_WALL_MM, LEAST_LENGTH_MM = 1.0, 0.1, 1.0


def _wall(value: object) -> list[tuple[float, float]]:
    """Stations (distance from start, wall), mm; a single number is one station."""
    if not isinstance(value, list):
        return [(0.0, length(value, LEAST_WALL_MM, LONGEST_MM, "a wall"))]
    stations = []
    for station in value:
        if not isinstance(station, list) or len(station) != 2:
            raise ValueError(f"found {listed(station)}, expected pairs [distance from start, wall]")
        wall = length(station[1], LEAST_WALL_MM, LONGEST_MM, "a wall")
        stations.append((parse_length(station[0]), wall))
    if not stations:
        raise ValueError("found an empty list, expected pairs [distance from start, wall]")
    distances = [at for at, _ in stations]
    if any(after <= before for before, after in pairwise(distances)):
        raise ValueError(f"found the distances {distances}, expected them to rise")
    return stations


def _saw(value: object) -> Any:
    if isinstance(value, dict):
        return {name: _saw_od(od) for name, od in value.items()}
    return _saw_od(value)


def _saw_od(value: object) -> float:
    return length(value, 1.0, 1000.0, "a saw's outside diameter")


Od = Annotated[float, length_between(LEAST_OD_MM, LONGEST_MM, "an outside diameter")]


def _margin(what: str) -> BeforeValidator:
    return length_between(0.0, 1000.0, what)


class JobTable(Table):
    name: Name
    process: Annotated[str, known_in("process_limits")]
    shop: Text | None = None


class TubeTable(Table):
    name: Name
    start: Point
    end: Point
    od: Od
    wall: Annotated[list[tuple[float, float]], BeforeValidator(_wall)]
    material: Annotated[str, known_in("materials")] = "steel"


class JointTable(Table):
    tube: Name
    end: Literal["start", "end"]
    onto: tuple[Name, ...] = Field(min_length=1)
    saw: Annotated[float | dict[str, float] | None, BeforeValidator(_saw)] = None


class LimitsTable(Table):
    """The job's own limits; what is left out comes from tables/check_limits.csv."""

    gap_mm: Annotated[float, _margin("a gap")] | None = None
    end_margin_mm: Annotated[float, _margin("a margin")] | None = None
    feather_mm: Annotated[float, _margin("a thickness")] | None = None
    clash_mm3: Annotated[float, number_between(0, 1e9, "a volume in mm3")] | None = None
    least_angle_deg: Annotated[float, number_between(1, 89, "an angle in degrees")] | None = None


class JobFile(Table):
    job: JobTable
    tube: tuple[TubeTable, ...] = Field(min_length=1)
    joint: tuple[JointTable, ...] = ()
    hole: tuple[HoleTable, ...] = ()
    paint: PaintTable = PaintTable()
    part: tuple[PartTable, ...] = ()
    limits: LimitsTable = LimitsTable()
    measured: tuple[MeasuredTable, ...] = ()


class ShopTable(Table):
    name: Name = "this shop"


class SawTable(Table):
    od: Annotated[float, BeforeValidator(_saw_od)]
    depth: Annotated[float, length_between(1.0, 1000.0, "a cutting depth")] | None = None


class ShopFile(Table):
    shop: ShopTable = ShopTable()
    saw: tuple[SawTable, ...] = ()
    mill: MillTable = MillTable()
    block: tuple[BlockTable, ...] = ()
    printer: PrinterTable = PrinterTable()
    errors: ErrorSizes = Field(default_factory=dict)
