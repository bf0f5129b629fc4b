"""The straight round tube whose outside diameter changes along its length: tapered or stepped."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from frame3d.model.tube import Profile
from frame3d.surfaces.surface import Array

# A piece's own length is widened by this, mm, so that no line slips through between two pieces.
JOIN = 1e-9


@dataclass(frozen=True, eq=False)
class Revolution:
    """An endless surface of revolution: cylinders, cones and flat steps, end to end.

    start: the point (3,), mm, of the axis from which the stations are counted
    axis:  its unit direction (3,)
    od:    outside diameter along the axis, mm; two stations at one place make a step
    """

    start: Array
    axis: Array
    od: Profile

    @cached_property
    def corners(self) -> Array:
        """Corners of the outline in the (station, radius) half plane, (K, 2), mm."""
        return np.column_stack([self.od.at, np.asarray(self.od.value) / 2])

    def distance(self, points: Array) -> Array:
        """Signed distance of points (N, 3): (N,), mm, negative inside; exact.

        The nearest point of a surface of revolution lies in the half plane through the axis that
        holds the point, so it is the distance to the outline there.
        """
        z, radial = self._split(points - self.start)
        r = np.linalg.norm(radial, axis=1)
        nearest = np.minimum(self._beyond(z, r, 0, -1.0), self._beyond(z, r, -1, 1.0))
        for p, q in zip(self.corners[:-1], self.corners[1:], strict=True):
            nearest = np.minimum(nearest, _to_segment(z, r, p, q))
        return np.where(r <= self.od(z) / 2, -nearest, nearest)

    def entry(self, origins: Array, direction: Array) -> Array:
        """First entry of lines from `origins` (N, 3) along the unit `direction` (3,): (N,), mm."""
        z, c = self._split(origins - self.start)
        w = float(direction @ self.axis)
        v = direction - w * self.axis
        first = np.full(len(z), np.inf)
        for low, high, p, q in self._pieces():
            first = np.minimum(first, _piece_entry(z, c, w, v, low, high, p, q))
        inside = np.linalg.norm(c, axis=1) <= self.od(z) / 2
        return np.where(inside, 0.0, first)

    def _split(self, vectors: Array) -> tuple[Array, Array]:
        """Parts along the axis (N,) and square to it (N, 3)."""
        z = vectors @ self.axis
        return z, vectors - np.outer(z, self.axis)

    def _beyond(self, z: Array, r: Array, corner: int, sense: float) -> Array:
        """Distance to the endless cylinder beyond the first (-1) or last (+1) corner."""
        at, radius = self.corners[corner]
        return np.asarray(np.hypot(np.minimum(sense * (z - at), 0.0), r - radius))

    def _pieces(self) -> list[tuple[float, float, Array, Array]]:
        """(first station, last station, two different points of the outline) of each piece."""
        along = np.array([1.0, 0.0])
        first, last = self.corners[0], self.corners[-1]
        pieces = [(-np.inf, first[0], first - along, first), (last[0], np.inf, last, last + along)]
        for p, q in zip(self.corners[:-1], self.corners[1:], strict=True):
            if np.any(p != q):
                pieces.append((p[0], q[0], p, q))
        return pieces


def _to_segment(z: Array, r: Array, p: Array, q: Array) -> Array:
    """Distance of half-plane points to the segment from p to q."""
    span = q - p
    length2 = float(span @ span)
    if length2 == 0.0:
        return np.asarray(np.hypot(z - p[0], r - p[1]))
    share = np.clip(((z - p[0]) * span[0] + (r - p[1]) * span[1]) / length2, 0.0, 1.0)
    return np.asarray(np.hypot(z - p[0] - share * span[0], r - p[1] - share * span[1]))


def _piece_entry(
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
