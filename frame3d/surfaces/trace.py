"""Where lines first enter the elements of a bent or oval tube."""

import numpy as np

from frame3d.surfaces.cone import cone_entry
from frame3d.surfaces.element import Elements
from frame3d.surfaces.surface import Array

TOUCH = 2e-8  # a line nearer than this, mm, touches


def first_entry(made: Elements, steps: Elements, origins: Array, direction: Array) -> Array:
    """Least t >= 0 at which the lines from origins (N, 3) along `direction` (3,) are on or in any
    of the elements: (N,), mm; inf where never."""
    first = np.full(len(origins), np.inf)
    for e in range(len(made)):
        one = made.take(np.array([e]))
        found = _closed if _is_conical(one) else _traced
        first = np.minimum(first, found(one, origins, direction))
    for e in range(len(steps)):
        first = np.minimum(first, _through_step(steps.take(np.array([e])), origins, direction))
    return first


def _is_conical(one: Elements) -> bool:
    """Straight, with a section that keeps its proportions: a cone or cylinder, drawn out to one
    side."""
    return bool(one.bend[0] == 0.0 and abs(one.da * one.b - one.db * one.a)[0] < 1e-15)


def _closed(one: Elements, origins: Array, direction: Array) -> Array:
    """Entry of an oval cone or cylinder: the round one's, with the second axis stretched."""
    z, c, w, v = _line(one, origins, direction)
    stretch = np.array([1.0, one.a[0] / one.b[0]])
    a, da, low, high = one.a[0], one.da[0], one.low[0], one.high[0]
    p, q = np.array([0.0, a]), np.array([1.0, a + da])
    return cone_entry(z, c * stretch, w, v * stretch, low, high, p, q)


def _line(one: Elements, origins: Array, direction: Array) -> tuple[Array, Array, float, Array]:
    """Lines along a straight element: station and section place of the origins, and per mm."""
    z, x, y = one.section(np.zeros(1), *one.local(origins))
    w, vx, vy = one.section(np.zeros(1), *one.local(direction[None] + one.origin))
    return z, np.stack([x, y], axis=1), float(w[0]), np.array([vx[0], vy[0]])


def _through_step(step: Elements, origins: Array, direction: Array) -> Array:
    """Entry through the flat of a step."""
    z, c, w, v = _line(step, origins, direction)
    if w == 0.0:
        return np.full(len(origins), np.inf)
    t = -z / w
    on = step.between(*(c + t[:, None] * v).T)
    return np.where(on & (t >= 0.0), t, np.inf)


def _traced(one: Elements, origins: Array, direction: Array) -> Array:
    """Entry found by safe steps: none is longer than the line could need to reach the surface.

    Steps end where the line leaves the element's own slab or wedge. A last secant step takes the
    line from within `TOUCH` onto the surface.
    """
    least, most = (float(extreme[0]) for extreme in one.extremes())
    t, end = _within(one, origins, direction)
    result = np.full(len(origins), np.inf)
    active = np.flatnonzero(t <= end)
    before = np.full((2, len(origins)), np.nan)  # the step before: where, and how far off
    while len(active):
        spot = origins[active] + t[active, None] * direction
        u, n, k = one.local(spot)
        s = one.foot(u, n)
        _, x, y = one.section(s, u, n, k)
        a, b = one.semi_axes(s)
        with np.errstate(divide="ignore"):
            off = np.log(np.hypot(x / a, y / b))
        there = off * most <= TOUCH
        done = active[there]
        result[done] = _secant(t[done], off[there], *before[:, done])
        before[:, active] = t[active], off
        t[active] += _safe_step(one, direction, off, np.hypot(x, y), least, most)
        active = active[~there]
        active = active[t[active] <= end[active]]
    return result


def _safe_step(
    one: Elements, direction: Array, off: Array, r: Array, least: float, most: float
) -> Array:
    """How far a line may go without meeting the element, from r mm off its axis.

    `off` is the logarithm of how many times the section would have to grow to reach the point.
    Outside the section it changes by at most 1 / least per mm across, and by the section's relative
    change per mm along the axis. Round a bend a mm along the line is more than one along the axis
    on the inner side, so there the rate holds only near the tube, and the step stays near it too.
    """
    a, b = one.semi_axes(np.stack([one.low[0], one.high[0]]))
    change = max(abs(one.da[0]) / a.min(), abs(one.db[0]) / b.min())
    if one.bend[0] == 0.0:
        along = abs(float(direction @ one.ahead[0]))
        across = np.sqrt(max(0.0, 1.0 - along**2))
        rate = across / least + along * change
        return np.asarray(np.maximum(off / max(rate, 1e-300), r - most))
    radius = 1.0 / one.bend[0]
    near = min(2.0 * most, (radius + most) / 2)
    rate = np.hypot(1.0 / least, change * radius / (radius - near))
    return np.asarray(np.maximum(r - most, np.minimum(off / rate, 2.0 * near - r - most)))


def _secant(t: Array, off: Array, t_before: Array, off_before: Array) -> Array:
    """A line's last step, from the last two; none where it started within the tube."""
    with np.errstate(invalid="ignore", divide="ignore"):
        step = off * (t - t_before) / (off_before - off)
    fair = np.isfinite(step) & (off > 0) & (np.abs(step) < 1e3 * TOUCH)
    return t + np.where(fair, step, 0.0)


def _within(one: Elements, origins: Array, direction: Array) -> tuple[Array, Array]:
    """From where to where (N,) each line is between the planes that end the element."""
    low = np.zeros(len(origins))
    high = np.full(len(origins), np.inf)
    for station, sense in ((one.low, -1.0), (one.high, 1.0)):
        past = sense * one.section(station, *one.local(origins))[0]
        rate = sense * float(one.tangent(station)[0] @ direction)
        with np.errstate(divide="ignore", invalid="ignore"):
            meet = -past / rate
        if rate > 0:
            high = np.minimum(high, meet)
        elif rate < 0:
            low = np.maximum(low, meet)
        else:
            high = np.where(past > 0, -np.inf, high)
    return low, high
