"""The tables of a job file and of a shop file, as a builder may write them."""

from typing import Annotated, Any, Literal

from pydantic import ConfigDict, Field

from frame3d.jobs.bicycle_tables import BicycleTable, RiderTable
from frame3d.jobs.clearance_tables import ClearancesTable, CranksTable, PairTable
from frame3d.jobs.end_tables import EndTable, PlateTable
from frame3d.jobs.error_sizes import ErrorSizes
from frame3d.jobs.field_types import Point, known_in
from frame3d.jobs.measured_table import MeasuredTable
from frame3d.jobs.mill_tables import BlockTable, HoleTable, MillTable
from frame3d.jobs.paint_tables import PaintTable, PartTable
from frame3d.jobs.part_tables import (
    PARTS,
    OwnHeadsetBores,
    OwnHubs,
    OwnRims,
    OwnSeatPosts,
    OwnShells,
    OwnSteerers,
    Row,
)
from frame3d.jobs.printer_table import PrinterTable
from frame3d.jobs.saw_table import SAW_OD, SawTable, saw_od
from frame3d.jobs.shape_tables import ShapeTable
from frame3d.jobs.tube_list import MATERIAL, CutTable
from frame3d.jobs.validation import (
    FileName,
    Kind,
    Name,
    Table,
    length_between,
    number_between,
    table_schema,
)
from frame3d.model import CutBy, Tube
from frame3d.model.tube import Point as Place
from frame3d.tables import row


def _saw(value: object) -> Any:
    if isinstance(value, dict):
        return {name: saw_od(od) for name, od in value.items()}
    return saw_od(value)


SAWS = {"anyOf": [*SAW_OD["anyOf"], table_schema(others=SAW_OD)], "unit": "mm"}


class JobTable(Table):
    """The job: its name, how it is joined, and the files that go with it."""

    name: Name = Field(description="what pages and meshes call it", examples=["two tubes"])
    process: Annotated[str, known_in("process_limits")] = Field(
        description="how it is joined, which says what gap passes", examples=["fillet-braze"]
    )
    shop: FileName | None = Field(
        None, description="the shop file: what stands in the shop", examples=["shop.toml"]
    )
    tubes: FileName | None = Field(
        None,
        description="the tube list: raw tubes on the rack, a [[stock]] each",
        examples=["tubes.toml"],
    )
    cut: CutBy | None = Field(
        None,
        description="how ends are cut of which nothing else is said: saw, by the shop's best one "
        "that keeps the gap; hand, to the mate exactly along a guide or wrap; laser, the same by a "
        "tube laser. Left out, as the shop file says, else hand",
        examples=["saw"],
    )


def _without_od_and_wall(schema: dict[str, Any]) -> None:
    """The tube list gives them to a tube that names a stock."""
    schema["required"] = ["name"]
    schema["anyOf"] = [{"required": ["stock"]}, {"required": ["od", "wall"]}]


class TubeTable(ShapeTable, CutTable):
    """A tube: its axis, outside and wall."""

    model_config = ConfigDict(json_schema_extra=_without_od_and_wall)

    name: Name = Field(
        description="its own name; one that a bicycle's tube has gives it its place",
        examples=["rail"],
    )
    start: Point | None = Field(
        None,
        description="where its axis begins, [x, y, z]; a bicycle's tube has it from the geometry",
        examples=[[0.0, 0.0, 0.0]],
    )
    end: Point | None = Field(
        None,
        description="where its axis ends, [x, y, z]; a cope decides where the metal stops",
        examples=[[250.0, 0.0, 60.0]],
    )
    material: Annotated[str, known_in("materials")] = Field("steel", description=MATERIAL)

    def on_axis(self, start: Place, end: Place) -> Tube:
        return Tube(self.name, start, end, material=self.material, **self.shape())


class JointTable(Table):
    """An end that is coped onto other tubes."""

    tube: Name = Field(description="the tube whose end is coped", examples=["rail"])
    end: Literal["start", "end"] = Field(description="which of its ends")
    onto: tuple[Name, ...] = Field(
        min_length=1,
        description="the tubes that run through; several: the end is shaped against all of them",
        examples=[["post"]],
    )
    saw: Annotated[float | dict[str, float] | None, Kind(_saw, SAWS)] = Field(
        None,
        description="outside diameter of the saw; several onto: one for all, or by name. Left out, "
        "the cope follows the mate exactly, unless `cut` says else",
        examples=[37.0, {"seat tube": 29.0, "shell": 41.0}],
    )
    cut: CutBy | None = Field(
        None, description="how this end is cut, as in [job]", examples=["hand"]
    )


def _usual(limit: str) -> Any:
    """A limit: its usual value and its meaning as the table has them."""
    usual = row("check_limits", limit)
    meaning = usual["meaning"].rpartition(", ")[0]
    return Field(float(usual["value"]), description=meaning)


class LimitsTable(Table):
    """What a joint may do and still pass; frame3d/tables/check_limits.csv has what is usual."""

    gap_mm: Annotated[float, length_between(0.0, 1000.0, "a gap")] | None = Field(
        None, description="largest gap, whatever the process", examples=[0.3]
    )
    end_margin_mm: Annotated[float, length_between(0.0, 1000.0, "a margin")] = _usual(
        "end_margin_mm"
    )
    feather_mm: Annotated[float, length_between(0.0, 1000.0, "a thickness")] = _usual("feather_mm")
    clash_mm3: Annotated[float, number_between(0, 1e9, "a volume in mm3", "mm3")] = _usual(
        "clash_mm3"
    )
    least_angle_deg: Annotated[float, number_between(1, 89, "an angle in degrees", "deg")] = _usual(
        "least_angle_deg"
    )


class JobFile(Table):
    """A job: tubes, and the ends that are coped onto other tubes."""

    job: JobTable
    bicycle: BicycleTable | None = None
    rider: RiderTable | None = None
    tube: tuple[TubeTable, ...] = ()
    joint: tuple[JointTable, ...] = ()
    end: tuple[EndTable, ...] = ()
    plate: tuple[PlateTable, ...] = ()
    hole: tuple[HoleTable, ...] = ()
    limits: LimitsTable = LimitsTable()
    cranks: CranksTable | None = None
    clearances: ClearancesTable = ClearancesTable()
    clearance: tuple[PairTable, ...] = ()
    paint: PaintTable = PaintTable()
    part: tuple[PartTable, ...] = ()
    measured: tuple[MeasuredTable, ...] = ()


class ShopTable(Table):
    """The shop itself."""

    name: Name = Field("this shop", description="what pages call it", examples=["my shop"])
    cut: CutBy | None = Field(
        None,
        description="how this shop cuts ends where the job does not say: saw, hand, laser",
        examples=["saw"],
    )


class ShopFile(Table):
    """What stands in a shop. Everything may be left out."""

    shop: ShopTable = ShopTable()
    saw: tuple[SawTable, ...] = ()
    mill: MillTable = MillTable()
    block: tuple[BlockTable, ...] = ()
    printer: PrinterTable = PrinterTable()
    errors: ErrorSizes = Field(default_factory=dict)
    rims: OwnRims = ()
    headset_bores: OwnHeadsetBores = ()
    steerers: OwnSteerers = ()
    shells: OwnShells = ()
    seat_posts: OwnSeatPosts = ()
    hubs: OwnHubs = ()

    def own_parts(self) -> dict[str, tuple[Row, ...]]:
        return {table: getattr(self, table) for table in PARTS}
