"""Tables for people: no name is ever broken or lost, however narrow the terminal.

On a terminal a table's columns are made narrower at the spaces between words; where that is not
enough, each row is told as a short list. Into a pipe or file each row is one line, of any width.
"""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from rich.box import SIMPLE_HEAD
from rich.cells import cell_len
from rich.table import Table
from rich.text import Text

if TYPE_CHECKING:
    from rich.console import Console

BETWEEN = 2  # letters from one column to the next


def print_table(
    out: "Console",
    columns: Sequence[str],
    rows: Sequence[Sequence[str]],
    words: int = 1,
    title: str = "",
) -> None:
    """Print a table.

    words: how many of the first columns hold words, told from the left; the others hold numbers
    rows: at least one; cells in rich's markup, several lines where there are several mates
    title: plain
    """
    between = "\n" if out.is_terminal else ", "
    cells = [[Text.from_markup(cell.replace("\n", between)) for cell in row] for row in rows]
    heads = [Text(name) for name in columns]
    natural = [max(map(_width, column)) for column in zip(heads, *cells, strict=True)]
    longest = [max(map(_longest_word, column)) for column in zip(heads, *cells, strict=True)]
    numbers = [max(map(_width, column), default=1) for column in zip(*cells, strict=True)]
    least = [*longest[:words], *map(max, longest[words:], numbers[words:])]
    room = out.width - BETWEEN * len(columns)
    widths = _narrowed(natural, least, room) if out.is_terminal else natural
    if title:
        out.print(Text(title, "bold"))
    if widths is None:
        _print_lists(out, columns, cells, words)
        return
    table = Table(box=SIMPLE_HEAD, padding=(0, 1, 0, 0), show_edge=False)
    for index, (name, width) in enumerate(zip(heads, widths, strict=True)):
        side = "left" if index < words else "right"
        table.add_column(name, justify=side, width=width)  # type: ignore[arg-type]
    for row in cells:
        table.add_row(*row)
    page, out.width = out.width, max(out.width, sum(widths) + BETWEEN * len(widths))
    out.print(table)
    out.print()
    out.width = page


def _width(cell: Text) -> int:
    return max(map(cell_len, cell.plain.split("\n")))


def _longest_word(cell: Text) -> int:
    return max(map(cell_len, cell.plain.split()), default=1)


def _narrowed(natural: Sequence[int], least: Sequence[int], room: int) -> list[int] | None:
    """Widths that fit into the room together, each of the longest word at least; None where there
    are none. What can give most gives first."""
    if sum(least) > room:
        return None
    widths = list(natural)
    while sum(widths) > room:
        slack = [width - low for width, low in zip(widths, least, strict=True)]
        widths[slack.index(max(slack))] -= 1
    return widths


def _print_lists(
    out: "Console", columns: Sequence[str], cells: Sequence[Sequence[Text]], words: int
) -> None:
    """Each row as its words, and below them its numbers by name."""
    for row in cells:
        names = [part for cell in row[:words] for part in cell.split("\n") if part.plain]
        out.print(Text(", ").join(names), style="bold")
        for name, cell in zip(columns[words:], row[words:], strict=True):
            if cell.plain:
                told = Text(", ").join(cell.split("\n"))
                out.print(Text(f"  {name}: ").append_text(told))
    out.print()
