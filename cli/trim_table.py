"""The trim plan as a table for people, with the order list under it."""

import math
from typing import TYPE_CHECKING

from rich.markup import escape

from .columns import print_table
from .common import plain

if TYPE_CHECKING:
    from rich.console import Console

    from frame3d.check.trim import EndTrim, Order, TrimPlan, TubeTrim
    from frame3d.model.axis import End

COLUMNS = (
    "tube", "end", "from", "raw length", "cut length", "cut off", "butt left, long side",
    "butt left, short side", "wall at joint", "wall at zone's edge",
)  # fmt: skip


def print_trim(plan: "TrimPlan", out: "Console") -> None:
    """What to cut off, what butt stays, what is wrong in words, and what to have at hand."""
    rows = [_row(tube, end) for tube in plan.tubes for end in ("start", "end")]
    title = f"trim plan, mm; heated zone {plan.zone:g} mm"
    print_table(out, COLUMNS, rows, words=3, title=title)
    for tube in plan.tubes:
        for text in (*tube.reasons, *tube.notes):
            out.print(f"[bold]{escape(tube.tube)}:[/bold] {escape(text)}")
    out.print(f"have at hand: {', '.join(map(_wanted, plan.orders))}")


def _wanted(order: "Order") -> str:
    text = f"{order.count} × {escape(order.stock)}"
    if order.least is None:
        return f"{text} ({order.raw:g} mm)"
    return f"{text} (longer: {order.raw:g} mm is too short, buy at least {order.least:.0f} mm)"


def _row(tube: "TubeTrim", end: "End") -> list[str]:
    lengths = [f"{tube.raw:.1f}", f"{tube.finished:.1f}"]
    return [escape(tube.tube), end, escape(tube.stock), *lengths, *_figures(tube.ends[end])]


def _figures(end: "EndTrim") -> list[str]:
    return [
        plain(end.cut, 1),
        _butt(end.butt_long),
        _butt(end.butt_short),
        f"{end.wall_at_joint:.2f}",
        f"{end.wall_at_zone:.2f}",
    ]


def _butt(length: float) -> str:
    return "all" if math.isinf(length) else plain(length, 1)
