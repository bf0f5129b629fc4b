"""The nearest point of an ellipse, many at once."""

import numpy as np

from frame3d.surfaces.surface import Array

SETTLED = 1e-15
MOST_STEPS = 60
OFF_AXIS = 1e-12  # mm: a point on an axis of the ellipse is taken this far off it


def nearest_on_ellipse(x: Array, y: Array, a: Array, b: Array) -> tuple[Array, Array]:
    """Nearest points (x, y) of ellipses with semi-axes a along x and b along y, mm; all (N,).

    The foot of the normal from (x, y) in the first quadrant is (a^2 x / (t + a^2),
    b^2 y / (t + b^2)) for the greatest root t of (a x / (t + a^2))^2 + (b y / (t + b^2))^2 = 1
    (D. Eberly, "Distance from a Point to an Ellipse, an Ellipsoid, or a Hyperellipsoid", 2013; from
    memory). Left of that root the function is convex and falls, so Newton's steps from there rise
    to it and never pass it.
    """
    flip = b > a
    long, short = np.where(flip, b, a), np.where(flip, a, b)
    p, q = np.where(flip, y, x), np.where(flip, x, y)
    px = long * np.maximum(np.abs(p), OFF_AXIS)
    qy = short * np.maximum(np.abs(q), OFF_AXIS)
    excess = (long - short) * (long + short)
    t = np.maximum(qy, px - excess)  # counted from -short^2, to keep its digits near the short end
    for _ in range(MOST_STEPS):
        u, v = px / (t + excess), qy / t
        value = u * u + v * v - 1.0
        step = value / (2.0 * (u * u / (t + excess) + v * v / t))
        t = t + step
        if np.all(step <= SETTLED * t):
            break
    foot_long = np.copysign(long * px / (t + excess), p)
    foot_short = np.copysign(short * qy / t, q)
    return np.where(flip, foot_short, foot_long), np.where(flip, foot_long, foot_short)
