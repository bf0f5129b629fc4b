"""The job file's [[measured]]: what a builder measured on a tube that is cut."""

from typing import Annotated, Literal

from pydantic import BeforeValidator, Field

from frame3d.jobs.validation import Name, Table, length_between, number_between
from frame3d.quantities import LONGEST_MM, described, parse_length

Od = Annotated[float, length_between(1.0, 1000.0, "an outside diameter")]
Length = Annotated[float, length_between(1.0, LONGEST_MM, "a length between the ends")]


Beside = Annotated[float, length_between(0.0, 4.0, "how far the saw was beside the tube's axis")]


def _mates(value: object) -> dict[str, float]:
    if not isinstance(value, dict):
        raise ValueError(
            f"found {described(value)}, expected diameters by name, such as {{ post = 36.1 }}"
        )
    return {str(k): parse_length(v, 1.0, 1000.0, "an outside diameter") for k, v in value.items()}


class MeasuredTable(Table):
    tube: Name
    end: Literal["start", "end"]
    od: Od | None = None
    saw: Od | None = None
    angle: Annotated[float, number_between(1.0, 90.0, "an angle in degrees")] | None = None
    long: Length | None = None
    short: Length | None = None
    left: Length | None = None
    right: Length | None = None
    centring: Beside | None = None
    phase: Annotated[float, number_between(-20.0, 20.0, "an error in degrees")] | None = None
    mates: Annotated[dict[str, float], BeforeValidator(_mates)] = Field(default_factory=dict)
