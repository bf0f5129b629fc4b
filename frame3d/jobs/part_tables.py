"""The shop's own rows of the tables of bought parts, each table named as its file in tables/."""

from typing import Annotated

from pydantic import BeforeValidator

from frame3d.jobs.validation import Table, nearest
from frame3d.quantities import described, parse_length
from frame3d.tables import rows

PARTS = ("rims", "headset_bores", "steerers", "shells", "seat_posts", "hubs")
# What a builder's own row may leave out: it decides nothing, or has a usual value.
MAY_BE_LEFT_OUT = (
    "source",
    "common_names",
    "meaning",
    "thread",
    "dropout",
    "sunk_mm",
    "lower_stack_within_mm",
)

Row = dict[str, object]


def _row_of(table: str) -> BeforeValidator:
    """A row with the columns of a table: mm in those ending so, texts in all others."""
    columns = list(rows(table)[0])

    def check(value: object) -> Row:
        if not isinstance(value, dict):
            raise ValueError(f"found {described(value)}, expected a row as [[{table}]]")
        for key in value:
            if key not in columns:
                raise ValueError(f'unknown key "{key}", {nearest(key, columns)}')
        row: Row = {}
        for column in columns:
            if column not in value and column not in MAY_BE_LEFT_OUT:
                raise ValueError(f"{column} is missing")
            if column not in value:
                row[column] = ""
                continue
            found = value[column]
            try:
                row[column] = parse_length(found) if column.endswith("_mm") else _text(found)
            except ValueError as error:
                raise ValueError(f"{column}: {error}") from None
        return row

    return BeforeValidator(check)


def _text(value: object) -> str:
    if isinstance(value, int | float) and not isinstance(value, bool):
        return f"{value:g}"  # a code such as 28.6, written as a number
    if not isinstance(value, str):
        raise ValueError(f"found {described(value)}, expected a text in quotes")
    return value


class PartTables(Table):
    rims: tuple[Annotated[Row, _row_of("rims")], ...] = ()
    headset_bores: tuple[Annotated[Row, _row_of("headset_bores")], ...] = ()
    steerers: tuple[Annotated[Row, _row_of("steerers")], ...] = ()
    shells: tuple[Annotated[Row, _row_of("shells")], ...] = ()
    seat_posts: tuple[Annotated[Row, _row_of("seat_posts")], ...] = ()
    hubs: tuple[Annotated[Row, _row_of("hubs")], ...] = ()

    def own_parts(self) -> dict[str, tuple[Row, ...]]:
        return {table: getattr(self, table) for table in PARTS}
