"""frame3d schema: the JSON Schema of a file or of a `--json`."""

from collections.abc import Callable
from typing import Any

import click

from frame3d.json_text import json_text

Schema = dict[str, Any]


def _job() -> Schema:
    from frame3d.jobs.json_schema import job_schema

    return job_schema()


def _shop() -> Schema:
    from frame3d.jobs.json_schema import shop_schema

    return shop_schema()


def _tubes() -> Schema:
    from frame3d.jobs.json_schema import tubes_schema

    return tubes_schema()


def _filler() -> Schema:
    from frame3d.check.filler_document import FillerDocument

    return FillerDocument.schema_of_output()


def _measured() -> Schema:
    from frame3d.tolerance.measured_document import MeasuredDocument

    return MeasuredDocument.schema_of_output()


# What is described, and what gives its schema; each imports what it needs when it is called.
SCHEMAS: dict[str, Callable[[], Schema]] = {
    "job": _job,
    "shop": _shop,
    "tubes": _tubes,
    "filler": _filler,
    "measured": _measured,
}


@click.command("schema")
@click.argument("name", type=click.Choice(list(SCHEMAS)))
def command(name: str) -> None:
    """Print the JSON Schema (draft 2020-12) of NAME, for editors and other programs.

    job, shop and tubes are the files that you write: the job file, the shop file, the tube list.
    filler and measured are what these commands print with --json.
    """
    click.echo(schema_text(name))


def schema_text(name: str) -> str:
    return json_text(SCHEMAS[name]())
