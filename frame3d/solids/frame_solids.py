"""All tubes of a frame as finished solids, and the volume that any two share."""

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np

from frame3d.cache import cached
from frame3d.model import ENDS, Frame, Slot, Tube, direction, end_frame
from frame3d.solids.cutting_axes import bench_axes
from frame3d.solids.facets import CHORD_MM
from frame3d.solids.finished_plate import FinishedPlate, finished_plate
from frame3d.solids.finished_tube import FinishedTube, finished_tube
from frame3d.solids.holes import drilled
from frame3d.solids.rings import Array
from frame3d.solids.shaped_ends import slotted
from frame3d.surfaces.cope import Copes


@dataclass(frozen=True)
class Clash:
    """Two tubes or plates that stand in each other, and by how much, mm3; remedy: what would clear
    them, in words, where it is known."""

    tubes: tuple[str, str]
    volume: float
    remedy: str = ""


Finished = FinishedTube | FinishedPlate


@dataclass(frozen=True, eq=False)
class Solids:
    """Finished tubes and plates by name, in the job's order."""

    tubes: dict[str, FinishedTube]
    plates: dict[str, FinishedPlate] = field(default_factory=dict)

    @property
    def parts(self) -> dict[str, Finished]:
        """Tubes and plates, all that is made of metal."""
        return {**self.tubes, **self.plates}

    @property
    def metal(self) -> dict[str, Finished]:
        """The parts of which the copes leave anything."""
        return {name: part for name, part in self.parts.items() if not part.solid.is_empty()}

    def only(self, name: str) -> "Solids":
        """One part alone."""
        return Solids(
            {n: tube for n, tube in self.tubes.items() if n == name},
            {n: plate for n, plate in self.plates.items() if n == name},
        )

    @cached_property
    def boxes(self) -> Array:
        """(P, 2, 3): least and greatest corner of each part, mm."""
        return np.array([p.solid.bounding_box() for p in self.parts.values()]).reshape(-1, 2, 3)


def frame_solids(
    frame: Frame,
    copes: Copes,
    chord: float = CHORD_MM,
    done: Callable[[str], None] = lambda name: None,
) -> Solids:
    """Cut every tube; `done` hears the name of each."""
    tubes = {}
    for tube in frame.tubes:
        tubes[tube.name] = cut_tube(frame, tube, copes, chord)
        done(tube.name)
    return Solids(tubes, {plate.name: finished_plate(plate, chord) for plate in frame.plates})


def cut_tube(frame: Frame, tube: Tube, copes: Copes, chord: float) -> FinishedTube:
    """One tube of the frame with its ends shaped, its holes drilled and its slots sawn."""
    own = {end: copes[tube.name, end] for end in ENDS if (tube.name, end) in copes}
    shapes = frame.shapes_of(tube.name)
    finished = finished_tube(tube, own, chord, shapes)
    holes = [hole for hole in frame.holes if hole.tube == tube.name]
    body = drilled(finished.solid, tube, holes, chord)
    body = slotted(body, tube, [shape for shape in shapes if isinstance(shape, Slot)])
    return replace(finished, solid=body)


def clashes(frame: Frame, solids: Solids) -> list[Clash]:
    """Pairs of tubes or plates that stand in each other by more than the limit.

    A coped tube and its mate only touch: the cope ends it at the first entry, and the seat takes
    back what a saw left too long. All other pairs are measured.
    """
    joined = {frozenset((joint.tube, name)) for joint in frame.joints for name in joint.onto}
    parts = solids.parts
    names = list(parts)
    low, high = solids.boxes[:, 0], solids.boxes[:, 1]
    meet = (low[:, None] < high[None]).all(axis=2) & (low[None] < high[:, None]).all(axis=2)
    found = []
    for i, j in np.argwhere(np.triu(meet, 1)):
        pair = names[i], names[j]
        if frozenset(pair) in joined:
            continue
        volume = _shared(*(parts[name] for name in pair))
        if volume > frame.limits.clash_mm3:
            found.append(
                Clash(pair, volume, _slot_that_clears(frame, parts[pair[0]], parts[pair[1]]))
            )
    return found


def _slot_that_clears(frame: Frame, one: Finished, other: Finished) -> str:
    """The depth of a tube's slot that a plate would not reach past, in words, "" where there is no
    such slot, or more depth does not help."""
    if isinstance(one, FinishedPlate):
        one, other = other, one
    if isinstance(one, FinishedPlate) or not isinstance(other, FinishedPlate):
        return ""
    for slot in frame.shapes_of(one.name):
        if isinstance(slot, Slot) and slot.plate == other.name:
            shared = np.asarray((one.solid ^ other.solid).to_mesh64().vert_properties)[:, :3]
            end = end_frame(one.tube, slot.end)
            depth = np.ceil(10 * float(((end.origin - shared) @ end.out).max()) - 1e-6) / 10
            if depth > slot.depth and depth < one.tube.length / 2:
                return (
                    f"a slot of depth = {depth:.1f} instead of {slot.depth:g} at the {slot.end} of "
                    f"{one.name} clears {other.name}"
                )
    return ""


@cached
def _shared(one: Finished, other: Finished) -> float:
    """The volume that stands in both parts, mm3."""
    if _stand_apart(one, other):
        return 0.0
    bench = _bench(one)
    return float((one.solid.transform(bench) ^ other.solid.transform(bench)).volume())


def _bench(part: Finished) -> Array:
    """The transform (3, 4) to where the kernel is fastest: along the tube, or square to the plate.
    There the faces of a plate and of the slot that holds it lie in planes of coordinates too."""
    if isinstance(part, FinishedPlate):
        turn = np.stack([part.plate.u, part.plate.v, part.plate.normal])
        return np.column_stack([turn, -turn @ part.plate.at])
    return bench_axes(end_frame(part.tube, "start"))[0]


def _stand_apart(one: Finished, other: Finished) -> bool:
    """Whether two tubes' axes stand so far apart that they cannot touch."""
    if isinstance(one, FinishedPlate) or isinstance(other, FinishedPlate):
        return False
    return _axes_apart(one, other) >= one.widest + other.widest


def _axes_apart(one: FinishedTube, other: FinishedTube) -> float:
    """Shortest distance between two tubes' axes, from raw end to raw end, mm; 0 if one is bent."""
    if one.tube.bends or other.tube.bends:
        return 0.0
    (p, u, a), (q, v, b) = (_axis(one), _axis(other))
    between, turn = q - p, float(u @ v)
    # The nearest points of the endless lines, then each clamped in turn to its own length.
    crossing = (between @ u - turn * (between @ v)) / max(1.0 - turn**2, 1e-12)
    t = np.clip((np.clip(crossing, 0.0, a) * u - between) @ v, 0.0, b)
    s = np.clip((t * v + between) @ u, 0.0, a)
    return float(np.linalg.norm(between + t * v - s * u))


def _axis(finished: FinishedTube) -> tuple[Array, Array, float]:
    """A raw end (3,), the direction (3,) and the length of the raw tube's axis, mm."""
    along, extent = direction(finished.tube), finished.extent
    return finished.tube.start + extent.start * along, along, extent.end - extent.start
