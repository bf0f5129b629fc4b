"""The [printer] table of a shop file: what printed guides are made for."""

from pathlib import Path
from typing import Annotated, Any

from pydantic import Field

from frame3d.jobs.validation import Kind, Table, fail, length_schema, list_schema, number
from frame3d.model import Printer
from frame3d.model.printer import Clamp, Opening, printer_troubles
from frame3d.quantities import LONGEST_MM, described, parse_length


def _bed(value: object) -> tuple[float, ...]:
    if not isinstance(value, list) or len(value) != 3:
        raise ValueError(f"found {described(value)}, expected [width, depth, height]")
    return tuple(parse_length(part) for part in value)


# Which sizes make sense is told by printer_troubles, once for files and for callers alike.
def _length(most: float = LONGEST_MM) -> Kind:
    return Kind(parse_length, length_schema(0.0, most))


def _number(low: float, high: float, what: str, unit: str) -> Kind:
    def read(value: object) -> Any:
        return number(value, -LONGEST_MM, LONGEST_MM, what)

    return Kind(read, {"type": "number", "minimum": low, "maximum": high, "unit": unit})


Length = Annotated[float, _length()]
BED = list_schema(length_schema(40.0), 3, 3) | {"unit": "mm"}


class PrinterTable(Table):
    """What printed guides are made for."""

    bed: Annotated[tuple[float, float, float], Kind(_bed, BED)] = Field(
        Printer.bed,
        description="room to print in, [width, depth, height]; a larger guide is cut into parts",
    )
    clearance: Annotated[float, _length(1.0)] = Field(
        Printer.clearance, description="between tube and bore, a side"
    )
    wall: Length = Field(
        Printer.wall, description="least wall around the bore: what the file runs on"
    )
    foot: Length = Field(
        Printer.foot, description="below the wall: what both guides of a tube stand on"
    )
    hold: Length = Field(
        Printer.hold, description="least length of guide below the deepest point of the cope"
    )
    overhang: Annotated[float, _number(20, 80, "an angle in degrees", "deg")] = Field(
        Printer.overhang, description="how far from upright a face may lean out without support"
    )
    line: Length = Field(Printer.line, description="width of one printed line")
    shrink: Annotated[float, _number(0, 5, "a number of percent", "percent")] = Field(
        Printer.shrink, description="what a print loses in cooling, of its length"
    )
    clamp: Clamp = Field(
        Printer.clamp, description="what tightens a guide: M4 screws, a hose clamp or zip ties"
    )
    opening: Opening = Field(
        Printer.opening, description="one slit beside the tube, or two halves located by keys"
    )


def printer_from(file: Path, text: str, table: PrinterTable) -> Printer:
    """The printer of a shop file. Raises JobError for a setting that cannot be used."""
    printer = Printer(**table.model_dump())
    for name, problem in printer_troubles(printer):
        fail(file, text, ("printer", name), f"printer, {name}", problem)
    return printer
