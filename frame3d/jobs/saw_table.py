"""The shop file's `[[saw]]`."""

from collections.abc import Iterator
from pathlib import Path
from typing import Annotated

from pydantic import Field

from frame3d.jobs.field_types import known_in
from frame3d.jobs.validation import (
    Kind,
    Table,
    fail,
    length_between,
    length_schema,
    number,
    number_between,
)
from frame3d.model import ProvedSpeed, Saw
from frame3d.quantities import parse_length


def saw_od(value: object) -> float:
    return parse_length(value, 1.0, 1000.0, "a saw's outside diameter")


SAW_OD = length_schema(1.0, 1000.0)


def _count(value: object) -> int:
    found = number(value, 1, 500, "a number of teeth")
    if found != int(found):
        raise ValueError(f"found {found:g}, expected a whole number of teeth")
    return int(found)


class ProvedTable(Table):
    """A speed at which a saw has cut well, in walls up to one."""

    material: Annotated[str, known_in("materials")] = Field("steel", description="what was cut")
    wall: Annotated[float, length_between(0.1, 50.0, "a wall")] = Field(
        description="the thickest wall that it holds for", examples=[0.9]
    )
    rpm: Annotated[float, number_between(1, 100_000, "a spindle speed", "rpm")] = Field(
        description="the spindle's speed", examples=[210]
    )


class SawTable(Table):
    """A hole saw or cutter of the shop."""

    od: Annotated[float, Kind(saw_od, SAW_OD)] = Field(
        description="outside diameter, measured over the teeth", examples=[28.9]
    )
    depth: Annotated[float, length_between(1.0, 1000.0, "a cutting depth")] | None = Field(
        None, description="how deep it cuts", examples=[38.0]
    )
    tooth: Annotated[float, length_between(0.2, 20.0, "a thickness of teeth")] | None = Field(
        None,
        description="thickness of its teeth over their set; left out, 1.3 to 1.8 is allowed for, "
        "as bi-metal hole saws have: measure others, or give `inside`",
        examples=[1.5],
    )
    inside: Annotated[float, length_between(0.5, 1000.0, "an inside diameter")] | None = Field(
        None, description="the diameter within its teeth, in place of tooth", examples=[25.9]
    )
    teeth: (
        Annotated[int, Kind(_count, {"type": "integer", "minimum": 1, "maximum": 500})] | None
    ) = Field(None, description="how many teeth, for the chip load", examples=[26])
    proved: tuple[ProvedTable, ...] = Field(
        (),
        description="speeds at which it has cut well, in walls up to that: told before the "
        "handbook's, in large type",
        examples=[[{"material": "steel", "wall": 0.9, "rpm": 210}]],
    )
    kind: Annotated[str, known_in("saw_kinds")] = Field(
        "hole saw", description="how true it runs and how stiff it is: frame3d/tables/saw_kinds.csv"
    )


def saws_from(file: Path, text: str, tables: tuple[SawTable, ...]) -> tuple[Saw, ...]:
    """The saws of a shop file. Raises JobError where the keys of one contradict each other."""
    for index, table in enumerate(tables):
        for key, problem in _troubles(table):
            place = ("saw", index, key)
            fail(file, text, place, f"saw number {index + 1}, {key}", problem)
    return tuple(_saw(table) for table in tables)


def _troubles(saw: SawTable) -> Iterator[tuple[str, str]]:
    if saw.inside is not None and saw.tooth is not None:
        yield (
            "inside",
            f"found {saw.inside:g} beside tooth = {saw.tooth:g}, expected one of the two: they "
            "say the same",
        )
    elif saw.inside is not None and saw.inside > saw.od - 0.4:
        yield "inside", f"found {saw.inside:g}, expected less than the saw's od of {saw.od:g} mm"
    elif saw.tooth is not None and 2 * saw.tooth >= saw.od:
        yield "tooth", f"found {saw.tooth:g}, expected less than half the saw's od, {saw.od:g} mm"


def _saw(table: SawTable) -> Saw:
    tooth = table.tooth
    if table.inside is not None:
        tooth = (table.od - table.inside) / 2
    proved = tuple(ProvedSpeed(p.material, p.wall, p.rpm) for p in table.proved)
    known = Saw(table.od, table.depth, teeth=table.teeth, proved=proved, kind=table.kind)
    return known if tooth is None else known.with_tooth(tooth)
