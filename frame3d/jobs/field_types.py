"""Kinds of values that several tables of the files hold."""

from typing import Annotated

from pydantic import BeforeValidator

from frame3d.jobs.validation import nearest
from frame3d.quantities import described, listed, parse_length
from frame3d.tables import rows


def known_in(table: str) -> BeforeValidator:
    """A word from the first column of a table."""

    def check(value: object) -> str:
        known = [next(iter(row.values())) for row in rows(table)]
        if value not in known:
            advice = nearest(value, known) if isinstance(value, str) else ""
            advice = advice or f"expected one of {', '.join(known)}"
            raise ValueError(f"found {described(value)}, {advice}")
        return str(value)

    return BeforeValidator(check)


def _point(value: object) -> tuple[float, ...]:
    if not isinstance(value, list) or len(value) != 3:
        raise ValueError(f"found {listed(value)}, expected three lengths [x, y, z]")
    return tuple(parse_length(part) for part in value)


Point = Annotated[tuple[float, float, float], BeforeValidator(_point)]
