"""How a job says what its frame looks like: [paint], and [[part]] for what is only drawn."""

import re
from collections.abc import Mapping
from typing import Annotated, Literal

from pydantic import Field, model_validator

from frame3d.jobs.field_types import Point
from frame3d.jobs.validation import Kind, Name, Table, length_between, nearest, table_schema
from frame3d.model import Part, Show
from frame3d.quantities import described
from frame3d.tables import rows

HEX = re.compile(r"#(?:[0-9a-fA-F]{3}|[0-9a-fA-F]{6})")
NEEDED = {"wheel": ("centre", "radius", "width"), "rod": ("start", "end", "od")}


def hex_colour(value: object) -> str:
    """ "#rrggbb" from a colour name of tables/colours.csv, or from #rgb or #rrggbb."""
    known = {row["colour"]: row["hex"] for row in rows("colours")}
    if isinstance(value, str):
        plain = value.strip().lower().replace(" ", "")
        if HEX.fullmatch(plain):
            digits = plain[1:]
            return "#" + ("".join(2 * digit for digit in digits) if len(digits) == 3 else digits)
        if plain in known:
            return known[plain]
        close = nearest(plain, known)
        if close.startswith("did"):
            raise ValueError(f"found {described(value)}, {close}")
    raise ValueError(
        f'found {described(value)}, expected a colour: a CSS name such as "navy", or "#1f5f8b"'
    )


def _by_tube(value: object) -> dict[str, str]:
    if not isinstance(value, dict):
        raise ValueError(f"found {described(value)}, expected a table of colours by tube")
    return {str(tube): hex_colour(colour) for tube, colour in value.items()}


COLOUR = {"type": "string"}


class PaintTable(Table):
    """How pictures and pages show it: CSS colour names, or "#1f5f8b"."""

    frame: Annotated[str, Kind(hex_colour, COLOUR)] | None = Field(
        None, description="colour of all tubes that `tube` does not name", examples=["navy"]
    )
    tube: Annotated[dict[str, str], Kind(_by_tube, table_schema(others=COLOUR))] = Field(
        default_factory=dict,
        description="colours of tubes that differ, by name",
        examples=[{"rail": "ivory"}],
    )


class PartTable(Table):
    """What is drawn beside the frame, and measured by clearances: a wheel or a rod."""

    name: Name = Field(description="what it is called", examples=["wheel"])
    kind: Literal["wheel", "rod"] = Field(
        description="wheel, with centre, radius and width; or rod, with start, end and od"
    )
    centre: Point | None = Field(
        None, description="a wheel's middle, [x, y, z]", examples=[[400.0, 0.0, 0.0]]
    )
    radius: Annotated[float, length_between(10, 2000, "a radius")] | None = Field(
        None, description="a wheel's, from its axle to the outside of its tyre", examples=[340]
    )
    width: Annotated[float, length_between(1, 500, "a width")] | None = Field(
        None, description="a wheel's, along its axle", examples=[32]
    )
    start: Point | None = Field(
        None, description="where a rod's axis begins", examples=[[0.0, 0.0, 0.0]]
    )
    end: Point | None = Field(
        None, description="where a rod's axis ends", examples=[[0.0, 200.0, 0.0]]
    )
    od: Annotated[float, length_between(0.5, 500, "a diameter")] | None = Field(
        None, description="a rod's outside diameter", examples=[20]
    )

    @model_validator(mode="after")
    def _keys_of_its_kind(self) -> "PartTable":
        for kind, keys in NEEDED.items():
            for key in keys:
                given = getattr(self, key) is not None
                if given != (kind == self.kind):
                    told = f"a {self.kind} needs {', '.join(NEEDED[self.kind])}"
                    raise ValueError(f"{key} is {'not expected' if given else 'missing'}: {told}")
        if self.kind == "wheel" and self._number("radius") <= self._number("width"):
            raise ValueError("found a radius no larger than the width, expected a wheel's outside")
        if self.kind == "rod" and self.start == self.end:
            raise ValueError("found start and end at the same place, expected a rod with a length")
        return self

    def _number(self, key: str) -> float:
        return float(getattr(self, key))

    def part(self) -> Part:
        if self.kind == "wheel":
            assert self.centre and self.width and self.radius
            return Part(self.name, "wheel", self.centre, self.width, self.radius)
        assert self.start and self.end and self.od
        return Part(self.name, "rod", self.start, self.od, end=self.end)


def shown(paint: PaintTable, parts: tuple[PartTable, ...]) -> Show:
    """What the job says of its looks; the colour of the whole frame stands under no name."""
    whole = {"": paint.frame} if paint.frame else {}
    colours: Mapping[str, str] = {**whole, **paint.tube}
    return Show(tuple(colours.items()), tuple(table.part() for table in parts))
