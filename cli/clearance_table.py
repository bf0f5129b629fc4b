"""The clearances as a table for people."""

import math
from typing import TYPE_CHECKING

from rich.box import SIMPLE_HEAD
from rich.markup import escape
from rich.table import Table

from .common import plain

if TYPE_CHECKING:
    from rich.console import Console

    from frame3d.fit.clearance import Clearance, Clearances
    from frame3d.model.tube import Point

UNITS = {"mm": " mm", "deg": "°"}


def print_clearances(found: "Clearances", out: "Console") -> None:
    """How near what comes to what, and where."""
    from frame3d.fit.clearance import USUAL

    table = Table(title="clearances", title_justify="left", title_style="bold", box=SIMPLE_HEAD)
    table.add_column("what", overflow="fold")
    table.add_column("to", overflow="fold")
    for name in ("clear", "least"):
        table.add_column(name, justify="right", no_wrap=True)
    table.add_column("where: x, y, z", justify="right")
    table.add_column("verdict", no_wrap=True)
    for line in found.lines:
        table.add_row(*_row(line))
    out.print(table)
    if any(USUAL in line.note for line in found.lines):
        out.print(
            "ring, cranks, heels and pedals are usual ones, and only told; \\[cranks] says yours"
        )


def _row(line: "Clearance") -> list[str]:
    unit = UNITS[line.unit]
    clear = "all" if math.isinf(line.value) else f"{plain(line.value, 1)}{unit}"
    where = _where(line.at) if line.at else escape(line.note)
    verdict = "[green]pass[/green]" if line.passes else "[bold red]fail[/bold red]"
    told = verdict if line.judged else "told"
    return [escape(line.what), escape(line.to), clear, f"{line.limit:g}{unit}", where, told]


def _where(place: "Point") -> str:
    return ", ".join(plain(part, 0) for part in place)
