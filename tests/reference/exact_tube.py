"""The exact finished tube, worked out again from nothing but its definition.

It shares no code with the product: a line parallel to the tube's axis meets a mate's cylinder by
the closed form below, the seat follows from it, and the volume by scipy's adaptive cubature.

Take z outward along the tube, x square to both axes, y square to z in the plane of both directions.
A line along z at (x, y) meets a cylinder of radius R, whose axis stands at x = e, crosses the
tube's direction at the angle b and comes nearest to the tube's axis at z = z0, first at

    z = z0 + y / tan b - sqrt(R^2 - (x - e)^2) / sin b

which is (x - e)^2 + ((z - z0) sin b - y cos b)^2 = R^2 solved for its lesser root.
"""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from scipy.integrate import cubature

from frame3d.model import Frame, Tube


@dataclass(frozen=True)
class Crossing:
    """How a mate's axis stands to a tube's end; x, y directions (3,), lengths mm, angle radians."""

    x: np.ndarray
    y: np.ndarray
    offset: float
    angle: float
    nearest: float

    def entry(self, across, radius):
        """Position (N,) along the tube where lines at `across` (N, 3) enter; inf if never."""
        x, y = across @ self.x, across @ self.y
        square = radius**2 - (x - self.offset) ** 2
        z = (
            self.nearest
            + y / np.tan(self.angle)
            - np.sqrt(np.maximum(square, 0.0)) / np.sin(self.angle)
        )
        return np.where(square >= 0, z, np.inf)


def crossing(origin, out, mate: Tube) -> Crossing:
    """The mate as seen from an end whose axis point is `origin` and whose outward axis is `out`."""
    a = np.subtract(mate.end, mate.start) / np.linalg.norm(np.subtract(mate.end, mate.start))
    x = np.cross(out, a)
    sine = np.linalg.norm(x)
    x = x / sine
    y = np.cross(x, out)
    to_mate = np.subtract(mate.start, origin)
    # The mate's axis runs a = cos b out + sin b y; it crosses y = 0 where it comes nearest.
    along = -(to_mate @ y) / sine
    nearest = to_mate @ out + along * (out @ a)
    return Crossing(x, y, float(to_mate @ x), float(np.arctan2(sine, out @ a)), float(nearest))


class ExactEnd:
    """A coped end; `stop(across)` is where the seated metal ends, mm outward of its axis point."""

    def __init__(self, frame: Frame, joint):
        tube = frame.tube(joint.tube)
        first, last = np.array(tube.start), np.array(tube.end)
        if joint.end == "start":
            first, last = last, first
        self.out = (last - first) / np.linalg.norm(last - first)
        mates = [frame.tube(name) for name in joint.onto]
        self.crossings = [crossing(last, self.out, mate) for mate in mates]
        self.mate_radii = [float(mate.od(0.0)) / 2 for mate in mates]
        self.tool_radii = [
            own if saw is None else saw / 2
            for own, saw in zip(self.mate_radii, joint.saws, strict=True)
        ]
        self.across = np.stack([self.crossings[0].x, self.crossings[0].y])
        self.radii = (
            float(tube.od(0.0)) / 2 - max(tube.wall.value),
            float(tube.od(0.0)) / 2,
        )
        self.seat = self._seat()

    def offsets(self, theta, radius):
        """Offsets (N, 3) from the axis; theta from the common normal with the first mate."""
        return (radius * np.array([np.cos(theta), np.sin(theta)])).T @ self.across

    def _first(self, across, radii):
        entries = [c.entry(across, r) for c, r in zip(self.crossings, radii, strict=True)]
        return np.min(entries, axis=0)

    def stop(self, across):
        return self._first(across, self.tool_radii) + self.seat

    def _seat(self) -> float:
        """- max (shaped - met) over the end face, by a grid that closes in on its best point.

        The wall is taken at its thickest, which is right where a butt holds the whole cope.
        """
        theta, half_turn = np.pi, np.pi
        radius, half_wall = np.mean(self.radii), np.ptp(self.radii) / 2
        best = -np.inf
        for _ in range(12):
            t, r = np.meshgrid(
                theta + np.linspace(-half_turn, half_turn, 1441),
                np.clip(radius + np.linspace(-half_wall, half_wall, 21), *self.radii),
                indexing="ij",
            )
            across = self.offsets(t.ravel(), r.ravel())
            with np.errstate(invalid="ignore"):
                over = self._first(across, self.tool_radii) - self._first(across, self.mate_radii)
            over = np.where(np.isfinite(over), over, -np.inf)
            at = over.argmax()
            best = max(best, over[at])
            theta, radius = t.ravel()[at], r.ravel()[at]
            half_turn, half_wall = half_turn / 20, half_wall / 4
        return -float(best)


def exact_volume(frame: Frame, name: str, rtol: float = 1e-7) -> float:
    """Volume of a finished tube, mm3; its outside is constant, its wall may change."""
    tube = frame.tube(name)
    length = tube.length
    radius = float(tube.od(0.0)) / 2
    ends = {joint.end: ExactEnd(frame, joint) for joint in frame.joints if joint.tube == name}
    axis = np.subtract(tube.end, tube.start) / length
    helper = np.eye(3)[np.abs(axis).argmin()]
    u = np.cross(axis, helper)
    u = u / np.linalg.norm(u)
    v = np.cross(axis, u)

    def metal(points):
        """Length of metal on lines at (theta, r), times r."""
        theta, r = points.T
        across = (r * np.array([np.cos(theta), np.sin(theta)])).T @ np.stack([u, v])
        low = -ends["start"].stop(across) if "start" in ends else np.zeros(len(r))
        high = length + (ends["end"].stop(across) if "end" in ends else np.zeros(len(r)))
        return r * _covered(tube, radius - r, low, high)

    # Lines at the radius of a butt's bore run along it: there the integrand jumps.
    bands = sorted({radius, *(radius - wall for wall in tube.wall.value)})
    total = 0.0
    for inner, outer in pairwise(bands):
        for quarter in range(4):
            result = cubature(
                metal,
                [quarter * np.pi / 2, inner],
                [(quarter + 1) * np.pi / 2, outer],
                rtol=rtol,
                max_subdivisions=20000,
            )
            assert result.status == "converged"
            total += float(result.estimate)
    return total


def _covered(tube: Tube, depth, low, high):
    """Length between `low` and `high` (N,) at which the wall is thicker than `depth` (N,)."""
    at = np.array([-1e6, *tube.wall.at, 1e6])
    wall = np.array([tube.wall.value[0], *tube.wall.value, tube.wall.value[-1]])
    total = np.zeros(len(depth))
    for a, b, first, last in zip(at[:-1], at[1:], wall[:-1], wall[1:], strict=True):
        if first == last:
            start, stop = np.where(depth <= first, a, b), np.full(len(depth), b)
        else:
            meets = np.clip(a + (b - a) * (depth - first) / (last - first), a, b)
            start = np.full(len(depth), a) if first > last else meets
            stop = meets if first > last else np.full(len(depth), b)
        total += np.maximum(np.minimum(stop, high) - np.maximum(start, low), 0.0)
    return total
