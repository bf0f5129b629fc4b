"""The straight round tube whose outside diameter changes along its length: tapered or stepped."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from frame3d.model.tube import Profile
from frame3d.surfaces.cone import cone_entry, stations_met
from frame3d.surfaces.cylinder import Cylinder
from frame3d.surfaces.surface import Array, Surface, bundle


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
        centre, spread = bundle(origins)
        near = stations_met(centre - self.start, self.axis, direction, spread, self.od.greatest / 2)
        for low, high, p, q in self._pieces:
            if low <= near[1] and high >= near[0]:
                first = np.minimum(first, cone_entry(z, c, w, v, low, high, p, q))
        inside = np.linalg.norm(c, axis=1) <= self.od(z) / 2
        return np.where(inside, 0.0, first)

    def met_by(self, place: Array, direction: Array, spread: float) -> Surface:
        """What is left of the outline between the first and the last station that they can meet."""
        most = self.od.greatest / 2
        low, high = stations_met(place - self.start, self.axis, direction, spread, most)
        first = max(int(np.searchsorted(self.od.at, low, "left")) - 1, 0)
        last = min(int(np.searchsorted(self.od.at, high, "right")) + 1, len(self.od.at))
        if low > high or not first < last:
            return self
        kept = Profile(self.od.at[first:last], self.od.value[first:last])
        if kept.is_constant:
            return Cylinder(self.start, self.axis, kept.value[0] / 2)
        return Revolution(self.start, self.axis, kept)

    def _split(self, vectors: Array) -> tuple[Array, Array]:
        """Parts along the axis (N,) and square to it (N, 3)."""
        z = vectors @ self.axis
        return z, vectors - np.outer(z, self.axis)

    def _beyond(self, z: Array, r: Array, corner: int, sense: float) -> Array:
        """Distance to the endless cylinder beyond the first (-1) or last (+1) corner."""
        at, radius = self.corners[corner]
        return np.asarray(np.hypot(np.minimum(sense * (z - at), 0.0), r - radius))

    @cached_property
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
