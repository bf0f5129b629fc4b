"""The shop's own rows of the tables of bought parts, each table named as its file in tables/."""

from typing import Annotated, Any

from frame3d.jobs.validation import Kind, length_schema, nearest, table_schema
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

# Of each table, and of its columns.
MEANINGS = {
    "rims": "Rims of your own, by bead seat diameter",
    "headset_bores": "Headset cups of your own, by the code of their kind and size",
    "steerers": "Steerers and crown races of your own, by their part of a headset's code",
    "shells": "Bottom bracket shells of your own",
    "seat_posts": "Seat posts of your own, by diameter",
    "hubs": "Hubs of your own, by a name such as 130x10",
    "bead_seat_mm": "bead seat diameter, ISO 5775",
    "common_names": "what it is also called",
    "code": "kind and size, as EC34",
    "bore_mm": "what tube or shell is bored to, before any tapping",
    "head_tube_od_mm": "a common outside for the head tube",
    "least_wall_mm": "least wall of the head tube around the cup",
    "upper_stack_mm": "head tube's end to the spacers",
    "lower_stack_mm": "crown race seat to the head tube's end",
    "lower_stack_within_mm": "how far such headsets are from that",
    "shis": "the number behind the stroke, as 28.6",
    "place": "upper or lower half",
    "steerer_mm": "the steerer's outside diameter",
    "meaning": "in words",
    "shell": "the name that [bicycle] gives as shell",
    "width_mm": "between its faces",
    "od_mm": "outside diameter",
    "thread": "the thread, in words",
    "post_mm": "the post's outside diameter",
    "seat_tube_od_mm": "outside of a seat tube that it goes with",
    "wall_at_top_mm": "that seat tube's wall at its top",
    "hub": "the name that [bicycle] gives as front_hub or rear_hub",
    "end": "front or rear",
    "spacing_mm": "over locknuts",
    "axle_mm": "the axle's diameter",
    "sunk_mm": "how deep its ends stand in each dropout",
    "dropout": "what the axle goes into, in words",
    "source": "where the numbers are from",
}

Row = dict[str, object]


def _row_of(table: str) -> Kind:
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

    keys = {column: _column(column, rows(table)[0][column]) for column in columns}
    needed = [column for column in columns if column not in MAY_BE_LEFT_OUT]
    return Kind(check, {**table_schema(keys, required=needed), "description": MEANINGS[table]})


def _column(column: str, example: str) -> dict[str, Any]:
    of_mm = column.endswith("_mm")
    value = length_schema() if of_mm else {"type": ["string", "number"]}
    return {
        **value,
        "description": MEANINGS[column],
        "examples": [float(example) if of_mm else example],
    }


def _text(value: object) -> str:
    if isinstance(value, int | float) and not isinstance(value, bool):
        return f"{value:g}"  # a code such as 28.6, written as a number
    if not isinstance(value, str):
        raise ValueError(f"found {described(value)}, expected a text in quotes")
    return value


OwnRims = tuple[Annotated[Row, _row_of("rims")], ...]
OwnHeadsetBores = tuple[Annotated[Row, _row_of("headset_bores")], ...]
OwnSteerers = tuple[Annotated[Row, _row_of("steerers")], ...]
OwnShells = tuple[Annotated[Row, _row_of("shells")], ...]
OwnSeatPosts = tuple[Annotated[Row, _row_of("seat_posts")], ...]
OwnHubs = tuple[Annotated[Row, _row_of("hubs")], ...]
