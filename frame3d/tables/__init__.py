"""Published values and shop practice as CSV files, one table a file, each row with its source.

A builder corrects or extends a value there, without reading Python.
"""

import csv
from functools import cache
from importlib import resources


@cache
def rows(table: str) -> tuple[dict[str, str], ...]:
    """All rows of `table`.csv, as texts by column name."""
    text = resources.files(__name__).joinpath(f"{table}.csv").read_text(encoding="utf-8")
    return tuple(csv.DictReader(text.splitlines()))


def row(table: str, key: str) -> dict[str, str]:
    """The row whose first column is `key`. Raises KeyError with the known keys."""
    known = {next(iter(r.values())): r for r in rows(table)}
    if key not in known:
        raise KeyError(f"{table} has no {key!r}; it has {', '.join(known)}")
    return known[key]
