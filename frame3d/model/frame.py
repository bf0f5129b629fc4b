"""Tubes and the joints between them, with the limits and the shop they are checked for."""

from dataclasses import dataclass, field, replace
from functools import cached_property

from frame3d.model.around import Room
from frame3d.model.axis import End
from frame3d.model.ends import EndShape, Plate
from frame3d.model.hole import Hole
from frame3d.model.mill import Mill
from frame3d.model.printer import Printer
from frame3d.model.show import Show
from frame3d.model.tube import Tube


@dataclass(frozen=True)
class Joint:
    """A coped end. onto: the tubes that run through; saws: outside diameter, mm, for each of
    them, or None where the cope follows the mating tube exactly."""

    tube: str
    end: End
    onto: tuple[str, ...]
    saws: tuple[float | None, ...]


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
class Saw:
    """A hole saw. od: outside diameter as measured, mm; depth: how deep it cuts, mm, if known."""

    od: float
    depth: float | None = None


@dataclass(frozen=True)
class Shop:
    """What stands in the builder's shop."""

    name: str = "this shop"
    saws: tuple[Saw, ...] = ()
    mill: Mill = Mill()
    printer: Printer = field(default_factory=Printer)


@dataclass(frozen=True)
class Frame:
    """A whole job: tubes, and the ends that are coped onto other tubes."""

    name: str
    process: str
    tubes: tuple[Tube, ...]
    joints: tuple[Joint, ...]
    limits: Limits
    shop: Shop = Shop()
    holes: tuple[Hole, ...] = ()
    show: Show = Show()
    ends: tuple[EndShape, ...] = ()
    plates: tuple[Plate, ...] = ()
    room: Room = Room()

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

    def joint_at(self, tube: str, end: End) -> Joint | None:
        """The joint that shapes this end, or None where the end is left square."""
        return self._by_end.get((tube, end))
