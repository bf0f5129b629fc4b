"""The tube list: raw tubes under a shop's own designations, and the tubes of a job cut from them.

A tube that names one takes outside, wall, oval and material from the list. What it says of them all
the same was measured on the very tube on the rack, and counts: along the raw tube, from its start.
"""

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Annotated, Any, NoReturn

from pydantic import Field, StrictBool

from frame3d.jobs.field_types import known_in
from frame3d.jobs.locate import KeyPath
from frame3d.jobs.shape_tables import SectionTable
from frame3d.jobs.validation import Name, Table, length_between, nearest
from frame3d.model import Stock, Tube
from frame3d.quantities import LONGEST_MM, described

MATERIAL = "what it is made of: for masses, speeds and colours"
TAKEN = ("od", "wall", "oval", "material")

RawLength = Annotated[float, length_between(1.0, LONGEST_MM, "a raw tube's length")]
Trim = Annotated[float, length_between(0.0, LONGEST_MM, "a length to cut off")]


class StockTable(SectionTable):
    """A raw tube on the rack; all stations are distances from its start."""

    name: Name = Field(
        description="the designation by which tubes of a job name it", examples=["top 28.6 9-6-9"]
    )
    length: RawLength = Field(description="from end to end, as delivered", examples=[620])
    material: Annotated[str, known_in("materials")] = Field("steel", description=MATERIAL)


class TubeList(Table):
    """The raw tubes on a shop's rack, which `tubes` in a job's [job] names."""

    stock: tuple[StockTable, ...] = Field(min_length=1)


class CutTable(SectionTable):
    """What a tube of the job says of the raw tube that it is cut from."""

    stock: Name | None = Field(
        None,
        description="the raw tube of the tube list that it is cut from, in place of od and wall",
        examples=["top 28.6 9-6-9"],
    )
    raw_length: RawLength | None = Field(
        None,
        description="the raw tube's length, measured on the very tube; it counts before the list's",
        examples=[619.2],
    )
    trim_start: Trim | None = Field(
        None,
        description="cut off at the tube's start; left out, both butts are shared out",
        examples=[40],
    )
    flipped: StrictBool = Field(
        False, description="true: the raw tube's end lies at the tube's start"
    )


def check_list(tables: TubeList, refuse: Callable[[KeyPath, str], NoReturn]) -> None:
    """Names of their own, and stations that lie on the tube."""
    seen: set[str] = set()
    for index, table in enumerate(tables.stock):
        if table.name in seen:
            problem = f'found "{table.name}" a second time, expected a designation of its own'
            refuse(("stock", index, "name"), problem)
        seen.add(table.name)
        across = table.oval.across if table.oval else []
        for key, stations in (("od", table.od), ("wall", table.wall), ("oval", across)):
            for at, _ in stations:
                if not 0 <= at <= table.length:
                    problem = f"found a station at {at:g} mm, expected 0 to {table.length:g} mm"
                    refuse(("stock", index, key), f"{problem}, the raw tube's length")


def filled(
    data: dict[str, Any],
    raw: Mapping[str, Any] | None,
    refuse: Callable[[KeyPath, str], NoReturn],
) -> dict[str, Any]:
    """The job's data with what its tubes take from the list; raw: the list's own tables by name,
    as they stand in its file, None where the job names no list."""
    tubes = data.get("tube")
    if not isinstance(tubes, list):
        return data
    new = []
    for index, tube in enumerate(tubes):
        if not isinstance(tube, dict):
            return data
        new.append({**_taken(tube, index, raw, refuse), **tube})
    return {**data, "tube": new}


def _taken(
    tube: dict[str, Any],
    index: int,
    raw: Mapping[str, Any] | None,
    refuse: Callable[[KeyPath, str], NoReturn],
) -> dict[str, Any]:
    if "stock" not in tube:
        for key in ("raw_length", "trim_start", "flipped"):
            if key in tube:
                refuse(("tube", index, key), "is only known of a tube with a stock")
        return {}
    name = tube["stock"]
    if not isinstance(name, str):
        problem = f"found {described(name)}, expected a designation of the tube list in quotes"
        refuse(("tube", index, "stock"), problem)
    if raw is None:
        problem = f"found {described(name)}, and the job names no tube list"
        refuse(("tube", index, "stock"), f'{problem}; expected tubes = "..." in [job]')
    if name not in raw:
        problem = f"found {described(name)}, which is not in the tube list; {nearest(name, raw)}"
        refuse(("tube", index, "stock"), problem)
    table = raw[name]
    return {
        **{key: table[key] for key in TAKEN if key in table},
        "raw_length": table["length"],
    }


def stock_of(table: CutTable, tube: Tube) -> Stock | None:
    """The raw tube of a job's tube, counted from the end that lies at the tube's start."""
    if table.stock is None or table.raw_length is None:
        return None
    stock = Stock(table.stock, table.raw_length, tube.od, tube.wall, tube.material, tube.oval)
    return stock.turned() if table.flipped else stock


def list_file(job_file: Path, data: dict[str, Any]) -> Path | None:
    """The tube list that a job's data names; None where it names none that could be one."""
    job = data.get("job")
    name = job.get("tubes") if isinstance(job, dict) else None
    return job_file.parent / name if isinstance(name, str) and name.strip() else None
