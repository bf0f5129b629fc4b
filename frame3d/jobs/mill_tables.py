"""The shop file's `[mill]` and `[[block]]`, and the job file's `[[hole]]`."""

from typing import Annotated, Literal

from pydantic import BeforeValidator, Field

from frame3d.jobs.validation import Name, Table, length_between, number, number_between
from frame3d.model import Block, Hole, Mill
from frame3d.quantities import parse_length


def _steps(what: str, low: float, high: float) -> BeforeValidator:
    """A list of plain numbers, at least one."""

    def check(value: object) -> tuple[float, ...]:
        if not isinstance(value, list) or not value:
            raise ValueError(f"found {value!r}, expected a list of {what}")
        return tuple(number(item, low, high, f"each of the {what}") for item in value)

    return BeforeValidator(check)


def _feeds(value: object) -> tuple[float, ...]:
    if not isinstance(value, list) or not value:
        raise ValueError(f"found {value!r}, expected a list of feeds a revolution")
    return tuple(parse_length(item, 0.001, 2.0, "each feed a revolution") for item in value)


class BlockTable(Table):
    bore: Annotated[float, length_between(3.0, 200.0, "a bore")]
    width: Annotated[float, length_between(6.0, 400.0, "a width across the faces")] = 50.8
    length: Annotated[float, length_between(3.0, 400.0, "a length along the tube")] = 38.1


class MillTable(Table):
    """What is left out keeps the default of model/mill.py."""

    spindle_rpm: Annotated[tuple[float, ...], _steps("spindle speeds", 1, 100_000)] | None = None
    feed_per_rev: Annotated[tuple[float, ...], BeforeValidator(_feeds)] | None = None
    edge_tip: Annotated[float, length_between(0.5, 50, "the edge finder's tip")] | None = None
    gauge_step_deg: Annotated[float, number_between(0.001, 5, "the gauge's step")] | None = None
    travel_per_turn: Annotated[float, length_between(0.1, 50, "a travel a turn")] | None = None
    overtravel: Annotated[float, length_between(0.5, 50, "an overtravel")] | None = None
    clearance: Annotated[float, length_between(0.0, 100, "a clearance")] | None = None
    vise_height: Annotated[float, length_between(1, 2000, "a height over the table")] | None = None
    daylight: Annotated[float, length_between(1, 5000, "a daylight")] | None = None
    saw_length: Annotated[float, length_between(1, 1000, "a length under the nose")] | None = None
    waste: Annotated[float, length_between(0.5, 500, "a waste length")] | None = None
    cut_end: Literal["high", "low"] | None = None
    units: Literal["mm", "inch"] | None = None
    paper: Literal["A4", "Letter"] | None = None
    paper_thickness: Annotated[float, length_between(0.0, 2, "a paper thickness")] | None = None


class HoleTable(Table):
    tube: Name
    at: Annotated[float, length_between(0.0, 100_000.0, "a distance from the tube's start")]
    angle_deg: Annotated[float, number_between(-360, 360, "an angle from the datum")]
    diameter: Annotated[float, length_between(0.5, 200.0, "a diameter")]
    kind: Literal["bottle boss", "vent", "guide", "stop", "bolt"] = Field(default="vent")
    through: bool = False

    def hole(self) -> Hole:
        return Hole(self.tube, self.at, self.angle_deg, self.diameter, self.kind, self.through)


def mill_of(table: MillTable, blocks: tuple[BlockTable, ...]) -> Mill:
    """The mill of a shop file."""
    own = table.model_dump(exclude_none=True)
    if "gauge_step_deg" in own:
        own["gauge_step"] = own.pop("gauge_step_deg")
    if blocks:
        own["blocks"] = tuple(Block(b.bore, b.width, b.length) for b in blocks)
    return Mill(**own)
