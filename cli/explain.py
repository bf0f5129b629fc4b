"""frame3d explain: what each key of the files means."""

from collections.abc import Iterable
from textwrap import wrap
from typing import TYPE_CHECKING

import click

from .common import refuse

if TYPE_CHECKING:
    from frame3d.jobs.reference import Key, KeyTable

WIDTH, NAMES = 80, 22
LENGTHS = """\
Lengths are mm, or a text with its unit: 28.6, "1 1/8 in", "0.035 in".
Axes: x forward, y left, z up (ISO 8855). Angles are degrees."""


@click.command("explain")
@click.argument("key", required=False)
def command(key: str | None) -> None:
    """Explain every key of job file, shop file and tube list, or only KEY.

    KEY is the name of a key, a key with its table (tube.wall), or a table (tube).
    """
    from frame3d.jobs.reference import reference
    from frame3d.jobs.validation import nearest

    known = reference()
    if key is None:
        click.echo("\n\n".join([LENGTHS, *(_of_file(file, known) for file in _files(known))]))
        return
    wanted = key.strip("[]")
    tables = [table for table in known if _is(wanted, table.place)]
    keys = [(table, own) for table in known for own in table.keys if _is(wanted, own.place)]
    if not (tables or keys):
        places = [table.place for table in known] + [own.place for t in known for own in t.keys]
        names = dict.fromkeys(place.rpartition(".")[2] for place in places)
        advice = nearest(wanted, places if "." in wanted else names)
        refuse(f'no key and no table is called "{key}"; {advice}')
    told = [_table(table) for table in tables]
    if not tables:
        told = [_one(table, own) for table, own in keys]
    elif others := [own.place for _, own in keys if own.place not in {t.place for t in tables}]:
        told.append("\n".join(wrap(f"As a key: {', '.join(others)}", WIDTH)))
    click.echo("\n\n".join(told))


def _is(wanted: str, place: str) -> bool:
    return place == wanted or place.endswith(f".{wanted}")


def _files(tables: Iterable["KeyTable"]) -> list[str]:
    return list(dict.fromkeys(table.file for table in tables))


def _of_file(file: str, tables: Iterable["KeyTable"]) -> str:
    title = f"THE {file.upper()}"
    return "\n\n".join([title, *(_table(table) for table in tables if table.file == file)])


def _table(table: "KeyTable") -> str:
    lines = wrap(f"{table.header}  {table.meaning}", WIDTH, subsequent_indent="    ")
    for key in table.keys:
        first, *others = _wrapped(key.meaning) + _wrapped(_what_may_stand(key))
        lines.append(f"  {key.name:<{NAMES - 2}}{first}".rstrip())
        if len(key.name) > NAMES - 3:
            lines[-1:] = [f"  {key.name}", " " * NAMES + first]
        lines += [" " * NAMES + line for line in others]
    return "\n".join(lines)


def _what_may_stand(key: "Key") -> str:
    left_out = "needed" if key.needed else f"left out: {key.usual}" if key.usual else ""
    return f"({'; '.join(part for part in (key.values, left_out) if part)})"


def _one(table: "KeyTable", key: "Key") -> str:
    rows = {
        "what": key.meaning,
        "values": key.values,
        "left out": "it is needed" if key.needed else key.usual and f"{key.usual} counts",
        "example": key.example and f"{key.name} = {key.example}",
        "table": f"{table.header} of the {table.file}",
    }
    lines = [key.place]
    for what, text in rows.items():
        for number, line in enumerate(wrap(text, WIDTH - 12)):
            lines.append(f"  {'' if number else what:<10}{line}")
    return "\n".join(lines)


def _wrapped(text: str) -> list[str]:
    return wrap(text, WIDTH - NAMES)
