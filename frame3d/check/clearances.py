"""Clearances, measured on the finished solids: how near comes what turns beside the frame."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from frame3d.bicycle.toe_clearance import Pedal, pedal_lean_angle, toe_clearance
from frame3d.cache import cached, each_cached
from frame3d.check.clearance_remedies import (
    Change,
    crank_changes,
    of_the_part,
    one_of,
    rounded_up,
    tyre_changes,
)
from frame3d.check.envelopes import Array, Disc, Ghost, Ring
from frame3d.check.nearest import Nearest, all_to_ghost, between, to_ghost
from frame3d.check.report_section import number
from frame3d.model import Cranks, Frame, Part, Tube, direction
from frame3d.model.tube import Point
from frame3d.solids.finished_tube import FinishedTube
from frame3d.solids.frame_solids import Finished, Solids
from frame3d.tables import row

NEAR_MM = 25.0  # told are the nearest part, and all that come this much nearer than they need not
ROUNDING = 1e-6
CHAIN_PITCH_MM = 12.7  # ISO 9633, from memory
PLATE_HEIGHT_MM = 8.6  # of the chain's link plates on the ring; common practice, no source
ACROSS = np.array([0.0, 1.0, 0.0])
SIDES = (("left", 1.0), ("right", -1.0))
USUAL = "usual cranks"  # the note of what is told of cranks that the job says nothing of

# Told however far they are: a bicycle's tubes by the names that its geometry gives them.
ALWAYS = {
    "rear wheel": (
        "left chain stay",
        "right chain stay",
        "left seat stay",
        "right seat stay",
        "chain stay bridge",
        "seat stay bridge",
        "seat tube",
    ),
    "front wheel": ("crown", "left fork blade", "right fork blade"),
    "chain ring": ("right chain stay",),
    "left crank": ("left chain stay",),
    "right crank": ("right chain stay",),
    "left heel": ("left chain stay", "left seat stay"),
    "right heel": ("right chain stay", "right seat stay"),
}


@dataclass(frozen=True)
class Clearance:
    """One measure. kind: a row of tables/clearance_limits.csv; what, to: names; value, limit: in
    `unit`; at, other: the nearest places on `to` and on `what`, world coordinates, mm; judged:
    False for what is only told; remedy: what would clear it, in words, where it fails."""

    kind: str
    what: str
    to: str
    value: float
    limit: float
    unit: str = "mm"
    at: Point | None = None
    other: Point | None = None
    judged: bool = True
    note: str = ""
    remedy: str = ""

    @property
    def passes(self) -> bool:
        return not self.judged or self.value >= self.limit - ROUNDING


@dataclass(frozen=True)
class Clearances:
    """All that was measured."""

    lines: tuple[Clearance, ...]
    key: str = "clearances"

    @property
    def passes(self) -> bool:
        return all(line.passes for line in self.lines)

    def as_json(self) -> list[dict[str, object]]:
        return [_json(line) for line in self.lines]


@dataclass(frozen=True)
class _Body:
    """A ghost with its kind and name."""

    kind: str
    name: str
    ghost: Ghost


def clearances(frame: Frame, solids: Solids) -> Clearances:
    """Every clearance that the job gives enough to measure."""
    lines = [line for body in _bodies(frame) for line in _around(frame, solids, body)]
    lines += _pairs(frame, solids)
    lines += _of_the_pedals(frame)
    return Clearances(tuple(lines))


def _limit(frame: Frame, kind: str) -> float:
    return dict(frame.room.limits).get(kind, float(row("clearance_limits", kind)["limit"]))


def _bodies(frame: Frame) -> Iterator[_Body]:
    for part in _wheels(frame):
        yield _Body("tyre", part.name, _ghost(part))
    if frame.room.cranks is not None:
        yield from _turning(frame.room.cranks)


@cached
def _turning(cranks: Cranks) -> tuple[_Body, ...]:
    """What goes round with the cranks."""
    bodies = []
    centre = np.asarray(cranks.centre)
    if cranks.ring_teeth:
        middle = centre - cranks.ring_line * ACROSS
        ring = Disc(middle, ACROSS, ring_radius(cranks), cranks.ring_width / 2)
        bodies.append(_Body("chain_ring", "chain ring", ring))
    for side, sign in SIDES:
        arm = centre + sign * (cranks.arm_inner + cranks.arm_width / 2) * ACROSS
        reach = cranks.length + cranks.arm_end
        sweep = Disc(arm, ACROSS, reach, cranks.arm_width / 2)
        bodies.append(_Body("crank", f"{side} crank", sweep))
    for side, sign in SIDES:
        # The foot stays level: the heel goes round a circle as large as the pedal's.
        off = np.array([-cranks.heel_behind, sign * cranks.pedal_centre, cranks.heel_above])
        heel = Ring(centre + off, ACROSS, cranks.length, cranks.heel_width / 2)
        bodies.append(_Body("heel", f"{side} heel", heel))
    return tuple(bodies)


def ring_radius(cranks: Cranks) -> float:
    """Outside of the chain on its ring, mm: half the pitch circle p / sin(180 / N), as for any
    roller chain (Machinery's Handbook, from memory), and half a link plate."""
    pitch_circle = CHAIN_PITCH_MM / np.sin(np.pi / cranks.ring_teeth)
    return float(pitch_circle / 2 + PLATE_HEIGHT_MM / 2)


def _wheels(frame: Frame) -> list[Part]:
    return [part for part in frame.show.parts if part.kind == "wheel"]


@cached
def _ghost(part: Part) -> Ghost:
    """A wheel's tyre, or a rod, as its plain body."""
    centre = np.asarray(part.centre)
    if part.kind == "wheel":
        return Ring(centre, ACROSS, part.radius - part.width / 2, part.width / 2)
    span = np.subtract(part.end, part.centre)
    long = float(np.linalg.norm(span))
    return Disc(centre + span / 2, span / long, part.width / 2, long / 2)


def _around(frame: Frame, solids: Solids, body: _Body) -> Iterator[Clearance]:
    """The nearest part, those that come near, and those that are always told."""
    limit = _limit(frame, body.kind)
    parts = solids.metal
    bounds = {name: _least_possible(part, body.ghost) for name, part in parts.items()}
    always = [name for name in ALWAYS.get(body.name, ()) if name in parts]
    waiting = sorted(bounds, key=lambda name: bounds[name])
    lines: list[Clearance] = []
    while waiting:
        # All that can come near are measured at once; then, one by one, what may be nearer yet.
        most = max(limit + NEAR_MM, bounds[waiting[0]])
        least = min((line.value for line in lines), default=np.inf)
        if lines and most > least:
            break
        now = [n for n in waiting if bounds[n] <= most or (n in always and not lines)]
        found = _nearest([parts[name] for name in now], body.ghost)
        lines += [
            _line(body.kind, body.name, *each, limit) for each in zip(now, found, strict=True)
        ]
        waiting = [name for name in waiting if name not in now]
    lines.sort(key=lambda line: line.value)
    told = [line for line in lines if line.value <= limit + NEAR_MM or line.to in always]
    for line in told or lines[:1]:
        judged = _usual(frame, line) if body.kind != "tyre" else line
        if not judged.passes:
            judged = replace(judged, remedy=_remedy(frame, solids, body, judged))
        yield judged


def _remedy(frame: Frame, solids: Solids, body: _Body, line: Clearance) -> str:
    """Keys that would clear a body from a part, and what can be done to the part."""
    part = solids.parts[line.to]

    def from_part(ghost: Ghost) -> float:
        return to_ghost(part.solid, ghost).distance

    def turned(cranks: Cranks) -> float:
        return next(from_part(b.ghost) for b in _turning(cranks) if b.name == body.name)

    changes: Iterator[Change] = iter(())
    if body.kind == "tyre":
        wheel = next(part for part in _wheels(frame) if part.name == body.name)
        changes = tyre_changes(wheel, lambda other: from_part(_ghost(other)))
    elif frame.room.cranks is not None:
        changes = crank_changes(body.kind, frame.room.cranks, turned)
    nearest = to_ghost(part.solid, body.ghost)
    itself = of_the_part(part, body.ghost, nearest, line.limit)
    return one_of(list(changes), line.limit, *itself)


def _nearest(parts: Sequence[Finished], ghost: Ghost) -> list[Nearest]:
    """The nearest place of each part to a ghost; a ghost that is the same object is the same."""

    def measured(new: Sequence[Finished]) -> list[Nearest]:
        return all_to_ghost([part.solid for part in new], ghost)

    return each_cached("nearest", parts, ghost, measured)


def _usual(frame: Frame, line: Clearance) -> Clearance:
    """Of usual cranks a measure is only told."""
    if not frame.room.usual_cranks:
        return line
    return replace(line, judged=False, note=", ".join(filter(None, (line.note, USUAL))))


@cached
def _least_possible(part: Finished, ghost: Ghost) -> float:
    """A bound below any distance of the part, quick to come by, mm."""
    if isinstance(part, FinishedTube):
        low, high = part.extent.start, part.extent.end
        stations = np.linspace(low, high, 2 + int((high - low) / 10.0))
        step = (high - low) / (len(stations) - 1)
        places = part.tube.centreline.at(stations)[0]
        return float(ghost.distance(places.T).min() - part.widest - step / 2)
    low_corner, high_corner = np.array(part.solid.bounding_box()).reshape(2, 3)
    middle = (low_corner + high_corner) / 2
    reach = np.linalg.norm(high_corner - middle)
    return float(ghost.distance(middle[:, None])[0] - reach)


def _line(kind: str, what: str, to: str, found: Nearest, limit: float) -> Clearance:
    at, other = _point(found.one), _point(found.other)
    return Clearance(kind, what, to, found.distance, limit, at=at, other=other)


def _pairs(frame: Frame, solids: Solids) -> Iterator[Clearance]:
    drawn = {part.name: part for part in frame.show.parts}
    for pair in frame.room.pairs:
        # A mesh comes first, so that what is only drawn can be met by its exact distance.
        one, other = sorted(pair.between, key=lambda name: name in drawn)
        if not {one, other} <= solids.metal.keys() | drawn.keys():
            continue  # cut away altogether: its joint fails
        body = solids.parts[one].solid
        if other in drawn:
            found = to_ghost(body, _ghost(drawn[other]))
        else:
            found = between(body, solids.parts[other].solid)
        line = _line("pair", other, one, found, pair.least)
        short = rounded_up(pair.least - found.distance)
        yield line if line.passes else replace(line, remedy=f"{short:g} mm farther apart")


def _of_the_pedals(frame: Frame) -> Iterator[Clearance]:
    """Toe clearance and pedal lean, 16 CFR 1512.17, where wheels, cranks and steering are known."""
    view, cranks, room = _side_view(frame), frame.room.cranks, frame.room
    if view is None or cranks is None:
        return
    if view.steerer is not None:
        width, radius = room.mudguard or (view.front.width, view.front.radius)

        def toe_of(length: float, view: "_View" = view) -> float:
            pedal = (length, cranks.pedal_centre, 0.0)
            return toe_clearance(view, pedal, width, radius).distance

        pedal = (cranks.length, cranks.pedal_centre, 0.0)
        toe = toe_clearance(view, pedal, width, radius)
        line = Clearance(
            "toe",
            "pedal's centre",
            "front mudguard" if room.mudguard else view.front.name,
            toe.distance,
            _limit(frame, "toe"),
            judged=not room.foot_retention,
            note=f"wheel turned {abs(toe.turn):.0f}°" if np.isfinite(toe.distance) else "",
        )
        line = _usual(frame, line)
        if not line.passes:
            shorter = Change("[cranks] length = {}", cranks.length, -1, toe_of, 0.5)
            ahead = f"front_centre {rounded_up(line.limit - line.value):g} mm more"
            line = replace(line, remedy=one_of([shorter], line.limit, ahead))
        yield line
    lean = _lean(view, cranks, cranks.length)
    line = Clearance("pedal_lean", "pedal", "ground", lean, _limit(frame, "pedal_lean"), unit="deg")
    line = _usual(frame, line)
    if not line.passes:
        shorter = Change(
            "[cranks] length = {}", cranks.length, -1, partial(_lean, view, cranks), 0.5
        )
        raised = Change(
            "the shell {} mm higher (bb_drop less)",
            0.0,
            1,
            partial(_lean, view, cranks, cranks.length),
        )
        line = replace(line, remedy=one_of([shorter, raised], line.limit))
    yield line


def _lean(view: "_View", cranks: Cranks, length: float, higher: float = 0.0) -> float:
    """Pedal lean, degrees, with cranks of a length, mm, and the shell so much higher."""
    pedal = Pedal(length, cranks.pedal_centre, cranks.pedal_outer, cranks.pedal_below)
    raised = replace(view, shell=view.shell + np.array([0.0, 0.0, higher]))
    return pedal_lean_angle(raised, pedal, view.front.width, view.rear.width)


@dataclass(frozen=True)
class _View:
    """The bicycle as the rule's formulas see it, from the shell's centre."""

    shell: Array
    front: Part
    rear: Part
    steerer: Tube | None

    def nodes(self) -> dict[str, Point]:
        return {
            f"{name} axle": _point(np.asarray(wheel.centre) - self.shell)
            for name, wheel in (("front", self.front), ("rear", self.rear))
        }

    def __getitem__(self, measure: str) -> float:
        if measure == "rake":
            foot, up = (np.asarray(part) for part in self.steering_axis())
            ahead = np.array([up[2], 0.0, -up[0]])
            return float((self.nodes()["front axle"] - foot) @ ahead)
        wheels = {"front_wheel_radius": self.front, "rear_wheel_radius": self.rear}
        return wheels[measure].radius

    def steering_axis(self) -> tuple[Point, Point]:
        """The axle's foot on the steering axis and the unit vector along it, upwards."""
        assert self.steerer is not None
        axis = direction(self.steerer)
        up = axis if axis[2] > 0 else -axis
        place = np.asarray(self.steerer.start) - self.shell
        axle = np.asarray(self.nodes()["front axle"])
        return _point(place + ((axle - place) @ up) * up), _point(up)


def _side_view(frame: Frame) -> _View | None:
    """Front is the wheel farthest ahead, rear the one farthest behind."""
    wheels = sorted(_wheels(frame), key=lambda part: part.centre[0])
    cranks = frame.room.cranks
    if len(wheels) < 2 or cranks is None:
        return None
    names = [tube.name for tube in frame.tubes]
    head = frame.room.head_tube
    steerer = frame.tube(head) if head in names else None
    return _View(np.asarray(cranks.centre), wheels[-1], wheels[0], steerer)


def _point(values: Array) -> Point:
    x, y, z = (float(value) for value in values)
    return x, y, z


def _json(line: Clearance) -> dict[str, object]:
    return {
        "kind": line.kind,
        "what": line.what,
        "to": line.to,
        f"value_{line.unit}": number(line.value),
        f"limit_{line.unit}": number(line.limit),
        "at_mm": line.at and [number(part) for part in line.at],
        "other_mm": line.other and [number(part) for part in line.other],
        "judged": line.judged,
        "note": line.note,
        "remedy": line.remedy,
        "verdict": "pass" if line.passes else "fail",
    }
