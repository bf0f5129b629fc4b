"""The [printer] table of a shop file: what printed guides are made for."""

from pathlib import Path
from typing import Annotated, Literal

from pydantic import BeforeValidator

from frame3d.jobs.validation import Table, fail, number_between
from frame3d.model import Printer
from frame3d.model.printer import printer_troubles
from frame3d.quantities import LONGEST_MM, described, parse_length


def _bed(value: object) -> tuple[float, ...]:
    if not isinstance(value, list) or len(value) != 3:
        raise ValueError(f"found {described(value)}, expected [width, depth, height]")
    return tuple(parse_length(part) for part in value)


# Which lengths make sense is told by printer_troubles, once for files and for callers alike.
Length = Annotated[float, BeforeValidator(parse_length)]
Degrees = Annotated[float, number_between(-360.0, 360.0, "an angle in degrees")]
Percent = Annotated[float, number_between(-LONGEST_MM, LONGEST_MM, "a number of percent")]


class PrinterTable(Table):
    """What is left out comes from the model's Printer."""

    bed: Annotated[tuple[float, float, float] | None, BeforeValidator(_bed)] = None
    clearance: Length | None = None
    wall: Length | None = None
    foot: Length | None = None
    hold: Length | None = None
    overhang: Degrees | None = None
    line: Length | None = None
    shrink: Percent | None = None
    clamp: Literal["screws", "hose-clamp", "zip-ties"] | None = None
    opening: Literal["slit", "halves"] | None = None


def printer_from(file: Path, text: str, table: PrinterTable) -> Printer:
    """The printer of a shop file. Raises JobError for a setting that cannot be used."""
    printer = Printer(**table.model_dump(exclude_none=True))
    for name, problem in printer_troubles(printer):
        fail(file, text, ("printer", name), f"printer, {name}", problem)
    return printer
