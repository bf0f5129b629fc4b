"""The clearances as a table for people."""

import math
from typing import TYPE_CHECKING

from rich.markup import escape

from frame3d.quantities import told_beside

from .columns import print_table
from .common import plain

if TYPE_CHECKING:
    from rich.console import Console

    from frame3d.check.clearances import Clearance, Clearances
    from frame3d.model.tube import Point

COLUMNS = ("what", "to", "where: x, y, z", "clear", "least", "verdict")
UNITS = {"mm": " mm", "deg": "°"}


def print_clearances(found: "Clearances", out: "Console") -> None:
    """How near what comes to what, and where."""
    from frame3d.check.clearances import USUAL

    rows = [_row(line) for line in found.lines]
    print_table(out, COLUMNS, rows, words=3, title="clearances")
    for line in found.lines:
        if line.remedy:
            out.print(
                f"[bold]{escape(line.what)} to {escape(line.to)}[/bold] clears with "
                f"{escape(line.remedy)}"
            )
    if any(USUAL in line.note for line in found.lines):
        out.print(
            "ring, cranks, heels and pedals are usual ones, and only told; \\[cranks] says yours"
        )


def _row(line: "Clearance") -> list[str]:
    unit = UNITS[line.unit]
    clear = "all" if math.isinf(line.value) else f"{told_beside(line.value, line.limit, 1)}{unit}"
    where = _where(line.at) if line.at else escape(line.note)
    verdict = "[green]pass[/green]" if line.passes else "[bold red]fail[/bold red]"
    told = verdict if line.judged else "told"
    return [escape(line.what), escape(line.to), where, clear, f"{line.limit:g}{unit}", told]


def _where(place: "Point") -> str:
    return ", ".join(plain(part, 0) for part in place)
