"""The job file's [[end]], ends of tubes other than a cope, and [[plate]], the plates in them."""

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Annotated, Any, Literal

import numpy as np
from pydantic import Field, StrictBool, model_validator

from frame3d.jobs.field_types import Point, known_in
from frame3d.jobs.sides import on_both_sides
from frame3d.jobs.tube_list import MATERIAL
from frame3d.jobs.validation import (
    Kind,
    Name,
    Table,
    length_between,
    length_schema,
    list_schema,
    nearest,
    number,
    number_between,
)
from frame3d.model import (
    AxleSlot,
    Dome,
    EndShape,
    Joint,
    Pinch,
    Plate,
    Plug,
    Slot,
    Tube,
    end_frame,
)
from frame3d.quantities import LONGEST_MM, listed, parse_length

if TYPE_CHECKING:
    from frame3d.jobs.job import Job

# Keys that each kind needs; those in brackets it may have.
KINDS: dict[str, tuple[tuple[str, ...], tuple[str, ...]]] = {
    "square": ((), ()),
    "slot": (("depth",), ("width", "angle", "plate", "through")),
    "plug": (("thickness",), ()),
    "dome": ((), ("height",)),
    "pinch": (("length", "transition"), ("angle",)),
}
KEYS = (
    "depth",
    "width",
    "angle",
    "plate",
    "through",
    "thickness",
    "height",
    "length",
    "transition",
)
SIDES = {"left": 1.0, "right": -1.0}
NOWHERE = (0.0, 0.0, 0.0)
LEANING = 0.5  # a plate that leans more than 30 degrees against the tube is no dropout for a slot

Length = Annotated[float, length_between(0.1, LONGEST_MM, "a length")]
Angle = Annotated[float, number_between(-360, 360, "an angle in degrees", "deg")]


def _outline(value: object) -> list[tuple[float, float]]:
    if not isinstance(value, list) or len(value) < 3:
        raise ValueError(f"found {listed(value)}, expected three corners [u, v] or more")
    corners = [_pair(corner) for corner in value]
    u, v = np.transpose(corners)
    if abs(u @ np.roll(v, -1) - v @ np.roll(u, -1)) < 1.0:
        raise ValueError("found an outline without area, expected corners one after the other")
    if _crosses_itself(np.array(corners)):
        raise ValueError("found an outline that crosses itself, expected corners in their order")
    return corners


def _pair(value: object) -> tuple[float, float]:
    if not isinstance(value, list) or len(value) != 2:
        raise ValueError(f"found {listed(value)}, expected two lengths [u, v]")
    return parse_length(value[0]), parse_length(value[1])


def _crosses_itself(corners: np.ndarray[Any, np.dtype[np.float64]]) -> bool:
    a, b = corners, np.roll(corners, -1, axis=0)

    def side(p: Any, q: Any, r: Any) -> Any:
        first, second = q - p, r - p
        return first[..., 0] * second[..., 1] - first[..., 1] * second[..., 0]

    p, q, r, s = a[:, None], b[:, None], a[None], b[None]
    crossing = (side(p, q, r) * side(p, q, s) < 0) & (side(r, s, p) * side(r, s, q) < 0)
    return bool(crossing.any())


def _direction(value: object) -> tuple[float, ...]:
    if not isinstance(value, list) or len(value) != 3:
        raise ValueError(f"found {listed(value)}, expected a direction [x, y, z]")
    found = np.array([number(part, -1e6, 1e6, "a number") for part in value])
    size = float(np.linalg.norm(found))
    if size < 1e-9:
        raise ValueError(f"found {listed(value)}, expected a direction that is not zero")
    return tuple((found / size).tolist())


PAIR = list_schema(length_schema(), 2, 2)
Corner = Annotated[tuple[float, float], Kind(_pair, {**PAIR, "unit": "mm"})]
Corners = Annotated[
    list[tuple[float, float]], Kind(_outline, {**list_schema(PAIR, 3), "unit": "mm"})
]
Direction = Annotated[
    tuple[float, float, float], Kind(_direction, list_schema({"type": "number"}, 3, 3))
]


class AxleSlotTable(Table):
    """A slot or a round hole in a plate, as for an axle."""

    width: Length = Field(description="across; of a round hole its diameter", examples=[10.2])
    at: Corner = Field((0.0, 0.0), description="where it begins, [u, v]: the axle's middle")
    length: Annotated[float, length_between(0.0, 1000.0, "a length")] = Field(
        0.0, description="from there to the middle of its other end; 0: a round hole"
    )
    angle: Angle = Field(0.0, description="where it runs to: from u towards v")


class PlateTable(Table):
    """A plate, such as a dropout or a tab, from its outline."""

    name: Name = Field(description="its own name, as of a tube", examples=["dropout"])
    outline: Corners = Field(
        description="corners [u, v] in their order, about `at`",
        examples=[[[-16, -14], [40, -14], [40, 14], [-16, 14]]],
    )
    thickness: Annotated[float, length_between(0.2, 100.0, "a thickness")] = Field(
        description="half of it to either side of `at`", examples=[5.0]
    )
    at: Point | None = Field(
        None,
        description="where u and v are 0, [x, y, z], in the middle of its thickness",
        examples=[[250.0, 0.0, 60.0]],
    )
    axle: Literal["rear", "front"] | None = Field(
        None,
        description="in place of at, for a dropout of a [bicycle]: u and v are 0 at this axle, its "
        "inside is where the hub ends; one on each side, but for a name as left dropout",
        examples=["rear"],
    )
    u: Direction = Field((1.0, 0.0, 0.0), description="direction of u, [x, y, z]")
    v: Direction = Field((0.0, 0.0, 1.0), description="direction of v, square to u")
    slots: tuple[AxleSlotTable, ...] = Field(
        (),
        description="slots and round holes in it",
        examples=[[{"at": [0, 0], "width": 10.2, "length": 30, "angle": -90}]],
    )
    material: Annotated[str, known_in("materials")] = Field("steel", description=MATERIAL)

    @model_validator(mode="after")
    def _square(self) -> "PlateTable":
        if (self.at is None) == (self.axle is None):
            found = "neither at nor axle" if self.at is None else "both at and axle"
            raise ValueError(f"found {found}, expected one of them to say where the plate stands")
        if abs(np.dot(self.u, self.v)) > 1e-6:
            turn = np.degrees(np.arccos(np.clip(np.dot(self.u, self.v), -1, 1)))
            raise ValueError(f"found u and v {turn:.3f} degrees apart, expected 90")
        return self

    def sides(self) -> dict[str, str]:
        """The names of the dropouts that it makes, by the side of the axle; empty for a plate that
        says itself where it stands."""
        if self.axle is None:
            return {}
        side, _, _ = self.name.partition(" ")
        return {side: self.name} if side in SIDES else {s: f"{s} {self.name}" for s in SIDES}

    def plate(self, name: str, at: tuple[float, float, float], hand: float = 1.0) -> Plate:
        """hand: -1 for the mirror image across the bicycle's middle plane."""
        slots = tuple(AxleSlot(*s.at, s.width, s.length, s.angle) for s in self.slots)
        u, v = ((x, hand * y, z) for x, y, z in (self.u, self.v))
        outline = tuple(self.outline)
        return Plate(name, outline, self.thickness, at, u, v, slots, self.material)


class EndTable(Table):
    """An end that no joint shapes; without this it is square."""

    tube: Name = Field(description="the tube; a stay or blade for both sides", examples=["rail"])
    end: Literal["start", "end"] = Field(description="which of its ends")
    kind: Literal["square", "slot", "plug", "dome", "pinch"] = Field(
        description="slot (depth, and plate or width, angle and through), plug (thickness), "
        "dome (height), pinch (length, transition, angle) or square"
    )
    depth: Length | None = Field(
        None, description="of a slot, from the end along the axis", examples=[18.0]
    )
    width: Length | None = Field(
        None, description="of a slot that no plate gives its width", examples=[5.0]
    )
    angle: Angle | None = Field(
        None,
        description="of a slot or a flat, from the datum, right-handed about start to end",
        examples=[90],
    )
    plate: Name | None = Field(
        None, description="the [[plate]] that a slot is for", examples=["dropout"]
    )
    through: StrictBool | None = Field(
        None, description="false: a slot in one wall only, as for a binder", examples=[False]
    )
    thickness: Length | None = Field(None, description="of a plug", examples=[3.0])
    height: Length | None = Field(
        None, description="of a dome; left out, half the tube's diameter", examples=[14.0]
    )
    length: Length | None = Field(
        None, description="of a pinch's flat, along the axis", examples=[20.0]
    )
    transition: Length | None = Field(
        None, description="from a pinch's flat to the round tube", examples=[30.0]
    )

    @model_validator(mode="after")
    def _keys_of_its_kind(self) -> "EndTable":
        needed, allowed = KINDS[self.kind]
        for key in KEYS:
            given = getattr(self, key) is not None
            if key in needed and not given:
                raise ValueError(f"{key} is missing: a {self.kind} needs {', '.join(needed)}")
            if given and key not in (*needed, *allowed):
                known = ", ".join((*needed, *allowed)) or "no key of its own"
                raise ValueError(f"{key} is not expected: a {self.kind} has {known}")
        if self.kind == "slot" and (self.plate is None) == (self.width is None):
            raise ValueError("expected the plate that the slot is for, or its width and angle")
        if self.plate is not None and self.angle is not None:
            raise ValueError("angle is not expected: the plate says where the slot stands")
        if self.plate is not None and self.through is False:
            raise ValueError("found through = false, expected a slot for a plate in both walls")
        return self


def plates_of(
    job: "Job", tubes: Sequence[Tube], dropouts: Mapping[str, tuple[float, float, float]]
) -> tuple[Plate, ...]:
    """The job's plates. dropouts: places of a bicycle's, by name as "left rear". Raises JobError
    for a name that is taken, and for a dropout of no axle."""
    seen = {tube.name for tube in tubes}
    plates: list[Plate] = []
    for index, table in enumerate(job.tables.plate):
        if table.axle is not None and f"left {table.axle}" not in dropouts:
            needs = "a [bicycle] that has it"
            if job.tables.bicycle is not None:
                needs = f"{'stays' if table.axle == 'rear' else 'a fork'} of the [bicycle] there"
            problem = f'found "{table.axle}", expected {needs}, or at in place of axle'
            job.refuse(("plate", index, "axle"), problem)
        made = [
            table.plate(name, dropouts[f"{side} {table.axle}"], hand=SIDES[side])
            for side, name in table.sides().items()
        ]
        for plate in made or [table.plate(table.name, table.at or NOWHERE)]:
            if plate.name in seen:
                problem = f'found "{plate.name}" a second time, expected a name of its own'
                job.refuse(("plate", index, "name"), problem)
            seen.add(plate.name)
            plates.append(plate)
    return tuple(plates)


def ends_of(
    job: "Job", tubes: Sequence[Tube], joints: Sequence[Joint], plates: Sequence[Plate]
) -> tuple[EndShape, ...]:
    """The job's shaped ends, slots put where they stand. Raises JobError."""
    by_name = {tube.name: tube for tube in tubes}
    by_plate = {plate.name: plate for plate in plates}
    coped = {(joint.tube, joint.end) for joint in joints}
    seen: set[tuple[str, str]] = set()
    found: list[EndShape] = []
    for index, table in on_both_sides(job.tables.end, {*by_name, *by_plate}, "angle"):
        if table.tube not in by_name:
            problem = f'found "{table.tube}", and no tube has that name'
            job.refuse(("end", index, "tube"), f"{problem}; {nearest(table.tube, by_name)}")
        if (table.tube, table.end) in coped:
            problem = f'the {table.end} of "{table.tube}" is coped by a joint'
            job.refuse(("end", index, "end"), f"{problem}, expected an end without one")
        if (table.tube, table.end) in seen:
            problem = f'the {table.end} of "{table.tube}" is shaped a second time'
            job.refuse(("end", index, "end"), f"{problem}, expected once")
        seen.add((table.tube, table.end))
        if table.plate is not None and table.plate not in by_plate:
            problem = f'found "{table.plate}", and no plate has that name'
            job.refuse(("end", index, "plate"), f"{problem}; {nearest(table.plate, by_plate)}")
        tube = by_name[table.tube]
        _refuse_misfit(job, index, table, tube)
        if table.kind == "slot":
            found.append(_slot(job, index, table, tube, by_plate))
        elif shape := _shape(table, tube):
            found.append(shape)
    return tuple(found)


def _shape(table: EndTable, tube: Tube) -> EndShape | None:
    if table.kind == "plug":
        return Plug(tube.name, table.end, table.thickness or 0.0)
    if table.kind == "dome":
        return Dome(tube.name, table.end, table.height or _od(table, tube) / 2)
    if table.kind == "pinch":
        length, transition = table.length or 0.0, table.transition or 0.0
        return Pinch(tube.name, table.end, length, transition, table.angle or 0.0)
    return None


def _slot(job: "Job", index: int, table: EndTable, tube: Tube, plates: dict[str, Plate]) -> Slot:
    """A slot for a plate lies in that plate's own plane; one by its angle in the tube's axis."""
    frame, depth = end_frame(tube, table.end), table.depth or 0.0
    if table.plate is None:
        turn = np.radians(table.angle or 0.0)
        normal = np.cos(turn) * frame.side - np.sin(turn) * frame.datum
        width, place = table.width or 0.0, _point(frame.origin)
        wall = np.cos(turn) * frame.datum + np.sin(turn) * frame.side
        only = _point(wall) if table.through is False else None
        return Slot(tube.name, table.end, depth, width, place, _point(normal), wall=only)
    plate = plates[table.plate]
    lean = float(abs(plate.normal @ frame.out))
    if lean > LEANING:
        problem = f'found "{plate.name}", which leans {np.degrees(np.arcsin(lean)):.1f} degrees'
        job.refuse(("end", index, "plate"), f"{problem} against the tube, expected 30 at most")
    off = float(abs((frame.origin - plate.at) @ plate.normal))
    if off >= tube.widest:
        problem = f'found "{plate.name}", whose plane passes {off:.1f} mm from the tube\'s end'
        job.refuse(("end", index, "plate"), f"{problem}, expected less than {tube.widest:g} mm")
    normal = _point(plate.normal)
    return Slot(tube.name, table.end, depth, plate.thickness, plate.at, normal, plate.name)


def _refuse_misfit(job: "Job", index: int, table: EndTable, tube: Tube) -> None:
    """What cannot be made on this tube."""
    od, wall = _od(table, tube), float(tube.wall(_station(table, tube)))
    long = (table.depth or 0.0) + (table.thickness or 0.0)
    long += (table.length or 0.0) + (table.transition or 0.0)
    if long >= tube.length / 2:
        problem = f"found {long:g} mm of a tube of {tube.length:g} mm, expected less than half"
        job.refuse(("end", index, next(k for k in KEYS if getattr(table, k) is not None)), problem)
    if table.width is not None and table.width >= od:
        problem = f"found {table.width:g} mm, expected less than the tube's {od:g} mm"
        job.refuse(("end", index, "width"), problem)
    if table.height is not None and table.height <= wall:
        problem = f"found {table.height:g} mm, expected more than the wall of {wall:g} mm"
        job.refuse(("end", index, "height"), problem)
    if table.kind == "pinch" and tube.oval is not None:
        job.refuse(("end", index, "kind"), "found a pinch on an oval tube, expected a round one")


def _station(table: EndTable, tube: Tube) -> float:
    return tube.length if table.end == "end" else 0.0


def _od(table: EndTable, tube: Tube) -> float:
    return float(tube.od(_station(table, tube)))


def _point(vector: Any) -> tuple[float, float, float]:
    x, y, z = (float(part) for part in vector)
    return x, y, z
