"""Read a job file and the shop file that it names into the model."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import partial
from os.path import isfile
from pathlib import Path
from types import MappingProxyType
from typing import Any, NoReturn, TypeVar

from pydantic import ValidationError

from frame3d.jobs.clearance_tables import room_of
from frame3d.jobs.end_tables import ends_of, plates_of
from frame3d.jobs.file_text import parsed, text_of
from frame3d.jobs.job import Job
from frame3d.jobs.locate import KeyPath
from frame3d.jobs.measured_table import MeasuredTable
from frame3d.jobs.measurement_checks import holes_of
from frame3d.jobs.mill_tables import mill_of
from frame3d.jobs.paint_tables import shown
from frame3d.jobs.printer_table import printer_from
from frame3d.jobs.relations import check_relations
from frame3d.jobs.saw_table import saws_from
from frame3d.jobs.schema import JobFile, JointTable, ShopFile, TubeTable
from frame3d.jobs.tube_checks import Refuse, check_axis, check_section
from frame3d.jobs.tube_list import TubeList, check_list, filled, list_file, stock_of
from frame3d.jobs.validation import Table, fail, key_text, raise_first
from frame3d.model import CutMethod, Frame, Joint, Limits, Measured, Shop, Tube, cut_from
from frame3d.model.tube import Point
from frame3d.surfaces.placing import placed as placed_on_axes

AnyTable = TypeVar("AnyTable", bound=Table)
NOWHERE = (0.0, 0.0, 0.0)


def read_tables(path: str | Path) -> Job:
    """A job file and the shop file that it names, checked as far as that goes without an axis for
    every tube. Raises JobError, with file, line and key, for the first thing that cannot be used.
    """
    file = Path(path)
    text = text_of(file, "a job file")
    data = parsed(file, text)
    tables = _validated(file, text, data, JobFile, _with_stocks(file, text, data))
    if not tables.tube and tables.bicycle is None and tables.rider is None:
        fail(file, text, ("tube",), "tube", "is missing")
    shop, shop_tables = _shop_of(file, text, tables.job.shop)
    job = Job(file, text, data, tables, shop, shop_tables.own_parts())
    for index, table in enumerate(tables.tube):
        check_section(table.on_axis(NOWHERE, NOWHERE), _below(job, index))
    return job


def frame_of(
    job: Job,
    placed: Sequence[tuple[int | None, Tube]] = (),
    joints: Sequence[Joint] = (),
    dropouts: Mapping[str, Point] = MappingProxyType({}),
) -> Frame:
    """The frame of a job; all its other tubes and joints must say their own places.

    placed: tubes whose axes a geometry gives, each with the number of the [[tube]] table that it
            comes from, or None
    joints: theirs; one that the job says too is the job's
    dropouts: where those of its plates stand that belong to an axle, as "left rear"
    """
    known = {index for index, _ in placed}
    tubes: list[tuple[int | None, Tube]] = [*placed]
    tubes += [
        (index, _own_tube(job, index, table))
        for index, table in enumerate(job.tables.tube)
        if index not in known
    ]
    tubes = [(index, _cut(job, index, tube)) for index, tube in tubes]
    tubes.sort(key=lambda item: -1 if item[0] is None else item[0])
    for index, tube in tubes:
        check_axis(tube, _below(job, index))
    usual = _usual_method(job)
    own = [_joint(joint, usual) for joint in job.tables.joint]
    said = {(joint.tube, joint.end) for joint in own}
    others = (joint for joint in joints if (joint.tube, joint.end) not in said)
    joints = [*(replace(joint, method=usual) for joint in others), *own]
    check_relations(job, tubes, joints)
    built = [tube for _, tube in tubes]
    plates = plates_of(job, built, dropouts)
    frame = Frame(
        job.tables.job.name,
        job.tables.job.process,
        tuple(tube for _, tube in tubes),
        tuple(joints),
        Limits(**job.tables.limits.model_dump()),
        job.shop,
        holes_of(job, built),
        shown(job.tables.paint, job.tables.part),
        tuple(_measured(measured) for measured in job.tables.measured),
        ends=ends_of(job, built, joints, plates),
        plates=plates,
        room=room_of(job, built, plates),
    )
    return placed_on_axes(frame)


def _cut(job: Job, index: int | None, tube: Tube) -> Tube:
    """The tube, cut from its raw one if it names any."""
    table = None if index is None else job.tables.tube[index]
    stock = table and stock_of(table, tube)
    return cut_from(tube, stock, table.trim_start) if table and stock else tube


def _own_tube(job: Job, index: int, table: TubeTable) -> Tube:
    if table.start is None or table.end is None:
        job.refuse(("tube", index, "start" if table.start is None else "end"), "is missing")
    return table.on_axis(table.start, table.end)


def _below(job: Job, index: int | None) -> Refuse:
    """Refuse something of one tube."""
    place: KeyPath = ("bicycle",) if index is None else ("tube", index)
    return lambda path, problem: job.refuse((*place, *path), problem)


def read_shop(path: str | Path) -> Shop:
    """The shop that a shop file describes. Raises JobError."""
    return _read_shop(Path(path))[0]


def _read_shop(file: Path) -> tuple[Shop, ShopFile]:
    text = text_of(file, "a shop file")
    tables = _validated(file, text, parsed(file, text), ShopFile)
    shop = Shop(
        tables.shop.name,
        saws_from(file, text, tables.saw),
        mill_of(tables.mill, tables.block),
        printer_from(file, text, tables.printer),
        tuple(tables.errors.items()),
        tables.shop.cut,
    )
    return shop, tables


def _shop_of(job_file: Path, text: str, name: str | None) -> tuple[Shop, ShopFile]:
    if name is None:
        return Shop(), ShopFile()
    file = job_file.parent / name
    if not isfile(file):
        problem = f'found "{name}", and there is no file {file}; expected a shop file'
        fail(job_file, text, ("job", "shop"), "job, shop", problem)
    return _read_shop(file)


def _with_stocks(file: Path, text: str, data: dict[str, Any]) -> dict[str, Any]:
    """The job's data, its tubes with what they take from the tube list that it names."""

    def refuse(path: KeyPath, problem: str) -> NoReturn:
        fail(file, text, path, key_text(path, data), problem)

    listed = list_file(file, data)
    if listed is None:  # where it is no text, the schema says so
        said = isinstance(data.get("job"), dict) and "tubes" in data["job"]
        return data if said else filled(data, None, refuse)
    if not isfile(listed):
        name = data["job"]["tubes"]
        problem = f'found "{name}", and there is no file {listed}; expected a tube list'
        refuse(("job", "tubes"), problem)
    return filled(data, _read_list(listed), refuse)


def _read_list(file: Path) -> dict[str, Any]:
    """The stocks of a tube list by name, as they stand in the file. Raises JobError."""
    text = text_of(file, "a tube list")
    data = parsed(file, text)

    def refuse(path: KeyPath, problem: str) -> NoReturn:
        fail(file, text, path, key_text(path, data), problem)

    tables = _validated(file, text, data, TubeList)
    check_list(tables, refuse)
    for index, table in enumerate(tables.stock):
        tube = Tube(table.name, NOWHERE, NOWHERE, material=table.material, **table.section())
        check_section(tube, partial(_refuse_below, refuse, ("stock", index)))
    return {table.name: data["stock"][index] for index, table in enumerate(tables.stock)}


def _refuse_below(refuse: Refuse, place: KeyPath, path: KeyPath, problem: str) -> NoReturn:
    refuse((*place, *path), problem)


def _validated(
    file: Path,
    text: str,
    data: dict[str, Any],
    table: type[AnyTable],
    with_more: dict[str, Any] | None = None,
) -> AnyTable:
    """The tables of a file; with_more: its data with what it takes from other files."""
    try:
        return table.model_validate(data if with_more is None else with_more)
    except ValidationError as error:
        raise_first(error, file, text, data)


def _joint(table: JointTable, usual: CutMethod) -> Joint:
    saw = table.saw
    saws = tuple(saw.get(name) if isinstance(saw, dict) else saw for name in table.onto)
    own = "saw" if saw is not None else table.cut
    method = usual if own is None else CutMethod(own, "joint")
    return Joint(table.tube, table.end, tuple(table.onto), saws, method)


def _usual_method(job: Job) -> CutMethod:
    """How ends are cut of which the job says nothing by themselves: the job's word, the shop's, or
    by hand."""
    if job.tables.job.cut is not None:
        return CutMethod(job.tables.job.cut, "job")
    if job.shop.cut is not None:
        return CutMethod(job.shop.cut, "shop")
    return CutMethod()


def _measured(table: MeasuredTable) -> Measured:
    values = table.model_dump()
    return Measured(**{**values, "mates": tuple(values["mates"].items())})
