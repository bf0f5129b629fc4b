"""How the bought parts fit, as a table for people."""

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Any

from rich.markup import escape

from .columns import print_table

if TYPE_CHECKING:
    from rich.console import Console

COLUMNS = ("part", "tube", "wanted mm", "tube's mm", "verdict")


def print_fits(lines: Iterable[Mapping[str, Any]], out: "Console") -> None:
    """lines: as they stand in the report's JSON; what to do and what is wrong in words below."""
    rows = []
    said = list(lines)
    for line in said:
        verdict = (
            "[green]pass[/green]" if line["verdict"] == "pass" else "[bold red]fail[/bold red]"
        )
        rows.append(
            [
                escape(line["part"]),
                escape(line["tube"]),
                f"{line['wanted_mm']:.2f}",
                f"{line['found_mm']:.2f}",
                verdict,
            ]
        )
    print_table(out, COLUMNS, rows, words=2, title="parts")
    for line in said:
        for text in (*line["reasons"], *line["notes"]):
            out.print(f"[bold]{escape(line['part'])}:[/bold] {escape(text)}")
