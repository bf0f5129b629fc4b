"""The tables of a job file and of a shop file, as a builder may write them."""

from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field

from frame3d.jobs.clearance_tables import RoomTables
from frame3d.jobs.end_tables import EndsTables
from frame3d.jobs.error_sizes import ErrorSizes
from frame3d.jobs.field_types import Point, known_in
from frame3d.jobs.measured_table import MeasuredTable
from frame3d.jobs.mill_tables import BlockTable, HoleTable, MillTable
from frame3d.jobs.paint_tables import PaintTable, PartTable
from frame3d.jobs.part_tables import PartTables
from frame3d.jobs.printer_table import PrinterTable
from frame3d.jobs.saw_table import SawTable, saw_od
from frame3d.jobs.shape_tables import ShapeTable
from frame3d.jobs.tube_list import CutTable
from frame3d.jobs.validation import FileName, Kind, Name, Table, length_between, number_between
from frame3d.model import CutBy, Tube
from frame3d.model.tube import Point as Place


def _saw(value: object) -> Any:
    if isinstance(value, dict):
        return {name: saw_od(od) for name, od in value.items()}
    return saw_od(value)


def _margin(what: str) -> Kind:
    return length_between(0.0, 1000.0, what)


class JobTable(Table):
    name: Name
    process: Annotated[str, known_in("process_limits")]
    shop: FileName | None = None
    tubes: FileName | None = None
    cut: CutBy | None = None


class TubeTable(ShapeTable, CutTable):
    """start and end may be left out where a bicycle's geometry gives them."""

    name: Name
    start: Point | None = None
    end: Point | None = None
    material: Annotated[str, known_in("materials")] = "steel"

    def on_axis(self, start: Place, end: Place) -> Tube:
        return Tube(self.name, start, end, material=self.material, **self.shape())


class JointTable(Table):
    tube: Name
    end: Literal["start", "end"]
    onto: tuple[Name, ...] = Field(min_length=1)
    saw: Annotated[float | dict[str, float] | None, BeforeValidator(_saw)] = None
    cut: CutBy | None = None


class LimitsTable(Table):
    """The job's own limits; what is left out comes from tables/check_limits.csv."""

    gap_mm: Annotated[float, _margin("a gap")] | None = None
    end_margin_mm: Annotated[float, _margin("a margin")] | None = None
    feather_mm: Annotated[float, _margin("a thickness")] | None = None
    clash_mm3: Annotated[float, number_between(0, 1e9, "a volume in mm3")] | None = None
    least_angle_deg: Annotated[float, number_between(1, 89, "an angle in degrees")] | None = None


class JobFile(EndsTables, RoomTables):
    job: JobTable
    bicycle: dict[str, Any] | None = None
    rider: dict[str, Any] | None = None
    tube: tuple[TubeTable, ...] = ()
    joint: tuple[JointTable, ...] = ()
    hole: tuple[HoleTable, ...] = ()
    paint: PaintTable = PaintTable()
    part: tuple[PartTable, ...] = ()
    limits: LimitsTable = LimitsTable()
    measured: tuple[MeasuredTable, ...] = ()


class ShopTable(Table):
    name: Name = "this shop"
    cut: CutBy | None = None


class ShopFile(PartTables):
    shop: ShopTable = ShopTable()
    saw: tuple[SawTable, ...] = ()
    mill: MillTable = MillTable()
    block: tuple[BlockTable, ...] = ()
    printer: PrinterTable = PrinterTable()
    errors: ErrorSizes = Field(default_factory=dict)
