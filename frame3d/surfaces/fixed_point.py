"""Places that depend on themselves: where a line along a changing wall meets something."""

from collections.abc import Callable

import numpy as np

from frame3d.surfaces.surface import Array

MOST_STEPS = 60
STEEPEST = -50.0, 0.9  # slopes beyond are taken for these, so that no step goes astray


def settled(follow: Callable[[Array], Array], first: Array, within: float) -> Array:
    """Values x (N,) with x = follow(x) to `within`, each found for itself by secants from `first`.

    `follow` need not contract: where it overshoots, plain repetition would swing for ever. What it
    gives as inf or nan is taken as it is. Where it jumps there may be no such x: then x and
    follow(x) still differ.
    """
    here, there = first, follow(first)
    slope = np.zeros_like(here)
    for _ in range(MOST_STEPS):
        with np.errstate(invalid="ignore", divide="ignore"):
            if not np.any(np.abs(there - here) > within):
                break
            step = here + (there - here) / (1.0 - slope)
            step = np.where(np.isfinite(step), step, there)
            beyond = follow(step)
            rise = (beyond - there) / (step - here)
        slope = np.where(np.isfinite(rise), np.clip(rise, *STEEPEST), 0.0)
        here, there = step, beyond
    return there
