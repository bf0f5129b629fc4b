"""The trim plan as a table for people, with the order list under it."""

import math
from typing import TYPE_CHECKING

from rich.box import SIMPLE_HEAD
from rich.markup import escape
from rich.table import Table

from .common import plain

if TYPE_CHECKING:
    from rich.console import Console

    from frame3d.shop.trim import EndTrim, Order, TrimPlan, TubeTrim


def print_trim(plan: "TrimPlan", out: "Console") -> None:
    """What to cut off, what butt stays, what is wrong in words, and what to have at hand."""
    title = f"trim plan, heated zone {plan.zone:g} mm"
    table = Table(title=title, title_justify="left", title_style="bold", box=SIMPLE_HEAD)
    table.add_column("tube\nfrom", overflow="fold")
    table.add_column("length mm\nraw, cut", justify="right", no_wrap=True)
    table.add_column("end", no_wrap=True)
    for name in (
        "cut off",
        "butt left\nlong side",
        "\nshort side",
        "wall at\njoint",
        "\nzone's edge",
    ):
        table.add_column(name, justify="right", no_wrap=True)
    for tube in plan.tubes:
        _add_tube(table, tube)
    out.print(table)
    for tube in plan.tubes:
        for text in (*tube.reasons, *tube.notes):
            out.print(f"[bold]{escape(tube.tube)}:[/bold] {escape(text)}")
    out.print(f"have at hand: {', '.join(map(_wanted, plan.orders))}")


def _wanted(order: "Order") -> str:
    text = f"{order.count} × {escape(order.stock)}"
    if order.least is None:
        return f"{text} ({order.raw:g} mm)"
    return f"{text} (longer: {order.raw:g} mm is too short, buy at least {order.least:.0f} mm)"


def _add_tube(table: Table, tube: "TubeTrim") -> None:
    start, end = tube.ends["start"], tube.ends["end"]
    table.add_row(
        f"{escape(tube.tube)}\n{escape(tube.stock)}",
        f"{tube.raw:.1f}\n{tube.finished:.1f}",
        "start\nend",
        *(f"{a}\n{b}" for a, b in zip(_figures(start), _figures(end), strict=True)),
    )


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
