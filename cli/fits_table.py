"""How the bought parts fit, as a table for people."""

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Any

from rich.box import SIMPLE_HEAD
from rich.markup import escape
from rich.table import Table

if TYPE_CHECKING:
    from rich.console import Console


def print_fits(lines: Iterable[Mapping[str, Any]], out: "Console") -> None:
    """lines: as they stand in the report's JSON; what to do and what is wrong in words below."""
    table = Table(title="parts", title_justify="left", title_style="bold", box=SIMPLE_HEAD)
    for name in ("part", "tube"):
        table.add_column(name, overflow="fold")
    for name in ("wanted mm", "tube's mm"):
        table.add_column(name, justify="right", no_wrap=True)
    table.add_column("verdict", no_wrap=True)
    said = list(lines)
    for line in said:
        verdict = (
            "[green]pass[/green]" if line["verdict"] == "pass" else "[bold red]fail[/bold red]"
        )
        table.add_row(
            escape(line["part"]),
            escape(line["tube"]),
            f"{line['wanted_mm']:.2f}",
            f"{line['found_mm']:.2f}",
            verdict,
        )
    out.print(table)
    for line in said:
        for text in (*line["reasons"], *line["notes"]):
            out.print(f"[bold]{escape(line['part'])}:[/bold] {escape(text)}")
