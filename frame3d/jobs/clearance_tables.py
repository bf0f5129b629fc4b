"""The job file's [cranks], [clearances] and [[clearance]]: what must have room beside the frame."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Annotated

from pydantic import Field, StrictBool

from frame3d.jobs.field_types import Point
from frame3d.jobs.validation import Name, Table, length_between, nearest, number_between
from frame3d.model import Cranks, Pair, Plate, Room, Tube
from frame3d.quantities import LONGEST_MM
from frame3d.tables import rows

if TYPE_CHECKING:
    from frame3d.jobs.job import Job

Measure = Annotated[float, length_between(0.0, 1000.0, "a measure")]
Limit = Annotated[float, length_between(0.0, 1000.0, "a clearance")]


class CranksTable(Table):
    """What is left out comes from tables/crank_measures.csv."""

    centre: Point = (0.0, 0.0, 0.0)
    length: Annotated[float, length_between(50.0, 300.0, "a crank's length")] | None = None
    arm_inner: Measure | None = None
    arm_width: Measure | None = None
    arm_end: Measure | None = None
    ring_teeth: Annotated[float, number_between(0, 130, "a number of teeth")] | None = None
    ring_line: Measure | None = None
    ring_width: Measure | None = None
    pedal_centre: Measure | None = None
    pedal_outer: Measure | None = None
    pedal_below: Measure | None = None
    heel_behind: Measure | None = None
    heel_above: Measure | None = None
    heel_width: Measure | None = None


class MudguardTable(Table):
    width: Annotated[float, length_between(5.0, 200.0, "a mudguard's width")]
    radius: Annotated[float, length_between(50.0, 1000.0, "a mudguard's outside radius")]


class ClearancesTable(Table):
    """The job's own limits; what is left out comes from tables/clearance_limits.csv."""

    tyre_mm: Limit | None = None
    chain_ring_mm: Limit | None = None
    crank_mm: Limit | None = None
    heel_mm: Limit | None = None
    toe_mm: Limit | None = None
    pedal_lean_deg: Annotated[float, number_between(0, 90, "an angle in degrees")] | None = None
    head_tube: Name | None = None
    foot_retention: StrictBool = False
    front_mudguard: MudguardTable | None = None


class PairTable(Table):
    between: tuple[Name, ...] = Field(min_length=2, max_length=2)
    least: Annotated[float, length_between(0.0, LONGEST_MM, "a clearance")]


class RoomTables(Table):
    cranks: CranksTable | None = None
    clearances: ClearancesTable = ClearancesTable()
    clearance: tuple[PairTable, ...] = ()


def room_of(job: "Job", tubes: Sequence[Tube], plates: Sequence[Plate]) -> Room:
    """What the job wants to be measured. Raises JobError for names that nothing has."""
    built = [*(tube.name for tube in tubes), *(plate.name for plate in plates)]
    drawn = [part.name for part in job.tables.part]
    wanted = job.tables.clearances
    names = [tube.name for tube in tubes]
    if wanted.head_tube is not None and wanted.head_tube not in names:
        problem = f'found "{wanted.head_tube}", and no tube has that name'
        job.refuse(("clearances", "head_tube"), f"{problem}; {nearest(wanted.head_tube, names)}")
    for index, pair in enumerate(job.tables.clearance):
        for name in pair.between:
            if name not in (*built, *drawn):
                problem = f'found "{name}", and no tube, plate or part has that name'
                advice = nearest(name, (*built, *drawn))
                job.refuse(("clearance", index, "between"), f"{problem}; {advice}")
        if len(set(pair.between)) < 2 or not set(pair.between) & set(built):
            problem = f"found {' and '.join(pair.between)}, expected two parts"
            job.refuse(("clearance", index, "between"), f"{problem}, one of them a tube or plate")
    mudguard = wanted.front_mudguard
    usual = job.tables.cranks is None and job.tables.bicycle is not None
    cranks = CranksTable() if usual else job.tables.cranks
    return Room(
        _cranks(cranks) if cranks else None,
        _limits(wanted),
        tuple(Pair((p.between[0], p.between[1]), p.least) for p in job.tables.clearance),
        wanted.head_tube or "head tube",
        wanted.foot_retention,
        (mudguard.width, mudguard.radius) if mudguard else None,
        usual,
    )


def _cranks(own: CranksTable) -> Cranks:
    values = {row["measure"]: float(row["value"]) for row in rows("crank_measures")}
    given = own.model_dump(exclude_none=True, exclude={"centre"})
    return Cranks(centre=own.centre, **{**values, **given})


def _limits(own: ClearancesTable) -> tuple[tuple[str, float], ...]:
    """By clearance, without the unit in their keys."""
    dumped = own.model_dump(exclude_none=True)
    return tuple(
        (key.rpartition("_")[0], float(value))
        for key, value in dumped.items()
        if key.endswith(("_mm", "_deg"))
    )
