"""The care that a wanted chance asks for: how much tilt and centring, or a guide's play and the
file, may scatter."""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from frame3d.fit.budget.chance import Estimate, JointChance, limit_at
from frame3d.fit.budget.cut import cut
from frame3d.fit.budget.errors import Spreads, errors_of, setups_of
from frame3d.fit.budget.simulate import CHUNK, Key, Targets, drawn, shared_phase
from frame3d.model import Frame
from frame3d.surfaces.surface import Array

SAMPLES = 1500  # the same draws at every trial, so that trials differ by the care alone
MOST = 8.0  # times the shop's own spread; beyond that an error is told as free
HALVINGS = 8
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
    guide, the file; both: factor on all of these together, None where even 0 does not do; halved:
    what halving the joint's largest error gives."""

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
) -> Care:
    """The care for one joint to close with chance `wanted`, 0 to 1; `largest` names the error that
    costs most, to be halved."""
    limit = limit_at(frame, key)
    trial = _trial(frame, targets, spreads, key, seed)

    def chance(factors: dict[str, float]) -> Estimate:
        return JointChance(trial(factors), limit).chance

    def reaches(*names: str) -> Callable[[float], bool]:
        return lambda factor: chance(dict.fromkeys(names, factor)).value >= wanted

    def allowed(name: str) -> Allowed:
        factor = largest_factor(reaches(name))
        if factor is None:
            return Allowed(name, None, None)
        spread = replace(spreads[name], size=factor * spreads[name].size)
        return Allowed(name, spread.size, spread.bound)

    acting = errors_of(targets[key])
    names = [name for name in LESSENED if name in acting and spreads[name].size > 0]
    return Care(
        {name: allowed(name) for name in names},
        largest_factor(reaches(*names)),
        None if largest is None else chance({largest: 0.5}),
    )


def _trial(
    frame: Frame, targets: Targets, spreads: Spreads, key: Key, seed: int
) -> Callable[[dict[str, float]], Array]:
    """Gaps (N,) of one joint's draws with some of its errors scaled. The tube's other end is cut
    but once: it only has a say in what the tube is too short."""
    tube = {one: target for one, target in targets.items() if one[0] == key[0]}
    errors = shared_phase(tube, drawn(frame, tube, spreads, SAMPLES, seed))
    others = [
        cut(target, setups_of(target, errors[one], SAMPLES)).seat
        for one, target in tube.items()
        if one != key
    ]
    target = targets[key]

    def gaps(factors: dict[str, float]) -> Array:
        scaled = {name: value * factors.get(name, 1.0) for name, value in errors[key].items()}
        setups = setups_of(target, scaled, SAMPLES)
        found = np.empty(SAMPLES)
        for at in range(0, SAMPLES, CHUNK):
            part = slice(at, at + CHUNK)
            done = cut(target, setups.part(part))
            short = sum((np.maximum(done.seat + other[part], 0.0) / 2 for other in others), 0.0)
            found[part] = done.gap(short)
        return found

    return gaps


def largest_factor(reaches: Callable[[float], bool]) -> float | None:
    """The largest factor, 0 to MOST, that still reaches; None where 0 does not, inf past MOST."""
    if not reaches(0.0):
        return None
    if reaches(MOST):
        return float("inf")
    low, high = 0.0, MOST
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        low, high = (middle, high) if reaches(middle) else (low, middle)
    return low
