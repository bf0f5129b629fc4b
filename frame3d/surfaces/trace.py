"""Where lines first enter the elements of a bent or oval tube."""

import numpy as np

from frame3d.surfaces.cone import cone_entry
from frame3d.surfaces.element import Elements
from frame3d.surfaces.surface import Array, bundle

TOUCH = 1e-9  # a line nearer than this, mm, touches


def first_entry(made: Elements, steps: Elements, origins: Array, direction: Array) -> Array:
    """Least t >= 0 at which the lines from origins (N, 3) along `direction` (3,) are on or in any
    of the elements: (N,), mm; inf where never."""
    first = np.full(len(origins), np.inf)
    for near in np.flatnonzero(made.near_lines(*bundle(origins), direction)):
        one = made.single[near]
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
    far = next(s for s in (high, low, 1.0) if np.isfinite(s) and s != 0.0)
    p, q = np.array([0.0, a]), np.array([far, a + da * far])
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

    Followed is the growth g: how many times the section, at the nearest point of the axis, would
    have to be as large to reach the line. The line is within where g <= 1. With a bound K on how
    fast the growth's rate can fall, g + g' h - K h^2 / 2 > 1 makes a step h safe; on a line that
    goes for the surface such steps close in as Newton's do. Far off, a step to the greatest section
    is safe too. They end where the line leaves the element's own slab or wedge.
    """
    most = float(one.extremes()[1][0])
    near, fall = _fall(one)
    t, end = _within(one, origins, direction)
    result = np.full(len(origins), np.inf)
    active = np.flatnonzero(t <= end)
    while len(active):
        grown, rate, r = _growth(one, origins[active] + t[active, None] * direction, direction)
        off = grown - 1.0
        there = off * most <= TOUCH
        result[active[there]] = t[active[there]]
        root = np.sqrt(rate**2 + 2.0 * fall * np.maximum(off, 0.0))
        with np.errstate(divide="ignore", invalid="ignore"):
            safe = np.where(rate < 0.0, 2.0 * off / (root - rate), (rate + root) / fall)
        t[active] += np.maximum(r - most, np.minimum(safe, 2.0 * near - r - most))
        active = active[~there]
        active = active[t[active] <= end[active]]
    return result


def _growth(one: Elements, spots: Array, direction: Array) -> tuple[Array, Array, Array]:
    """Growth g at points (N, 3) of lines, its change per mm along them, and mm from the axis."""
    u, n, k = one.local(spots)
    s = one.foot(u, n)
    _, x, y = one.section(s, u, n, k)
    a, b = one.semi_axes(s)
    ahead = one.tangent(s)
    inward = np.cross(one.aside, ahead)
    to_in, to_side = inward @ direction, one.aside @ direction
    per_mm = (ahead @ direction) / (1.0 - one.bend * (one.u * x + one.v * y))
    p, q = x / a, y / b
    dp = (one.u * to_in - one.v * to_side - p * one.da * per_mm) / a
    dq = (one.v * to_in + one.u * to_side - q * one.db * per_mm) / b
    grown = np.hypot(p, q)
    rate = np.divide(p * dp + q * dq, grown, out=np.zeros_like(grown), where=grown > 0)
    return grown, rate, np.hypot(x, y)


def _fall(one: Elements) -> tuple[float, float]:
    """Up to how far from the axis, mm, the growth's rate falls by at most how much per mm, 1/mm^2.

    With Z the place in the section divided by the semi-axes, g = |Z| and g'' >= -|Z''|. Its terms:
    the frame turns round the bend, where a mm along the line is up to `squeeze` mm along the axis;
    and the semi-axes change, by a share of at most `change` per mm of the axis.
    """
    least, most = (float(extreme[0]) for extreme in one.extremes())
    bend = float(one.bend[0])
    near = 2.0 * most if bend == 0.0 else min(2.0 * most, (1.0 / bend + most) / 2.0)
    squeeze = 1.0 / (1.0 - bend * near)
    change = max(abs(float(one.da[0])), abs(float(one.db[0]))) / least
    turning = (bend + 2.0 * change) * squeeze / least
    changing = change * (bend + 2.0 * change) * squeeze**2 * near / least
    return near, turning + changing


def _within(one: Elements, origins: Array, direction: Array) -> tuple[Array, Array]:
    """From where to where (N,) each line is between the planes that end the element, and in the
    ball that holds it; the first is the greater where it never is."""
    length, most = float(one.high[0] - one.low[0]), float(one.extremes()[1][0])
    relative = origins - one.point(one.low + length / 2)
    nearest = -relative @ direction
    off2 = np.sum(relative**2, axis=1) - nearest**2
    half = np.sqrt(np.maximum((length / 2 + most) ** 2 - off2, 0.0))
    low, high = np.maximum(nearest - half, 0.0), nearest + half
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
