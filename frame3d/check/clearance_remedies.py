"""What would clear what stands too near: a key of the job and its value, or where and how far to
press a tube in, bend it or move it.

A value is sought on the measure itself, in steps that a builder writes, and told only where it
clears.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from frame3d.bicycle.bought_parts import Wheel
from frame3d.check.envelopes import Array, Disc, Ghost, Ring
from frame3d.check.nearest import Nearest
from frame3d.model import Cranks, Part
from frame3d.model.tube_section import lateral
from frame3d.solids.finished_tube import FinishedTube
from frame3d.solids.frame_solids import Finished

STEP_MM = 0.1
MOST_MM = 40.0  # a key that has to change by more is no remedy; own choice
MOST_TEETH = 20
MOST_PRESSED = 0.25  # of a tube's outside, how deep it is pressed in at most; own choice, no source
KEYS = {"chain stay bridge": "bridge_gap", "seat stay bridge": "bridge_gap", "crown": "fork_length"}

Measure = Callable[[float], float]  # the clearance with a key changed by so much


@dataclass(frozen=True)
class Change:
    """A key that can give way. words: what to write, with {} for the new value; now: its value;
    way: 1 where more clears, -1 where less; clear: the clearance with a new value."""

    words: str
    now: float
    way: int
    clear: Measure
    step: float = STEP_MM
    most: float = MOST_MM

    def told(self, limit: float) -> str | None:
        """The words with the nearest value that clears; None where none within reach does."""

        toward = np.ceil if self.way > 0 else np.floor
        first = float(toward(round(self.now / self.step, 9)))

        def value(steps: int) -> float:
            return (first + self.way * steps) * self.step

        low, high, last = -1, 0, int(self.most / self.step)  # low does not clear
        if self.way < 0:
            last = min(last, int(first) - 1)  # no measure comes down to nothing
        while self.clear(value(high)) < limit:
            if high >= last:
                return None
            low, high = high, min(2 * high + 1, last)
        while high - low > 1:
            middle = (low + high) // 2
            low, high = (low, middle) if self.clear(value(middle)) >= limit else (middle, high)
        return self.words.format(f"{value(high):.6g}")


def one_of(changes: Sequence[Change], limit: float, *more: str) -> str:
    """All that would do, in one sentence; "" where nothing is known."""
    found = [words for change in changes if (words := change.told(limit)) is not None]
    return ", or ".join([*found, *more])


def tyre_changes(wheel: Part, clear: Callable[[Part], float]) -> Iterator[Change]:
    """A narrower tyre on the same rim."""
    bead = 2 * (wheel.radius - Wheel(wheel.width, 0.0).radius)

    def narrower(width: float) -> float:
        return clear(replace(wheel, width=width, radius=Wheel(width, bead).radius))

    words = f"a tyre of {{}} mm on the {wheel.name}'s rim"
    yield Change(words, wheel.width, -1, narrower, step=1.0)


def crank_changes(kind: str, cranks: Cranks, clear: Callable[[Cranks], float]) -> Iterator[Change]:
    """Keys of [cranks] that stand for what turns with them."""

    def key(name: str, way: int, step: float = STEP_MM, most: float = MOST_MM) -> Change:
        def changed(value: float) -> float:
            measures: dict[str, Any] = {name: value}
            return clear(replace(cranks, **measures))

        return Change(f"[cranks] {name} = {{}}", getattr(cranks, name), way, changed, step, most)

    if kind == "chain_ring":
        yield key("ring_line", 1)
        yield key("ring_teeth", -1, 1.0, MOST_TEETH)
    if kind == "crank":
        yield key("arm_inner", 1)
    if kind == "heel":
        yield key("pedal_centre", 1)
    if kind in ("crank", "heel"):
        yield key("length", -1, 0.5)


def of_the_part(part: Finished, ghost: Ghost, found: Nearest, limit: float) -> Iterator[str]:
    """What can be done to the tube or plate itself, in words."""
    short = rounded_up(limit - found.distance)
    if not isinstance(part, FinishedTube):
        yield f"{part.name} cut back or moved by {short:g} mm there"
        return
    tube, away = part.tube, f"{short:g} mm"
    if _crosses(part, ghost):
        key = KEYS.get(tube.name)
        yield f"{tube.name} {away} farther off" + (f" ({key} {away} more)" if key else "")
        return
    if not tube.bends and _lies_in(part, ghost):
        yield f"the axle {away} farther from {tube.name}" + (
            " (chain_stay_length more)" if tube.name == "seat tube" else ""
        )
        return
    low, high = _too_near(part, ghost, limit)
    station = float(tube.centreline.nearest(found.one[None])[0])
    if short <= MOST_PRESSED * float(tube.od(station)):
        where = f"from {np.floor(low):.0f} to {np.ceil(high):.0f} mm from its start"
        yield f"{tube.name} pressed in by {away}, {where}"
    yield f"{tube.name} bent away by {away} at {station:.0f} mm from its start"


def rounded_up(mm: float) -> float:
    """To the next tenth."""
    return round(float(np.ceil(10 * mm - 1e-9)) / 10, 1)


def _crosses(part: FinishedTube, ghost: Ghost) -> bool:
    """Whether a tube's axis runs across the plane that a ghost turns in: a bridge, a crown."""
    one, other = _beside(part, ghost)
    return one * other < 0.0


def _lies_in(part: FinishedTube, ghost: Ghost) -> bool:
    """Whether a straight tube's axis lies in that plane."""
    return max(map(abs, _beside(part, ghost))) < 1.0


def _beside(part: FinishedTube, ghost: Ghost) -> tuple[float, float]:
    """How far the ends of a tube's axis stand from the plane that a ghost turns in, mm."""
    assert isinstance(ghost, Ring | Disc)
    ends = part.tube.centreline.at(np.array([0.0, part.tube.length]))[0]
    one, other = (ends - ghost.centre) @ ghost.axis
    return float(one), float(other)


def _too_near(part: FinishedTube, ghost: Ghost, limit: float) -> tuple[float, float]:
    """From where to where along its axis a tube stands too near, mm from its start."""
    tube = part.tube
    stations = np.arange(part.extent.start, part.extent.end, 1.0)
    points, ahead, up = tube.centreline.at(stations)
    theta = np.linspace(0.0, 2 * np.pi, 181)
    nearest = np.full(len(stations), np.inf)
    for turn in theta:
        off = lateral(tube, stations, np.full_like(stations, turn), 1.0)
        outside = points + off[:, :1] * up + off[:, 1:] * np.cross(ahead, up)
        nearest = np.minimum(nearest, ghost.distance(outside.T))
    near: Array = stations[nearest < limit]
    if len(near) == 0:  # nearer than the stations stand apart
        near = stations[[int(nearest.argmin())]]
    return float(near.min()) - 1.0, float(near.max()) + 1.0
