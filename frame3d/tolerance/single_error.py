"""Each error by itself: how the worst gap answers to it, and its share of the budget."""

from dataclasses import dataclass, replace
from statistics import NormalDist

import numpy as np

from frame3d.model import Frame
from frame3d.surfaces.surface import Array
from frame3d.tolerance.mirror import both_hands
from frame3d.tolerance.setup_errors import (
    DEVIATIONS,
    Spread,
    Spreads,
    errors_of,
    sizes_at,
    stream,
)
from frame3d.tolerance.simulate import PHASES, Key, Targets, end_gaps, gaps
from frame3d.tolerance.target import ANGLES_CURVE, Target, target_of

CURVE_POINTS = 21
DIRECTIONS = 16  # of an error that has one, along a curve
CURVE_SIZES = 2.0  # a curve runs this many sizes to either side
DRAWS = 400  # for errors that have a direction, or one number a saw
UNKNOWN_SIZE = 0.1  # steps of the curve of an error whose size nobody has told


@dataclass(frozen=True, eq=False)
class Alone:
    """One error of one joint with all others nil.

    size:    of its spread, in its own unit
    at, gap: (P,) the curve: worst gap, mm, against the error; for an error with several numbers
             (a direction, several saws) the middle of many draws at that size
    opening: root mean square of what it opens or closes, mm, against the nominal gap
    share:   opening squared over the sum of all errors' squares
    """

    name: str
    size: float
    at: Array
    gap: Array
    opening: float
    share: float


def errors_alone(
    frame: Frame, targets: Targets, spreads: Spreads, key: Key, nominal: float, seed: int
) -> tuple[Alone, ...]:
    """Every error of one joint by itself, largest share first; `nominal` is its gap without any
    error, mm."""
    target = targets[key]
    smooth = target_of(target.cope, ANGLES_CURVE) if target.as_wide else target
    errors = [
        _alone(frame, targets, smooth, key, spreads, name, numbers, nominal, seed)
        for name, numbers in errors_of(targets[key]).items()
    ]
    total = sum(error.opening**2 for error in errors)
    named = [replace(e, share=e.opening**2 / total if total else 0.0) for e in errors]
    return tuple(sorted(named, key=lambda error: -error.share))


def _alone(
    frame: Frame,
    targets: Targets,
    smooth: Target,
    key: Key,
    spreads: Spreads,
    name: str,
    numbers: int,
    nominal: float,
    seed: int,
) -> Alone:
    size = float(sizes_at(frame, targets[key], spreads, name).max())
    tube = {one: target for one, target in targets.items() if one[0] == key[0]}
    spread = spreads[name]

    def answer(target: Target, values: Array) -> Array:
        if name in PHASES:
            return gaps({**tube, key: target}, {key: {name: values}}, workers=1)[key]
        others = [np.zeros(len(values))] * (len(tube) - 1)  # the other end has no error
        return end_gaps(target, {name: values}, len(values), others)

    low = 0.0 if spread.shape == "one-sided" or numbers > 1 else -CURVE_SIZES
    at = np.linspace(low, CURVE_SIZES, CURVE_POINTS) * (size or UNKNOWN_SIZE)
    if numbers == 1:
        curve = answer(smooth, at[:, None])
        drawn = size * levels(spread, DRAWS)[:, None]
    else:
        draws = spread.standard(stream(seed, "alone", name), (DRAWS // 2, numbers))
        draws = both_hands(targets[key], name, draws)
        drawn = size * draws
        unit = draws[:DIRECTIONS] / spread_of(spread)
        every = answer(smooth, (at[:, None, None] * unit).reshape(-1, numbers))
        curve = np.median(every.reshape(len(at), -1), axis=1)
    opened = answer(targets[key], drawn) - nominal if size else np.zeros(1)
    return Alone(name, size, at, curve, float(np.sqrt(np.mean(opened**2))), 0.0)


def levels(spread: Spread, count: int) -> Array:
    """`count` equally likely values of a spread of size 1: the middles of its quantiles."""
    middle = (np.arange(count) + 0.5) / count
    if spread.shape == "normal":
        return np.array([NormalDist().inv_cdf(p) for p in middle]) / DEVIATIONS
    return middle if spread.shape == "one-sided" else 2 * middle - 1


def spread_of(spread: Spread) -> float:
    """Standard deviation of a spread of size 1."""
    return replace(spread, size=1.0).deviation
