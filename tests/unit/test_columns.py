"""Tables on a terminal of any width keep every name whole; in a pipe each row is one line."""

import io
import re

import pytest
from click.testing import CliRunner
from rich.console import Console
from rich.text import Text

from frame3d_cli.columns import print_table
from frame3d_cli.main import main

COLUMNS = ("tube", "end", "onto", "gap mm", "butt left, long side", "verdict")
ROWS = [
    ["chain stay bridge", "start", "left chain stay\nseat tube", "0.123\n0.1", "45.7", "pass"],
    ["Hauptrahmenunterrohr", "end", "\\[/]", "-12.5", "all", "[bold red]fail[/bold red]"],
    ["下管", "end", "頭管", "0.1", "10 mm", "pass"],
]
WORDS = {"chain", "bridge", "start", "Hauptrahmenunterrohr", "[/]", "下管", "頭管", "verdict"}


def printed(width: int, terminal: bool) -> str:
    out = io.StringIO()
    console = Console(file=out, width=width, force_terminal=terminal, color_system=None)
    print_table(console, COLUMNS, ROWS, words=3, title="a [table]")
    return out.getvalue()


@pytest.mark.parametrize("width", range(22, 110))
def test_no_name_is_broken_or_lost(width: int) -> None:
    text = printed(width, terminal=True)
    assert set(re.findall(r"[^\s,:]+", text)) >= WORDS
    assert "…" not in text
    assert re.search(r"\b10\s+mm\b", text)
    assert max(len(line.rstrip()) for line in text.splitlines()) <= width


@pytest.mark.parametrize("width", [20, 100])
def test_a_row_is_one_line_in_a_pipe(width: int) -> None:
    lines = printed(width, terminal=False).splitlines()
    for cells in ROWS:
        shown = [Text.from_markup(cell.replace("\n", ", ")).plain for cell in cells]
        assert sum(all(cell in line for cell in shown) for line in lines) == 1


@pytest.mark.parametrize("width", [40, 60, 80])
def test_a_bicycles_tables_keep_their_names_on_a_narrow_terminal(width: int) -> None:
    """Joints, parts, trim plan, clearances and geometry: they lost tubes' names at 80 columns."""
    env = {"FORCE_COLOR": "1", "COLUMNS": str(width), "TERM": "xterm"}
    for command in ("check", "geometry") if width == 60 else ("geometry",):
        result = CliRunner().invoke(main, [command, "examples/touring/job.toml"], env=env)
        assert result.exit_code == 0, result.output
        text = re.sub(r"\x1b\[[0-9;]*m", "", result.stdout)
        assert "…" not in text
        assert max(map(len, map(str.rstrip, text.splitlines()))) <= width
        for word in ("wanted", "pass") if command == "check" else ("upper", "standover"):
            assert re.search(rf"\b{word}\b", text)
