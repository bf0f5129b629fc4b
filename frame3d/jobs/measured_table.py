"""The job file's [[measured]]: what a builder measured on a tube that is cut."""

from typing import Annotated, Literal

from pydantic import Field

from frame3d.jobs.validation import (
    Kind,
    Name,
    Table,
    length_between,
    length_schema,
    number_between,
    table_schema,
)
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
    """An end that is cut and measured, for `frame3d measured`; what is left out counts as drawn."""

    tube: Name = Field(description="the tube that was measured", examples=["rail"])
    end: Literal["start", "end"] = Field(
        description="which of its ends, of those that a joint shapes"
    )
    od: Od | None = Field(None, description="outside diameter of the real tube", examples=[28.55])
    saw: Od | None = Field(
        None,
        description="outside diameter of the saw that cut it, over the teeth",
        examples=[37.1],
    )
    angle: Annotated[float, number_between(1.0, 90.0, "an angle in degrees", "deg")] | None = Field(
        None, description="between the tube's axis and the saw's", examples=[76.4]
    )
    long: Length | None = Field(
        None,
        description="edge to edge along the longest line of the outside; of a tube cut in an "
        "upright plane the page's datum or opposite",
        examples=[240.2],
    )
    short: Length | None = Field(
        None, description="edge to edge along the line opposite `long`", examples=[233.1]
    )
    left: Length | None = Field(
        None,
        description="edge to edge midway between those two lines; with `right` it tells how far "
        "beside the tube's axis the saw was; or give `centring`",
        examples=[236.7],
    )
    right: Length | None = Field(
        None,
        description="edge to edge on the other line midway",
        examples=[236.9],
    )
    centring: Beside | None = Field(
        None,
        description="how far beside the tube's axis the saw was, in place of left and right",
        examples=[0.1],
    )
    phase: Annotated[float, number_between(-20.0, 20.0, "an error in degrees", "deg")] | None = (
        Field(
            None,
            description="of this cut against the tube's other one, off the job's",
            examples=[0.4],
        )
    )
    mates: Annotated[
        dict[str, float], Kind(_mates, table_schema(others=length_schema(1.0, 1000.0)))
    ] = Field(
        default_factory=dict,
        description="outside diameters of the real tubes that it meets, by name",
        examples=[{"post": 36.05}],
    )
