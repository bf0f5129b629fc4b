"""The care that a wanted chance asks for: how much tilt and centring, or a guide's play and the
file, may scatter."""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from frame3d.fit.budget.chance import Estimate, JointChance, limit_at
from frame3d.fit.budget.cut import cut, met
from frame3d.fit.budget.errors import Spreads, errors_of, setups_of
from frame3d.fit.budget.simulate import Key, Targets, drawn, end_gaps, shared_phase
from frame3d.fit.trouble import GAP_ROUNDING_MM
from frame3d.model import Frame
from frame3d.surfaces.surface import Array

SAMPLES = 1000  # the same draws at every trial, so that trials differ by the care alone
MOST = 8.0  # times the shop's own spread; beyond that an error is told as free
ROUNDS, CLOSE = 10, 0.02  # a factor is known to a fiftieth
DIAMETERS = {"tube od", "mate od"}  # all that a line's first touch of a mate depends on
LESSENED = ("tilt", "centring", "wobble", "file")  # by care; the others by money or measuring


@dataclass(frozen=True)
class Allowed:
    """A spread that just gives the wanted chance while all else is as it is.

    size: in the error's unit; None where even none of this error does not reach the chance;
    inf where it may be MOST times what it is and more
    within: what 19 of 20 of such errors stay within
    """

    name: str
    size: float | None
    within: float | None


@dataclass(frozen=True)
class Care:
    """alone: each error that care can lessen, by itself: tilt and centring of a saw, play of a
    guide, the file; both: where none of them is enough, the factor on all together, None where even
    0 does not do; halved: what halving the joint's largest error gives."""

    alone: dict[str, Allowed]
    both: float | None
    halved: Estimate | None


def care_for(
    frame: Frame,
    targets: Targets,
    spreads: Spreads,
    key: Key,
    wanted: float,
    seed: int,
    largest: str | None = None,
    samples: int = SAMPLES,
) -> Care:
    """The care for one joint to close with chance `wanted`, 0 to 1; `largest` names the error that
    costs most, to be halved."""
    limit = limit_at(frame, key) + GAP_ROUNDING_MM
    trial = _trial(frame, targets, spreads, key, seed, samples)

    def over(factors: dict[str, float]) -> float:
        """How far the gap that `wanted` of the joints stay below is above the limit."""
        return float(np.quantile(trial(factors), wanted) - limit)

    as_it_is = over({})

    def excess(*names: str) -> Callable[[float], float]:
        return lambda factor: over(dict.fromkeys(names, factor)) if factor != 1 else as_it_is

    def allowed(name: str) -> Allowed:
        factor = largest_factor(excess(name))
        if factor is None:
            return Allowed(name, None, None)
        spread = replace(spreads[name], size=factor * spreads[name].size)
        return Allowed(name, spread.size, spread.bound)

    acting = errors_of(targets[key])
    names = [name for name in LESSENED if name in acting and spreads[name].size > 0]
    alone = {name: allowed(name) for name in names}
    needed = names and all(one.size is None for one in alone.values())
    return Care(
        alone,
        largest_factor(excess(*names)) if needed else None,
        None if largest is None else JointChance(trial({largest: 0.5}), limit).chance,
    )


def _trial(
    frame: Frame, targets: Targets, spreads: Spreads, key: Key, seed: int, samples: int
) -> Callable[[dict[str, float]], Array]:
    """Gaps (N,) of one joint's draws with some of its errors scaled by a factor. The tube's other
    end is cut but once: it only has a say in what the tube is too short."""
    tube = {one: target for one, target in targets.items() if one[0] == key[0]}
    errors = shared_phase(tube, drawn(frame, tube, spreads, samples, seed))
    others = [
        cut(target, setups_of(target, errors[one], samples)).seat
        for one, target in tube.items()
        if one != key
    ]
    touch = met(targets[key], setups_of(targets[key], errors[key], samples))

    def gaps(factors: dict[str, float]) -> Array:
        scaled = {name: value * factors.get(name, 1.0) for name, value in errors[key].items()}
        known = touch if DIAMETERS.isdisjoint(factors) else None
        return end_gaps(targets[key], scaled, samples, others, known)

    return gaps


def largest_factor(excess: Callable[[float], float]) -> float | None:
    """The largest factor, 0 to MOST, at which the rising `excess` is not above 0; None where it is
    at 0, inf where it is not even at MOST. Closed in on by the Illinois rule of false position."""
    low, high = 0.0, 1.0
    below, above = excess(low), excess(high)
    if below > 0:
        return None
    if above <= 0:
        low, below, high = high, above, MOST
        above = excess(high)
        if above <= 0:
            return float("inf")
    side = 0
    for _ in range(ROUNDS):
        if high - low < CLOSE * high:
            break
        middle = low + (high - low) * below / (below - above) if below < 0 else (low + high) / 2
        value = excess(middle)
        if value <= 0:
            above *= 0.5 if side < 0 else 1.0
            low, below, side = middle, value, -1
        else:
            below *= 0.5 if side > 0 else 1.0
            high, above, side = middle, value, 1
    return low
