"""Kinds of values that several tables of the files hold."""

from typing import Annotated

from frame3d.jobs.validation import Kind, length_schema, list_schema, nearest
from frame3d.quantities import described, listed, parse_length
from frame3d.tables import rows


def known_in(table: str) -> Kind:
    """A word from the first column of a table."""
    known = [next(iter(row.values())) for row in rows(table)]

    def check(value: object) -> str:
        if value not in known:
            advice = nearest(value, known) if isinstance(value, str) else ""
            advice = advice or f"expected one of {', '.join(known)}"
            raise ValueError(f"found {described(value)}, {advice}")
        return str(value)

    return Kind(check, {"type": "string", "enum": known})


def _point(value: object) -> tuple[float, ...]:
    if not isinstance(value, list) or len(value) != 3:
        raise ValueError(f"found {listed(value)}, expected three lengths [x, y, z]")
    return tuple(parse_length(part) for part in value)


Point = Annotated[
    tuple[float, float, float], Kind(_point, list_schema(length_schema(), 3, 3) | {"unit": "mm"})
]
