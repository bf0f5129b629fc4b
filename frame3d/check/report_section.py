"""What a report can hold besides joints: each part of the work adds its own section."""

import math
from typing import Protocol


class Section(Protocol):
    """key: under which the JSON has it; passes: whether all is well."""

    @property
    def key(self) -> str: ...

    @property
    def passes(self) -> bool: ...

    def as_json(self) -> object: ...


def number(value: float | None) -> float | None:
    """Rounded to a nanometre, since more digits are noise; None for what JSON cannot hold."""
    if value is None or not math.isfinite(value):
        return None
    return round(value, 6) + 0.0  # -0.0 becomes 0.0
