"""Where a line first meets one cylinder, cone or flat step."""

import numpy as np

from frame3d.surfaces.surface import Array

# A piece's own length is widened by this, mm, so that no line slips through between two pieces.
JOIN = 1e-9


def cone_entry(
    z: Array, c: Array, w: float, v: Array, low: float, high: float, p: Array, q: Array
) -> Array:
    """Least t >= 0 at which the line (z + t w, |c + t v|) meets one piece; inf where it does not.

    The piece lies on m r + n z = d in the half plane, (m, n) the outline's unit normal: a
    cylinder, a cone or, with m = 0, a flat step. Squared, m^2 |c + t v|^2 = (d - n (z + t w))^2
    is a quadratic in t. A Newton step on the unsquared form takes back what squaring costs.
    """
    span = q - p
    n, m = np.array([-span[1], span[0]]) / np.hypot(*span)
    d = m * p[1] + n * p[0]
    a = d - n * z
    b = -n * w
    qa = m * m * (v @ v) - b * b
    qb = m * m * (c @ v) - a * b
    qc = m * m * np.einsum("ij,ij->i", c, c) - a * a
    least, most = min(p[1], q[1]) - JOIN, max(p[1], q[1]) + JOIN
    first = np.full(len(z), np.inf)
    for t in _roots(qa, qb, qc):
        for _ in range(2):
            t = t - _offset_over_slope(t, c, v, a, b, m)
        r = np.linalg.norm(c + t[:, None] * v, axis=1)
        at = z + t * w
        with np.errstate(invalid="ignore"):
            on = (np.abs(m * r - a - b * t) < JOIN) & (at >= low - JOIN) & (at <= high + JOIN)
            on &= (r >= least) & (r <= most) & (t >= 0)
        first = np.where(on, np.minimum(first, np.where(on, t, np.inf)), first)
    return first


def stations_met(
    offset: Array, axis: Array, direction: Array, spread: float, most: float
) -> tuple[float, float]:
    """Between which stations of an axis lines can come within `most` mm of it: never too narrow,
    (inf, -inf) where they cannot. The lines run along `direction` (3,), both ways, within `spread`
    mm of one; offset (3,): a point of that one from the axis's station 0.

    Square to the lines the axis passes that one at s u - p: least where s = p.u / u.u.
    """
    p, u = (a - (a @ direction) * direction for a in (offset, axis))
    square = float(u @ u)
    room2 = (most + spread + JOIN) ** 2
    if square < 1e-18:
        return (-np.inf, np.inf) if float(p @ p) <= room2 else (np.inf, -np.inf)
    middle = float(p @ u) / square
    past = p - middle * u
    left = room2 - float(past @ past)
    if left < 0.0:
        return np.inf, -np.inf
    half = float(np.sqrt(left / square))
    return middle - half, middle + half


def _roots(a: float, b: Array, c: Array) -> tuple[Array, Array]:
    """Both roots of a t^2 + 2 b t + c, without cancellation; NaN where there is none."""
    square = b * b - a * c
    square = np.where(np.abs(square) <= 1e-13 * (b * b + np.abs(a * c)), 0.0, square)
    with np.errstate(invalid="ignore", divide="ignore"):
        root = -(b + np.copysign(np.sqrt(square), b))
        roots = root / a, c / root
    return _finite(roots[0]), _finite(roots[1])


def _finite(values: Array) -> Array:
    return np.where(np.isfinite(values), values, np.nan)


def _offset_over_slope(t: Array, c: Array, v: Array, a: Array, b: float, m: float) -> Array:
    """Newton's correction for m |c + t v| = a + b t; 0 where the line runs along the surface."""
    spot = c + t[:, None] * v
    r = np.linalg.norm(spot, axis=1)
    with np.errstate(invalid="ignore", divide="ignore"):
        slope = m * (spot @ v) / r - b
        step = (m * r - a - b * t) / slope
    return np.where(np.abs(slope) > 1e-6, step, 0.0)
