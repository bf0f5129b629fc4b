"""The care that a wanted chance asks for: how much tilt and centring may scatter."""

from collections.abc import Callable
from dataclasses import dataclass

from frame3d.fit.budget.alone import Alone
from frame3d.fit.budget.chance import Estimate, JointChance, limit_at
from frame3d.fit.budget.errors import Spreads
from frame3d.fit.budget.simulate import Errors, Key, Targets, drawn, gaps
from frame3d.model import Frame

SAMPLES = 1500  # the same draws at every trial, so that trials differ by the care alone
MOST = 8.0  # times the shop's own spread; beyond that an error is told as free
HALVINGS = 7


@dataclass(frozen=True)
class Allowed:
    """A spread that just gives the wanted chance while all else is as it is.

    size: in the error's unit; None where even none of this error does not reach the chance;
    inf where it may be MOST times what it is and more
    """

    name: str
    size: float | None


@dataclass(frozen=True)
class Care:
    """tilt, centring: each alone, for joints cut by saw; halved: what halving the joint's largest
    error gives; both: factor on tilt and centring together, None where even 0 does not do."""

    tilt: Allowed | None
    centring: Allowed | None
    both: float | None
    halved: Estimate


def care_for(
    frame: Frame,
    targets: Targets,
    spreads: Spreads,
    key: Key,
    largest: Alone,
    wanted: float,
    seed: int,
) -> Care:
    """The care for one joint to close with chance `wanted`, 0 to 1."""
    tube = {one: target for one, target in targets.items() if one[0] == key[0]}
    errors = drawn(frame, tube, spreads, SAMPLES, seed)
    limit = limit_at(frame, key)

    def chance(factors: dict[str, float]) -> Estimate:
        gap = gaps(tube, _scaled(errors, key, factors))[key]
        return JointChance(gap, limit).chance

    def reaches(*names: str) -> Callable[[float], bool]:
        return lambda factor: chance(dict.fromkeys(names, factor)).value >= wanted

    halved = chance({largest.name: 0.5})
    if "tilt" not in errors[key]:
        return Care(None, None, None, halved)
    tilt, centring = (largest_factor(reaches(name)) for name in ("tilt", "centring"))
    both = largest_factor(reaches("tilt", "centring"))
    return Care(
        Allowed("tilt", None if tilt is None else tilt * spreads["tilt"].size),
        Allowed("centring", None if centring is None else centring * spreads["centring"].size),
        both,
        halved,
    )


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


def _scaled(errors: Errors, key: Key, factors: dict[str, float]) -> Errors:
    own = {name: value * factors.get(name, 1.0) for name, value in errors[key].items()}
    return {**errors, key: own}
