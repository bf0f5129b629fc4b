"""The shop file's `[[saw]]`."""

from collections.abc import Iterator
from pathlib import Path
from typing import Annotated

from pydantic import BeforeValidator

from frame3d.jobs.field_types import known_in
from frame3d.jobs.validation import Table, fail, length_between, number, number_between
from frame3d.model import ProvedSpeed, Saw
from frame3d.quantities import parse_length


def saw_od(value: object) -> float:
    return parse_length(value, 1.0, 1000.0, "a saw's outside diameter")


def _count(value: object) -> int:
    found = number(value, 1, 500, "a number of teeth")
    if found != int(found):
        raise ValueError(f"found {found:g}, expected a whole number of teeth")
    return int(found)


class ProvedTable(Table):
    material: Annotated[str, known_in("materials")] = "steel"
    wall: Annotated[float, length_between(0.1, 50.0, "a wall")]
    rpm: Annotated[float, number_between(1, 100_000, "a spindle speed")]


class SawTable(Table):
    od: Annotated[float, BeforeValidator(saw_od)]
    depth: Annotated[float, length_between(1.0, 1000.0, "a cutting depth")] | None = None
    tooth: Annotated[float, length_between(0.2, 20.0, "a thickness of teeth")] | None = None
    inside: Annotated[float, length_between(0.5, 1000.0, "an inside diameter")] | None = None
    teeth: Annotated[int, BeforeValidator(_count)] | None = None
    proved: tuple[ProvedTable, ...] = ()
    kind: Annotated[str, known_in("saw_kinds")] = "hole saw"


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
