"""The shop file's `[mill]` and `[[block]]`, and the job file's `[[hole]]`."""

from typing import Annotated, Literal

from pydantic import Field, StrictBool

from frame3d.jobs.validation import (
    Kind,
    Name,
    Table,
    length_between,
    length_schema,
    list_schema,
    number,
    number_between,
)
from frame3d.model import Block, Hole, HoleKind, Mill
from frame3d.quantities import parse_length


def _steps(what: str, low: float, high: float, unit: str) -> Kind:
    """A list of plain numbers, at least one."""

    def check(value: object) -> tuple[float, ...]:
        if not isinstance(value, list) or not value:
            raise ValueError(f"found {value!r}, expected a list of {what}")
        return tuple(number(item, low, high, f"each of the {what}") for item in value)

    one = {"type": "number", "minimum": low, "maximum": high}
    return Kind(check, {**list_schema(one), "unit": unit})


def _feeds(value: object) -> tuple[float, ...]:
    if not isinstance(value, list) or not value:
        raise ValueError(f"found {value!r}, expected a list of feeds a revolution")
    return tuple(parse_length(item, 0.001, 2.0, "each feed a revolution") for item in value)


FEEDS = {**list_schema(length_schema(0.001, 2.0)), "unit": "mm a revolution"}


class BlockTable(Table):
    """A split block; without any, fractional-inch bores from 1/2 to 1 3/4 in are taken."""

    bore: Annotated[float, length_between(3.0, 200.0, "a bore")] = Field(
        description="the tube's diameter that it grips", examples=["1 1/8 in"]
    )
    width: Annotated[float, length_between(6.0, 400.0, "a width across the faces")] = Field(
        50.8, description="across its faces", examples=["2 in"]
    )
    length: Annotated[float, length_between(3.0, 400.0, "a length along the tube")] = Field(
        38.1, description="along the tube", examples=["1 1/2 in"]
    )


class MillTable(Table):
    """The mill, its measuring tools and its pages; what is left out is a usual knee mill's."""

    spindle_rpm: Annotated[tuple[float, ...], _steps("spindle speeds", 1, 100_000, "rpm")] = Field(
        Mill.spindle_rpm, description="the speeds that the machine has"
    )
    feed_per_rev: Annotated[tuple[float, ...], Kind(_feeds, FEEDS)] = Field(
        Mill.feed_per_rev,
        description="the steps of its power feed",
        examples=[["0.0015 in", "0.003 in", "0.006 in"]],
    )
    edge_tip: Annotated[float, length_between(0.5, 50, "the edge finder's tip")] = Field(
        Mill.edge_tip, description="diameter of the edge finder's tip", examples=["3/8 in"]
    )
    gauge_step_deg: Annotated[float, number_between(0.001, 5, "the gauge's step", "deg")] = Field(
        Mill.gauge_step, description="what the angle gauge resolves"
    )
    cut_end: Literal["high", "low"] = Field(
        Mill.cut_end, description="whether the end under the saw is tilted high or low"
    )
    overtravel: Annotated[float, length_between(0.5, 50, "an overtravel")] = Field(
        Mill.overtravel,
        description="how far the saw runs past the last metal before the stop trips",
    )
    clearance: Annotated[float, length_between(0.0, 100, "a clearance")] = Field(
        Mill.clearance, description="least room between block and saw"
    )
    waste: Annotated[float, length_between(0.5, 500, "a waste length")] = Field(
        Mill.waste, description="raw tube wanted beyond the longest tip"
    )
    units: Literal["mm", "inch"] = Field(Mill.units, description="what the pages print")
    paper: Literal["A4", "Letter"] = Field(Mill.paper, description="what they are printed on")
    paper_thickness: Annotated[float, length_between(0.0, 2, "a paper thickness")] = Field(
        Mill.paper_thickness, description="of a wrap: half of it lies outside the tube"
    )
    travel_per_turn: Annotated[float, length_between(0.1, 50, "a travel a turn")] | None = Field(
        None,
        description="of the hand wheels, where there is no readout",
        examples=["0.1 in"],
    )
    vise_height: Annotated[float, length_between(1, 2000, "a height over the table")] | None = (
        Field(
            None,
            description="of a held tube's axis over the table; with daylight and saw_length the "
            "pages tell what stays free",
            examples=[110.0],
        )
    )
    daylight: Annotated[float, length_between(1, 5000, "a daylight")] | None = Field(
        None,
        description="from the spindle's nose to the table at its lowest",
        examples=[450.0],
    )
    saw_length: Annotated[float, length_between(1, 1000, "a length under the nose")] | None = Field(
        None, description="from the spindle's nose to the saw's teeth", examples=[95.0]
    )


class HoleTable(Table):
    """A hole, drilled square to the axis; of "seat stay" and its like in both sides."""

    tube: Name = Field(description="the tube that is drilled", examples=["down tube"])
    at: Annotated[float, length_between(0.0, 100_000.0, "a distance from the tube's start")] = (
        Field(description="from the tube's start along its axis", examples=[250.0])
    )
    angle_deg: Annotated[float, number_between(-360, 360, "an angle from the datum", "deg")] = (
        Field(description="from the datum, right-handed about start to end", examples=[180])
    )
    diameter: Annotated[float, length_between(0.5, 200.0, "a diameter")] = Field(
        description="the drill's", examples=[6.1]
    )
    kind: HoleKind = Field("vent", description="what it is for, as the pages tell")
    through: StrictBool = Field(False, description="true: through both walls, as for a bolt")

    def hole(self) -> Hole:
        return Hole(self.tube, self.at, self.angle_deg, self.diameter, self.kind, self.through)


def mill_of(table: MillTable, blocks: tuple[BlockTable, ...]) -> Mill:
    """The mill of a shop file."""
    own = table.model_dump()
    own["gauge_step"] = own.pop("gauge_step_deg")
    if blocks:
        own["blocks"] = tuple(Block(b.bore, b.width, b.length) for b in blocks)
    return Mill(**own)
