"""The job file's [bicycle] and [rider]: a bicycle's numbers, its bought parts, and who rides it.

The numbers of [bicycle] are the rows of tables/bicycle_measures.csv: a row there is a key here.
"""

from typing import TYPE_CHECKING, Annotated, Any

from pydantic import Field, create_model

from frame3d.jobs.validation import (
    Kind,
    Table,
    length_between,
    length_schema,
    number,
    number_between,
)
from frame3d.model.rider import Cockpit
from frame3d.quantities import described, parse_length
from frame3d.tables import rows

# Told, never given: from a slanting length to the rest there often are two ways, both sensible.
OUTCOMES = ("top_tube_length", "down_tube_length")


def _text(value: object) -> str:
    if not isinstance(value, str):
        raise ValueError(f"found {described(value)}, expected a text")
    return value


def _angle(value: object) -> float:
    return number(value, -LARGEST_DEG, LARGEST_DEG, "an angle: a number in degrees")


LARGEST_DEG = 360.0  # what makes a bicycle is told by the solver, with the key's meaning
Designation = Annotated[str, Kind(_text, {"type": "string", "minLength": 1})]
Length = Annotated[float, Kind(parse_length, length_schema())]
Post = Annotated[float, length_between(1.0, 100.0, "a seat post's diameter")]
Room = Annotated[float, length_between(0.0, 1000.0, "a length")]
Bend = Annotated[float, number_between(0.0, 180.0, "an angle in degrees", "deg")]
Tilt = Annotated[float, number_between(-60.0, 60.0, "degrees from square to the steerer,", "deg")]


def _known(table: str) -> list[str]:
    return [next(iter(row.values())) for row in rows(table)]


class RearLayout(Table):
    """How the rear triangle is built; the defaults are common practice, no source."""

    dropout_thickness: Room = Field(
        5.0, description="of the plates, which stand outside the hub's locknuts"
    )
    chain_stay_setback: Room = Field(
        35.0, description="the axle's middle to the chain stay's end, along the stay"
    )
    seat_stay_setback: Room = Field(
        30.0, description="the axle's middle to the seat stay's end, along the stay"
    )
    shell_margin: Room = Field(4.0, description="footprint of a chain stay to the shell's end")
    stay_gap: Room = Field(
        1.0,
        description="between left and right stays where they meet seat tube or shell, at least",
    )
    bridge_gap: Room = Field(12.0, description="tyre to a bridge")


class ForkLayout(Table):
    """How the fork is built; the defaults are common practice, no source."""

    dropout_thickness: Room = Field(
        5.0, description="of the plates, which stand outside the hub's locknuts"
    )
    blade_setback: Room = Field(
        30.0, description="the axle's middle to the blade's end, along the blade"
    )
    tyre_gap: Room = Field(8.0, description="tyre's side to the blade, at the crown")
    crown_margin: Room = Field(4.0, description="footprint of a blade to the crown's end")
    steerer_above: Room = Field(
        65.0, description="steerer above the head tube: headset, spacers and stem"
    )
    blade_bend_radius: Room = Field(
        0.0,
        description="of the bend of a raked blade, which is straight from the crown, then bent "
        "once to the axle; 0: straight blades",
    )
    blade_straight: Room = Field(
        0.0,
        description="crown's axis to where that bend begins; 0: it ends with the blade",
    )
    blade_bend_angle: Bend = Field(
        0.0,
        description="0: as much as the rake wants; else with blade_bend_radius and blade_straight "
        "it makes the rake: leave that out",
    )


class RiderTable(Table):
    """Who rides: in place of stack, reach and seat tube angle, or to see who fits."""

    saddle_height: Length = Field(
        description="from the shell's centre straight to the middle of the saddle's top",
        examples=[720.0],
    )
    saddle_setback: Length = Field(
        description="that point behind the shell's centre, level", examples=[200.0]
    )
    hands_ahead: Length = Field(
        description="the hands ahead of the shell's centre", examples=[480.0]
    )
    hands_above: Length = Field(description="the hands above the shell's centre", examples=[680.0])
    stem_length: Length = Field(
        description="steering axis to the middle of the bar's clamp, along the stem",
        examples=[100.0],
    )
    stem_angle: Tilt = Field(
        Cockpit.stem_angle, description="the stem's, from square to the steerer, up"
    )
    stem_height: Length = Field(
        Cockpit.stem_height, description="the stem's clamp on the steerer, along it"
    )
    spacers: Length = Field(Cockpit.spacers, description="between headset and stem")
    upper_headset_stack: Length = Field(
        Cockpit.upper_headset_stack,
        description="head tube's upper end to the spacers; the headset's, where it is named",
    )
    bar_reach: Length = Field(
        Cockpit.bar_reach, description="the hands ahead of the bar's middle at the stem"
    )
    bar_rise: Length = Field(
        Cockpit.bar_rise, description="the hands above the bar's middle at the stem"
    )
    post_setback: Length = Field(
        Cockpit.post_setback,
        description="the saddle's middle behind the seat tube's axis, square to it",
    )


class BicycleParts(Table):
    """The bought parts that a bicycle is built around, and how rear triangle and fork are built."""

    front_wheel: Designation | None = Field(
        None,
        description="tyre width and bead seat diameter, ISO 5775; or give front_wheel_radius",
        examples=["28-622"],
    )
    rear_wheel: Designation | None = Field(
        None,
        description="tyre width and bead seat diameter, ISO 5775; or give rear_wheel_radius",
        examples=["28-622"],
    )
    headset: Designation | None = Field(
        None,
        description="its codes, upper and lower: what the head tube is bored to, and its stacks",
        examples=["EC34/28.6 | EC34/30"],
    )
    shell: Designation | None = Field(
        None,
        description=f"the shell's standard and width: {', '.join(_known('shells'))}, or your own",
        examples=["ISO 68"],
    )
    seat_post: Post | None = Field(None, description="the seat post's diameter", examples=[27.2])
    front_hub: Designation | None = Field(
        None, description="spacing over locknuts and axle", examples=["100x9"]
    )
    rear_hub: Designation | None = Field(
        None, description="spacing over locknuts and axle", examples=["130x10"]
    )
    rear: RearLayout = RearLayout()
    fork: ForkLayout = ForkLayout()

    def given(self) -> dict[str, Any]:
        """Parts and measures that the table says, by key."""
        return self.model_dump(exclude={"rear", "fork"}, exclude_none=True)


def _measure(row: dict[str, str]) -> tuple[Any, Any]:
    """A row of the table as a field. Whether its value is in range is the solver's to tell."""
    low, high = float(row["lowest"]), float(row["highest"])
    meaning, schema = row["meaning"], length_schema(low, high)
    if row["measure"] in OUTCOMES:
        meaning, schema = f"told, never given: {meaning}", {"not": {}, "unit": row["unit"]}
    elif row["unit"] != "mm":
        schema = {"type": "number", "minimum": low, "maximum": high, "unit": row["unit"]}
    kind = Kind(parse_length if row["unit"] == "mm" else _angle, schema)
    shown = None if row["measure"] in OUTCOMES else [float(row["start"])]
    usual: Any = {"default": float(row["default"])} if row["default"] else None
    told = Field(None, description=meaning, examples=shown, json_schema_extra=usual)
    return Annotated[float, kind] | None, told


if TYPE_CHECKING:

    class BicycleTable(BicycleParts): ...

else:
    BicycleTable = create_model(
        "BicycleTable",
        __base__=BicycleParts,
        __doc__="""A bicycle: any numbers that together fix the frame; too few or too many are
told.""",
        **{row["measure"]: _measure(row) for row in rows("bicycle_measures")},
    )
