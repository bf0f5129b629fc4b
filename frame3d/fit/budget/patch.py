"""A surface that is not a round cylinder - tapered, oval, bent - against thousands of set-ups.

Set-ups move an end by tenths of a millimetre, so that all that counts of the surface is a patch
around each of the tube's lines. With n its normal at the patch's middle p0, H its curvature there
(the second derivative of the signed distance d) and c its greater principal curvature,

    F(p) = n.(p - p0) + (p - p0).(H + c n n).(p - p0) / 2  =  d + c d^2 / 2

which is exact on a round cylinder, and on any smooth surface up to third order: over a millimetre
it is off by about a sixth of how much the curvature changes over that millimetre. Along a line F is
a quadratic, in closed form as the cylinder's is. Exact distances and entries at the middle come
from the surface itself; fit.budget.exact holds both together.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation

from frame3d.fit.budget.shape import Lines, Motion
from frame3d.model import EndFrame
from frame3d.surfaces.surface import Array, Surface

Away = Callable[[Array], Array]  # signed distance of points in the end's frame

PROBE_MM = 0.05  # over which slopes and curvatures are taken
LEAST_CURVE = 1e-4  # 1/mm, so that nothing is divided by a flat
FLAT = 1e-5, 1e-6  # curvature, 1/mm, and share of the normal, below which a direction is left out
NEAREST_STEPS = 129  # along a line that misses the surface
TERMS = 19


@dataclass(frozen=True, eq=False)
class Patches:
    """One patch for each of G lines. middle: (G, 3); ways: (W, G, 3) unit, directions in which the
    patch bends or its normal has a part; bend: (W, G) its curvature along each, 1/mm; slope: (W, G)
    the normal's part; curve: (G,) c, 1/mm; from_z: (G,) heights from which z is counted, mm."""

    middle: Array
    ways: Array
    bend: Array
    slope: Array
    curve: Array
    from_z: Array

    def level(self, growth: Array) -> Array:
        """F of the surface grown by `growth` (N,): (N, G)."""
        return np.asarray(growth[:, None] + self.curve * (growth**2)[:, None] / 2)

    def value(self, parts: list[Array]) -> Array:
        """F where p - p0 has these parts along the ways, each (..., G)."""
        total = np.zeros_like(parts[0])
        for part, bend, slope in zip(parts, self.bend, self.slope, strict=True):
            total += (slope + bend / 2 * part) * part
        return total

    def distance(self, value: Array) -> Array:
        return np.asarray((np.sqrt(np.maximum(1 + 2 * self.curve * value, 0.0)) - 1) / self.curve)


@dataclass(frozen=True, eq=False)
class Patched:
    """A surface by its patches around an end's lines.

    enter: about where each line enters it, or comes nearest; far: (G,) 0, or inf for a line that
    is left to the joint's other tools; near: about the points nearest to the nominal end
    """

    surface: Surface
    frame: EndFrame
    lift: float
    point: Array
    axis: Array
    radius: float
    enter: Patches
    near: Patches
    factors: Array
    far: Array | None = None

    def entry(
        self,
        lines: Lines,
        tube: Array,
        growth: Array,
        motion: Motion | None = None,
        misses: float | None = None,
    ) -> Array:
        turn, move = _undone(motion)
        terms = _terms(turn, move, tube)
        along = turn[:, :, 2]
        patches = self.enter
        value = -patches.level(growth)
        rate, half = np.zeros_like(value), np.zeros_like(value)
        for w, (bend, slope) in enumerate(zip(patches.bend, patches.slope, strict=True)):
            part = terms @ self.factors[w]
            step = along @ patches.ways[w].T
            bent = bend * part
            rate += (slope + bent) * step
            bent *= 0.5
            bent += slope
            bent *= part
            value += bent
            step *= step
            step *= bend / 2
            half += step
        root = rate * rate
        half *= 4
        root -= half * value
        missed = root < 0
        np.maximum(root, 0.0, out=root)
        np.sqrt(root, out=root)
        value *= 2
        ahead = (rate < 0) & ~missed
        with np.errstate(divide="ignore", invalid="ignore"):
            z = value / (root - rate)
            if not ahead.all():  # the root where it does not cancel, and the nearest place
                z = np.where(ahead, z, -2 * (rate + root) / np.maximum(half, 4e-12))
        z += patches.from_z
        if misses is not None:
            z[missed] = misses
        if self.far is not None:
            z += self.far
        return np.asarray(z)

    def away(self, lines: Lines, tube: Array, z: Array, growth: Array) -> Array:
        patches = self.near
        rise = z - patches.from_z
        parts = []
        for way in patches.ways:
            grown = np.stack([np.ones(len(tube)), tube], axis=1)
            fixed = np.stack(
                [
                    ((lines.at(patches.from_z, 0.0) - patches.middle) * way).sum(axis=1),
                    lines.basis[3] * way[:, 0] + lines.basis[4] * way[:, 1],
                ]
            )
            part = rise * way[:, 2]
            part += grown @ fixed
            parts.append(part)
        return np.asarray(patches.distance(patches.value(parts)) - growth[:, None])

    def steepest(self, lines: Lines, points: Array) -> tuple[Array, Array]:
        patches = self.near
        relative = points - patches.middle
        parts = [(relative * way).sum(axis=1) for way in patches.ways]
        away = patches.distance(patches.value(parts))
        rise = np.array(parts) * patches.bend + patches.slope
        direction = np.einsum("wg,wgi->gi", rise, patches.ways)
        return away, direction / np.linalg.norm(direction, axis=1, keepdims=True)

    def distance(self, points: Array, growth: float, motion: Motion) -> Array:
        turn, move = _undone(motion)
        return self._exact(points @ turn[0].T + move[0]) - growth

    def _exact(self, points: Array) -> Array:
        return self.surface.distance(self._world(points))

    def _world(self, points: Array) -> Array:
        return to_world(points - [0.0, 0.0, self.lift], self.frame)


def to_world(points: Array, frame: EndFrame) -> Array:
    """Points (N, 3) of the end's frame in world axes."""
    return np.asarray(frame.origin + points @ np.stack([frame.datum, frame.side, frame.out]))


def patched(
    surface: Surface,
    frame: EndFrame,
    lift: float,
    axis: tuple[Array, Array, float],
    lines: Lines,
) -> tuple[Patched, Array]:
    """A surface, moved outward by `lift` mm, by its patches; `axis` is a point, a direction, both
    in the end's frame, and a radius. Also how far each line passes outside it: (G,), mm, 0 for
    one that enters it."""
    point, direction, radius = axis

    def away(points: Array) -> Array:
        return surface.distance(to_world(points - [0.0, 0.0, lift], frame))

    back = np.full_like(lines.stop, -frame.run)
    start = to_world(lines.at(back - lift, 0.0), frame)
    z = surface.entry(start, frame.out) - frame.run
    missed = ~np.isfinite(z)
    beside = np.zeros_like(z)
    if missed.any():
        z[missed], beside[missed] = _nearest(away, lines, missed, axis)
    enter = _patches(away, lines.at(z, 0.0), z)
    near = _patches(away, lines.at(lines.stop, 0.0), lines.stop)
    made = Patched(
        surface, frame, lift, point, direction, radius, enter, near, _factors(lines, enter)
    )
    return made, beside


def _nearest(
    away: Away, lines: Lines, missed: NDArray[np.bool_], axis: tuple[Array, Array, float]
) -> tuple[Array, Array]:
    """Where lines that miss a surface come nearest to it, and how near: (M,) each, mm."""
    point, direction, radius = axis
    plane = direction[:2]
    passing = point[2] + ((lines.basis[:2, missed].T - point[:2]) @ plane) * direction[2] / max(
        float(plane @ plane), 1e-9
    )
    steps = np.linspace(-1.5 * radius, 1.5 * radius, NEAREST_STEPS)
    at = passing[:, None] + steps
    x, y = lines.basis[:2, missed]
    points = np.stack(
        [np.broadcast_to(x[:, None], at.shape), np.broadcast_to(y[:, None], at.shape), at], axis=2
    )
    found = away(points.reshape(-1, 3)).reshape(at.shape)
    best = found.argmin(axis=1)
    rows = np.arange(len(best))
    return at[rows, best], found[rows, best]


def _patches(away: Away, points: Array, from_z: Array) -> Patches:
    """Patches about the feet of `points` (G, 3) on the surface whose distance is `away`."""
    middle = points
    for _ in range(2):
        slope = _slope(away, middle)
        middle = middle - away(middle)[:, None] * slope
    normal = _slope(away, middle)
    steps = PROBE_MM * np.eye(3)
    bend = np.empty((len(points), 3, 3))
    for i in range(3):
        for j in range(i, 3):
            both = [
                sign * away(middle + one * steps[i] + sign * one * steps[j])
                for one in (1.0, -1.0)
                for sign in (1.0, -1.0)
            ]
            bend[:, i, j] = bend[:, j, i] = sum(both) / (4 * PROBE_MM**2)
    square = np.eye(3) - normal[:, :, None] * normal[:, None, :]
    bend = square @ bend @ square
    curve = np.maximum(np.linalg.eigvalsh(bend)[:, -1], LEAST_CURVE)
    value, vectors = np.linalg.eigh(
        bend + curve[:, None, None] * normal[:, :, None] * normal[:, None, :]
    )
    ways = vectors.transpose(2, 0, 1)
    part = np.einsum("wgi,gi->wg", ways, normal)
    value = value.T
    counts = (abs(value).max(axis=1) > FLAT[0]) | (abs(part).max(axis=1) > FLAT[1])
    return Patches(middle, ways[counts], value[counts], part[counts], curve, from_z)


def _slope(away: Away, points: Array) -> Array:
    steps = PROBE_MM * np.eye(3)
    found = np.stack([away(points + step) - away(points - step) for step in steps], axis=1)
    return np.asarray(found / np.linalg.norm(found, axis=1, keepdims=True))


def _undone(motion: Motion | None) -> tuple[Array, Array]:
    """The displacements' inverses, p' = turn p + move: (N, 3, 3) and (N, 3), mm; N = 1 of none."""
    if motion is None:
        return np.eye(3)[None], np.zeros((1, 3))
    turn = Rotation.from_rotvec(-motion.turn).as_matrix()
    back = np.einsum("nij,nj->ni", turn, motion.pivot + motion.shift)
    return turn, motion.pivot - back


def _terms(turn: Array, move: Array, tube: Array) -> Array:
    """What the parts of a displaced line are linear in: (N, TERMS)."""
    count = max(len(turn), len(tube))
    terms = np.empty((count, TERMS))
    terms[:, :9] = turn.reshape(-1, 9)
    terms[:, 9:15] = tube[:, None] * turn[:, :, :2].reshape(-1, 6)
    terms[:, 15:18] = move
    terms[:, 18] = 1.0
    return terms


def _factors(lines: Lines, patches: Patches) -> Array:
    """(W, TERMS, G): parts of p' - p0 along each way are `_terms` @ factors."""
    spot = lines.at(patches.from_z, 0.0)
    grow = lines.basis[3:].T
    made = []
    for way in patches.ways:
        made.append(
            np.concatenate(
                [
                    (way[:, :, None] * spot[:, None, :]).reshape(-1, 9),
                    (way[:, :, None] * grow[:, None, :]).reshape(-1, 6),
                    way,
                    -(way * patches.middle).sum(axis=1, keepdims=True),
                ],
                axis=1,
            ).T
        )
    return np.array(made)
