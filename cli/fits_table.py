"""How the bought parts fit, as a table for people."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from rich.markup import escape

from .columns import print_table

if TYPE_CHECKING:
    from rich.console import Console

    from frame3d.model import PartFit

COLUMNS = ("part", "tube", "wanted mm", "tube's mm", "verdict")


def print_fits(fits: "Sequence[PartFit]", out: "Console") -> None:
    """What to do and what is wrong in words below."""
    rows = []
    for fit in fits:
        verdict = "[green]pass[/green]" if fit.passes else "[bold red]fail[/bold red]"
        sizes = f"{fit.wanted:.2f}", f"{fit.found:.2f}"
        rows.append([escape(fit.part), escape(fit.tube), *sizes, verdict])
    print_table(out, COLUMNS, rows, words=2, title="parts")
    for fit in fits:
        for text in (*fit.reasons, *fit.notes):
            out.print(f"[bold]{escape(fit.part)}:[/bold] {escape(text)}")
