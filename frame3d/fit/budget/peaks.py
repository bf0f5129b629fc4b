"""The highest of values on a coarse grid around many end faces at once.

Between the grid's angles a peak is round, as of one smooth surface, or a crest, where one surface
takes over from another. A parabola through three points finds the place of the round one, and the
quartic through five its height; the crest is where the straight lines through the two points on
either side meet. Those lines meet above any peak, so that they also keep it from rising over a
jump.
"""

import numpy as np

from frame3d.surfaces.surface import Array

NEAR = np.arange(-4, 5)  # angles around the highest one, where the other depths peak too
STEPS, DEPTHS = np.arange(5)[:, None, None], np.arange(3)
JUMP_MM = 0.03  # between depths: a peak does not rise over more
CREST = 2.0  # of a parabola the second difference is once what the lines meet above its top


def peaks(values: Array, theta: Array, crests: bool) -> Array:
    """Largest of `values` (N, T * 3) over each end face: (N,). theta: (T,) rising angles, once
    around; three depths, innermost in the count, from the bore to the outside.

    crests: whether several surfaces meet; -inf marks points that do not count.
    """
    rows = np.arange(len(values))[:, None]
    best = (values.argmax(axis=1) // 3)[:, None] + NEAR
    best %= len(theta)
    near = values.reshape(len(values), -1, 3)[rows, best]
    own = near[:, 2:-2].argmax(axis=1) + STEPS
    v, x = near[rows, own, DEPTHS], theta[best[rows, own]]
    x = (x - x[2] + np.pi) % (2 * np.pi) - np.pi
    inner, middle, outer = (v[2] + _rise(v, x, crests)).T
    with np.errstate(invalid="ignore", divide="ignore"):
        bend, tilt = inner - 2 * middle + outer, outer - inner
        within = (abs(tilt) < -2 * bend) & (bend > -JUMP_MM)
        between = np.where(within, middle - tilt**2 / (8 * bend), -np.inf)
    return np.asarray(np.max([inner, middle, outer, between], axis=0))


def _rise(v: Array, x: Array, crests: bool) -> Array:
    """How far the peak stands above v[2], the highest of five values at places x, x[2] = 0."""
    with np.errstate(invalid="ignore", divide="ignore"):
        ahead, behind = (v[3] - v[2]) / x[3], (v[1] - v[2]) / -x[1]
        curve = (ahead + behind) / (x[3] - x[1])
        slope = (ahead * -x[1] - behind * x[3]) / (x[3] - x[1])
        round_ = np.where(curve < 0, _through(v - v[2], x, -slope / (2 * curve)), 0.0)
        left, right = (v[1] - v[0]) / (x[1] - x[0]), (v[4] - v[3]) / (x[4] - x[3])
        at = (v[3] - v[1] + left * x[1] - right * x[3]) / (left - right)
        crest = np.maximum(v[1] + left * (at - x[1]) - v[2], 0.0)
        crest = np.where((left > right) & (at > x[1]) & (at < x[3]), crest, 0.0)
        bend = curve * x[1] * x[3]  # a second difference, on steps that differ
        sharp = crests & (2 * bend > CREST * crest)
        rise = np.where(sharp, crest, np.clip(round_, 0.0, crest))
    return np.where(np.isfinite(rise), rise, 0.0)


def _through(v: Array, x: Array, at: Array) -> Array:
    """The polynomial through the five points (x, v), at `at`."""
    total = np.zeros_like(at)
    for i in range(5):
        term = v[i]
        for j in range(5):
            if j != i:
                term = term * (at - x[j]) / (x[i] - x[j])
        total += term
    return total
