"""The job file's [cranks], [clearances] and [[clearance]]: what must have room beside the frame."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Annotated, Any

from pydantic import Field, StrictBool

from frame3d.jobs.field_types import Point
from frame3d.jobs.validation import Name, Table, length_between, nearest, number_between
from frame3d.model import Cranks, Pair, Plate, Room, Tube
from frame3d.quantities import LONGEST_MM
from frame3d.tables import row

if TYPE_CHECKING:
    from frame3d.jobs.job import Job

Measure = Annotated[float, length_between(0.0, 1000.0, "a measure")]
Limit = Annotated[float, length_between(0.0, 1000.0, "a clearance")]


def _crank(measure: str) -> Any:
    """A measure of the cranks: its usual value and its meaning as the table has them."""
    usual = row("crank_measures", measure)
    return Field(float(usual["value"]), description=usual["meaning"].removesuffix(", mm"))


def _limit(key: str) -> Any:
    """A limit of a clearance: what is usual and its meaning as the table has them."""
    usual = row("clearance_limits", key.rpartition("_")[0])
    return Field(
        None,
        description=usual["meaning"],
        json_schema_extra={"default": float(usual["limit"])},  # merged where it is judged
    )


class CranksTable(Table):
    """Cranks, pedals and shoes, measured against the frame; what is left out is usual."""

    centre: Point = Field((0.0, 0.0, 0.0), description="middle of the shell, [x, y, z]")
    length: Annotated[float, length_between(50.0, 300.0, "a crank's length")] = _crank("length")
    arm_inner: Measure = _crank("arm_inner")
    arm_width: Measure = _crank("arm_width")
    arm_end: Measure = _crank("arm_end")
    ring_teeth: Annotated[float, number_between(0, 130, "a number of teeth")] = _crank("ring_teeth")
    ring_line: Measure = _crank("ring_line")
    ring_width: Measure = _crank("ring_width")
    pedal_centre: Measure = _crank("pedal_centre")
    pedal_outer: Measure = _crank("pedal_outer")
    pedal_below: Measure = _crank("pedal_below")
    heel_behind: Measure = _crank("heel_behind")
    heel_above: Measure = _crank("heel_above")
    heel_width: Measure = _crank("heel_width")


class MudguardTable(Table):
    """A mudguard over the front wheel."""

    width: Annotated[float, length_between(5.0, 200.0, "a mudguard's width")] = Field(
        description="across", examples=[45]
    )
    radius: Annotated[float, length_between(50.0, 1000.0, "a mudguard's outside radius")] = Field(
        description="from the axle to its outside", examples=[360]
    )


class ClearancesTable(Table):
    """Least room between parts; frame3d/tables/clearance_limits.csv has what is usual."""

    toe_mm: Limit | None = _limit("toe_mm")
    pedal_lean_deg: Annotated[float, number_between(0, 90, "an angle in degrees", "deg")] | None = (
        _limit("pedal_lean_deg")
    )
    tyre_mm: Limit | None = _limit("tyre_mm")
    chain_ring_mm: Limit | None = _limit("chain_ring_mm")
    crank_mm: Limit | None = _limit("crank_mm")
    heel_mm: Limit | None = _limit("heel_mm")
    head_tube: Name | None = Field(
        None,
        description='the tube that the front wheel is steered in, if it is not named "head tube"',
        json_schema_extra={"default": "head tube"},
    )
    foot_retention: StrictBool = Field(
        False, description="true: toe clips or clipless pedals, where the toe may be nearer"
    )
    front_mudguard: MudguardTable | None = Field(
        None,
        description="a mudguard over the front wheel, which the toe must clear",
        examples=[{"width": 45, "radius": 360}],
    )


class PairTable(Table):
    """Two parts, and how far apart they must be."""

    between: tuple[Name, ...] = Field(
        min_length=2,
        max_length=2,
        description="their names; one of them a tube or a plate",
        examples=[["post", "rail"]],
    )
    least: Annotated[float, length_between(0.0, LONGEST_MM, "a clearance")] = Field(
        description="least distance between them", examples=[1.0]
    )


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
        Cranks(**cranks.model_dump()) if cranks else None,
        _limits(wanted),
        tuple(Pair((p.between[0], p.between[1]), p.least) for p in job.tables.clearance),
        wanted.head_tube or "head tube",
        wanted.foot_retention,
        (mudguard.width, mudguard.radius) if mudguard else None,
        usual,
    )


def _limits(own: ClearancesTable) -> tuple[tuple[str, float], ...]:
    """By clearance, without the unit in their keys."""
    dumped = own.model_dump(exclude_none=True)
    return tuple(
        (key.rpartition("_")[0], float(value))
        for key, value in dumped.items()
        if key.endswith(("_mm", "_deg"))
    )
