"""Read a job file and the shop file that it names into the model."""

import re
import tomllib
from pathlib import Path
from typing import Any, TypeVar

from pydantic import ValidationError

from frame3d.jobs.errors import JobError
from frame3d.jobs.measured import MeasuredTable
from frame3d.jobs.relations import check_relations
from frame3d.jobs.schema import JobFile, JointTable, LimitsTable, ShopFile, TubeTable
from frame3d.jobs.shop_mill import hole_of, mill_of
from frame3d.jobs.shop_printer import printer_from
from frame3d.jobs.show import shown
from frame3d.jobs.strict import Table, fail, raise_first
from frame3d.model import Frame, Joint, Limits, Measured, Profile, Saw, Shop, Tube
from frame3d.tables import rows

AnyTable = TypeVar("AnyTable", bound=Table)


def read_job(path: str | Path) -> Frame:
    """The frame that a job file describes.

    Raises JobError, with file, line and key, for the first thing that cannot be used.
    """
    file = Path(path)
    text = _text_of(file, "a job file")
    data, job = _validated(file, text, JobFile)
    check_relations(file, text, data, job)
    return Frame(
        job.job.name,
        job.job.process,
        tuple(_tube(tube) for tube in job.tube),
        tuple(_joint(joint) for joint in job.joint),
        _limits(job.limits),
        _shop_of(file, text, job.job.shop),
        tuple(hole_of(hole) for hole in job.hole),
        shown(job.paint, job.part),
        tuple(_measured(measured) for measured in job.measured),
    )


def read_shop(path: str | Path) -> Shop:
    """The shop that a shop file describes. Raises JobError."""
    file = Path(path)
    text = _text_of(file, "a shop file")
    _, shop = _validated(file, text, ShopFile)
    return Shop(
        shop.shop.name,
        tuple(Saw(saw.od, saw.depth) for saw in shop.saw),
        mill_of(shop.mill, shop.block),
        printer_from(file, text, shop.printer),
        tuple(shop.errors.items()),
    )


def _shop_of(job_file: Path, text: str, name: str | None) -> Shop:
    if name is None:
        return Shop()
    file = job_file.parent / name
    if not file.is_file():
        problem = f'found "{name}", and there is no file {file}; expected a shop file'
        fail(job_file, text, ("job", "shop"), "job, shop", problem)
    return read_shop(file)


def _text_of(file: Path, what: str) -> str:
    if file.is_dir():
        raise JobError(file, f"is a folder, expected {what}")
    try:
        data = file.read_bytes()
    except FileNotFoundError:
        raise JobError(file, f"there is no such file, expected {what}") from None
    except OSError as error:
        raise JobError(file, f"cannot be read: {error.strerror}") from None
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        raise JobError(file, f"is not text in UTF-8, expected {what} in TOML", line) from None
    if "\0" in text:
        raise JobError(file, f"is not text, expected {what} in TOML")
    if not text.strip():
        raise JobError(file, f"is empty, expected {what} in TOML")
    return text


def _validated(file: Path, text: str, table: type[AnyTable]) -> tuple[dict[str, Any], AnyTable]:
    try:
        data = tomllib.loads(text.replace("\r\n", "\n"))
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        message = str(error)
        place = re.search(r" \(at line (\d+), column \d+\)$| \(at end of document\)$", message)
        if place is None:
            raise JobError(file, f"is not valid TOML: {message}") from None
        line = int(place[1]) if place[1] else len(text.splitlines())
        raise JobError(file, f"is not valid TOML: {message[: place.start()]}", line) from None
    try:
        return data, table.model_validate(data)
    except ValidationError as error:
        raise_first(error, file, text, data)


def _tube(table: TubeTable) -> Tube:
    return Tube(
        table.name,
        table.start,
        table.end,
        Profile.constant(table.od),
        Profile.through(table.wall),
        table.material,
    )


def _joint(table: JointTable) -> Joint:
    saw = table.saw
    saws = tuple(saw.get(name) if isinstance(saw, dict) else saw for name in table.onto)
    return Joint(table.tube, table.end, tuple(table.onto), saws)


def _measured(table: MeasuredTable) -> Measured:
    values = table.model_dump()
    return Measured(**{**values, "mates": tuple(values["mates"].items())})


def _limits(own: LimitsTable) -> Limits:
    values = {row["limit"]: float(row["value"]) for row in rows("check_limits")}
    return Limits(**{**values, **own.model_dump(exclude_none=True)})
