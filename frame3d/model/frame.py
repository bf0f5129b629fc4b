"""Tubes and the joints between them, with the limits and the shop they are checked for."""

from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Literal

from frame3d.model.axis import End
from frame3d.model.clearance_wishes import NOTHING_WANTED, Room
from frame3d.model.end_shapes import EndShape, Plate
from frame3d.model.hole import Hole
from frame3d.model.mill import Mill
from frame3d.model.part_fit import PartFit
from frame3d.model.printer import Printer
from frame3d.model.saw import Saw
from frame3d.model.show import PLAIN, Show
from frame3d.model.tube import Tube

CutBy = Literal["saw", "hand", "laser"]


@dataclass(frozen=True)
class CutMethod:
    """How an end is to be cut, and on whose word.

    wanted: by a hole saw, by hand along a guide or a wrap, or by a tube laser
    source: what says so: the joint, the job, the shop, or nothing
    note:   why a saw is wanted and none is taken
    """

    wanted: CutBy = "hand"
    source: Literal["joint", "job", "shop", "default"] = "default"
    note: str = ""


@dataclass(frozen=True)
class Joint:
    """A coped end. onto: the tubes that run through; saws: outside diameter, mm, for each of
    them, or None where the cope follows the mating tube exactly."""

    tube: str
    end: End
    onto: tuple[str, ...]
    saws: tuple[float | None, ...]
    method: CutMethod = CutMethod()

    @property
    def cut_by(self) -> CutBy:
        """How the end is cut in the end: by hand too where a saw is wanted and none closes it."""
        if any(self.saws):
            return "saw"
        return "laser" if self.method.wanted == "laser" else "hand"


@dataclass(frozen=True)
class Limits:
    """What a joint may do and still pass; the meaning of each stands in tables/check_limits.csv.

    gap_mm: the job's own largest gap; None leaves it to the process.
    """

    end_margin_mm: float
    least_angle_deg: float
    feather_mm: float
    clash_mm3: float
    gap_mm: float | None = None


@dataclass(frozen=True)
class Shop:
    """What stands in the builder's shop. errors: its own sizes of set-up errors, by the names of
    tables/setup_errors.csv; cut: how it cuts ends where the job does not say."""

    name: str = "this shop"
    saws: tuple[Saw, ...] = ()
    mill: Mill = Mill()
    printer: Printer = field(default_factory=Printer)
    errors: tuple[tuple[str, float], ...] = ()
    cut: CutBy | None = None

    def saw(self, od: float) -> Saw:
        """The saw of this size, mm; where the shop lists none, one of which no more is known."""
        return next((saw for saw in self.saws if abs(saw.od - od) < 1e-3), Saw(od))


@dataclass(frozen=True)
class Measured:
    """A real tube's cut end as measured: mm and degrees; None for what was not measured.

    od:     outside diameter of the tube
    saw:    outside diameter of the saw that cut it
    angle:  of the cut, between the tube's axis and the saw's, 0 to 90
    long, short: between its ends along its outside, on the longest line and on the one opposite
    left, right: the same on the lines midway between these; centring: how far the saw was beside
            the tube's axis, to either side
    phase:  of this cut against the tube's other one, beyond what the job asks for
    mates:  outside diameters of the real tubes that it meets, by name
    """

    tube: str
    end: End
    od: float | None = None
    saw: float | None = None
    angle: float | None = None
    long: float | None = None
    short: float | None = None
    left: float | None = None
    right: float | None = None
    centring: float | None = None
    phase: float | None = None
    mates: tuple[tuple[str, float], ...] = ()


@dataclass(frozen=True)
class Frame:
    """A whole job: tubes, and the ends that are coped onto other tubes.

    fits:  bought parts and the tubes that they go into
    """

    name: str
    process: str
    tubes: tuple[Tube, ...]
    joints: tuple[Joint, ...]
    limits: Limits
    shop: Shop = Shop()
    holes: tuple[Hole, ...] = ()
    show: Show = PLAIN
    measured: tuple[Measured, ...] = ()
    ends: tuple[EndShape, ...] = ()
    plates: tuple[Plate, ...] = ()
    room: Room = NOTHING_WANTED
    fits: tuple[PartFit, ...] = ()

    @cached_property
    def _by_name(self) -> dict[str, Tube]:
        return {tube.name: tube for tube in self.tubes}

    @cached_property
    def _by_end(self) -> dict[tuple[str, str], Joint]:
        return {(joint.tube, joint.end): joint for joint in self.joints}

    def tube(self, name: str) -> Tube:
        return self._by_name[name]

    def with_tube(self, tube: Tube) -> "Frame":
        """The same frame with this tube in the place of the one of its name."""
        return replace(self, tubes=tuple(tube if t.name == tube.name else t for t in self.tubes))

    def shapes_of(self, tube: str) -> list[EndShape]:
        """The shapes of a tube's ends that no joint shapes."""
        return [shape for shape in self.ends if shape.tube == tube]

    def holes_of(self, tube: str) -> list[Hole]:
        """A tube's holes, in the job's order."""
        return [hole for hole in self.holes if hole.tube == tube]

    def joint_at(self, tube: str, end: End) -> Joint | None:
        """The joint that shapes this end, or None where the end is left square."""
        return self._by_end.get((tube, end))
