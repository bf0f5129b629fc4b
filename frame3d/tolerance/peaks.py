"""The highest of values on a coarse grid around many end faces at once.

Between the grid's angles a peak is round, as of one smooth surface, or a crest, where one surface
takes over from another. A parabola through three points finds the place of the round one, and the
quartic through five its height; the crest is where the straight lines through the two points on
either side meet. Those lines meet above any peak, so that they also keep it from rising over a
jump.
"""

import numpy as np
from numpy.typing import NDArray

from frame3d.surfaces.surface import Array
from frame3d.tolerance.compiled import compiled, flag, lines, number, out, places, rows

DEPTHS = 3
JUMP_MM = 0.03  # between depths: a peak does not rise over more
CREST = 2.0  # of a parabola the second difference is once what the lines meet above its top


def peaks(values: Array, theta: Array, crests: bool) -> Array:
    """Largest of `values` (N, T * 3) over each end face: (N,). theta: (T,) rising angles, once
    around; three depths, innermost in the count, from the bore to the outside.

    crests: whether several surfaces meet; -inf marks points that do not count.
    """
    found = np.empty(len(values))
    values = np.ascontiguousarray(values)
    _heights(values, values.argmax(axis=1), theta, crests, found)
    return found


@compiled(lines, lines, flag, gives=number)
def _rise(v: Array, x: Array, crests: bool) -> float:
    """How far the peak stands above v[2], the highest of five values at places x, x[2] = 0."""
    # Newton's divided differences: slopes between neighbours, then curvatures, and so on.
    left, before = (v[1] - v[0]) / (x[1] - x[0]), (v[2] - v[1]) / (x[2] - x[1])
    after, right = (v[3] - v[2]) / (x[3] - x[2]), (v[4] - v[3]) / (x[4] - x[3])
    first, curve = (before - left) / (x[2] - x[0]), (after - before) / (x[3] - x[1])
    third = (curve - first) / (x[3] - x[0])
    fourth = (((right - after) / (x[4] - x[2]) - curve) / (x[4] - x[1]) - third) / (x[4] - x[0])
    rise = crest = 0.0
    if curve < 0:
        top = (before - curve * x[1]) / (-2 * curve)
        above = first + top * (third + (top - x[3]) * fourth)
        rise = v[0] - v[2] + (top - x[0]) * (left + (top - x[1]) * above)
    at = (v[3] - v[1] + left * x[1] - right * x[3]) / (left - right)
    if left > right and x[1] < at < x[3]:
        crest = max(v[1] + left * (at - x[1]) - v[2], 0.0)
    rise = min(max(rise, 0.0), crest)
    bend = curve * x[1] * x[3]  # a second difference, on steps that differ
    if crests and 2 * bend > CREST * crest:
        rise = crest
    return rise if np.isfinite(rise) else 0.0


@compiled(rows, places, lines, flag, out)
def _heights(
    values: Array, most_at: NDArray[np.intp], theta: Array, crests: bool, found: Array
) -> None:
    around = len(theta)
    v, x, heights = np.empty(5), np.empty(5), np.empty(DEPTHS)
    for n in range(len(values)):
        face = values[n]
        best = most_at[n] // DEPTHS
        for depth in range(DEPTHS):
            # About the highest angle of all, where the other depths peak too.
            top, centre = -np.inf, best
            for at in range(best - 2, best + 3):
                value = face[at % around * DEPTHS + depth]
                if value > top:
                    top, centre = value, at
            middle = theta[centre % around] + 2 * np.pi * (centre // around)
            for i in range(5):
                at = centre - 2 + i
                v[i] = face[at % around * DEPTHS + depth]
                x[i] = theta[at % around] + 2 * np.pi * (at // around) - middle
            heights[depth] = v[2] + _rise(v, x, crests)
        inner, half, outer = heights
        highest = max(inner, half, outer)
        bend, tilt = inner - 2 * half + outer, outer - inner
        if abs(tilt) < -2 * bend and bend > -JUMP_MM:
            highest = max(highest, half - tilt**2 / (8 * bend))
        found[n] = highest
