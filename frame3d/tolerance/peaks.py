"""The highest of values on a coarse grid around many end faces at once.

Between the grid's angles a peak is round, as of one smooth surface, or a crest, where one surface
takes over from another. A parabola through three points finds the place of the round one, and the
quartic through five its height; the crest is where the straight lines through the two points on
either side meet. Those lines meet above any peak, so that they also keep it from rising over a
jump.
"""

import numpy as np

from frame3d.surfaces.surface import Array

DEPTHS = 3
NEAR = np.arange(-4, 5)  # angles around the highest one, where the other depths peak too
FIVE, DEPTH = np.arange(5)[:, None, None], np.arange(DEPTHS)
JUMP_MM = 0.03  # between depths: a peak does not rise over more
CREST = 2.0  # of a parabola the second difference is once what the lines meet above its top


def peaks(values: Array, theta: Array, crests: bool) -> Array:
    """Largest of `values` (N, T * 3) over each end face: (N,). theta: (T,) rising angles, once
    around; three depths, innermost in the count, from the bore to the outside.

    crests: whether several surfaces meet; -inf marks points that do not count.
    """
    row = len(theta) * np.arange(len(values))[:, None]
    best = (values.argmax(axis=1) // DEPTHS)[:, None]
    near = values.reshape(-1, DEPTHS).take(row + (best + NEAR) % len(theta), axis=0)
    five = best + NEAR[0] + near[:, 2:-2].argmax(axis=1) + FIVE
    v = values.take((row + five % len(theta)) * DEPTHS + DEPTH)
    x = np.concatenate([theta - 2 * np.pi, theta, theta + 2 * np.pi]).take(five + len(theta))
    inner, middle, outer = (v[2] + _rise(v, x - x[2], crests)).T
    with np.errstate(invalid="ignore", divide="ignore"):
        bend, tilt = inner - 2 * middle + outer, outer - inner
        within = (abs(tilt) < -2 * bend) & (bend > -JUMP_MM)
        between = np.where(within, middle - tilt**2 / (8 * bend), -np.inf)
    return np.asarray(np.max([inner, middle, outer, between], axis=0))


def _rise(v: Array, x: Array, crests: bool) -> Array:
    """How far the peak stands above v[2], the highest of five values at places x, x[2] = 0."""
    with np.errstate(invalid="ignore", divide="ignore"):
        # Newton's divided differences: slopes between neighbours, then curvatures, and so on.
        slopes = (v[1:] - v[:-1]) / (x[1:] - x[:-1])
        curves = (slopes[1:] - slopes[:-1]) / (x[2:] - x[:-2])
        thirds = (curves[1:] - curves[:-1]) / (x[3:] - x[:-3])
        fourth = (thirds[1] - thirds[0]) / (x[4] - x[0])
        curve = curves[1]
        top = (slopes[1] - curve * x[1]) / (-2 * curve)
        above = thirds[0] + (top - x[3]) * fourth
        above = slopes[0] + (top - x[1]) * (curves[0] + top * above)
        round_ = np.where(curve < 0, v[0] - v[2] + (top - x[0]) * above, 0.0)
        left, right = slopes[0], slopes[3]
        at = (v[3] - v[1] + left * x[1] - right * x[3]) / (left - right)
        crest = np.maximum(v[1] + left * (at - x[1]) - v[2], 0.0)
        crest = np.where((left > right) & (at > x[1]) & (at < x[3]), crest, 0.0)
        rise = np.clip(round_, 0.0, crest)
        if crests:
            bend = curve * x[1] * x[3]  # a second difference, on steps that differ
            rise = np.where(2 * bend > CREST * crest, crest, rise)
    return np.where(np.isfinite(rise), rise, 0.0)
