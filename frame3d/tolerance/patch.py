"""A surface that is not a round cylinder - tapered, oval, bent - against thousands of set-ups.

Set-ups move an end by tenths of a millimetre, so that all that counts of the surface is a patch
around each of the tube's lines. With n its normal at the patch's middle p0, H its curvature there
(the second derivative of the signed distance d) and c its greater principal curvature,

    F(p) = n.(p - p0) + (p - p0).(H + c n n).(p - p0) / 2  =  d + c d^2 / 2

which is exact on a round cylinder, and on any smooth surface up to third order: over a millimetre
it is off by about a sixth of how much the curvature changes over that millimetre. Along a line F is
a quadratic, in closed form as the cylinder's is. Exact distances and entries at the middle come
from the surface itself; tolerance.exact holds both together.
"""

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from frame3d.model import EndFrame
from frame3d.surfaces.surface import Array, Surface
from frame3d.tolerance.compiled import blocks, compiled, lines, number, one, out_rows, rows, two
from frame3d.tolerance.mate_shape import Lines, Motion, product
from frame3d.tolerance.round_mate import turns

Away = Callable[[Array], Array]  # signed distance of points in the end's frame

PROBE_MM = 0.05  # over which slopes and curvatures are taken
LEAST_CURVE = 1e-4  # 1/mm, so that nothing is divided by a flat
FLAT = 1e-5  # 1/mm: a direction in which no line's patch bends more is left out
STRAIGHT = 1e-7  # 1/mm: a single line's patch that bends less is taken as straight
NEAREST_STEPS = 129  # along a line that misses the surface
TERMS = 19


@dataclass(frozen=True, eq=False)
class Patches:
    """One patch for each of G lines, as squares: 2 F = sum of signs q^2 - level, where each q is
    linear in p and the part of n is in the q along it.

    middle: (G, 3) p0; ways: (W, G, 3) the slopes of q; at_middle: (W, G) q there; signs: (W, G);
    level: (G,); curve: (G,) c, 1/mm; from_z: (G,) heights from which z is counted, mm
    """

    middle: Array
    ways: Array
    at_middle: Array
    signs: Array
    level: Array
    curve: Array
    from_z: Array

    @cached_property
    def slopes(self) -> Array:
        """The same as `ways`, the three of a direction apart: (W, 3, G)."""
        return np.ascontiguousarray(self.ways.transpose(0, 2, 1))

    def distance(self, squares: Array) -> Array:
        """Distance (..., G), mm, where the squares sum up to this."""
        squares -= self.level
        squares *= self.curve
        squares += 1.0
        np.maximum(squares, 0.0, out=squares)
        np.sqrt(squares, out=squares)
        squares -= 1.0
        squares /= self.curve
        return squares


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
    enter_still: Array
    near_still: Array
    far: Array | None = None

    def entry(
        self,
        lines: Lines,
        tube: Array,
        growth: Array,
        motion: Motion | None = None,
        misses: float = 0.0,
    ) -> Array:
        patches = self.enter
        if motion is None:
            terms, factors = _still_terms(tube), self.enter_still
            along = np.array([[0.0, 0.0, 1.0]])
        else:
            turn, move = _undone(motion)
            terms, factors = _terms(turn, move, tube), self.factors
            along = turn[:, :, 2]
        parts = np.array([product(terms, factor) for factor in factors])
        far = np.zeros_like(patches.from_z) if self.far is None else self.far
        z = np.empty((len(tube), len(far)))
        slopes, signs, level, curve = patches.slopes, patches.signs, patches.level, patches.curve
        _enter(parts, along, slopes, signs, level, curve, growth, patches.from_z + far, misses, z)
        return z

    def away(self, lines: Lines, tube: Array, z: Array, growth: Array) -> Array:
        patches, away = self.near, np.empty_like(z)
        slopes, signs, level, curve = patches.slopes, patches.signs, patches.level, patches.curve
        _measure(
            self.near_still, tube, z, slopes, signs, level, curve, growth, patches.from_z, away
        )
        return away

    def steepest(self, lines: Lines, points: Array) -> tuple[Array, Array]:
        patches = self.near
        part = patches.at_middle + ((points - patches.middle) * patches.ways).sum(axis=2)
        rise = part * patches.signs
        direction = np.einsum("wg,wgi->gi", rise, patches.ways)
        away = patches.distance((part * rise).sum(axis=0))
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
    factors = _factors(lines, enter)
    made = Patched(
        surface,
        frame,
        lift,
        point,
        direction,
        radius,
        enter,
        near,
        factors,
        enter_still=_still(factors),
        near_still=_still(_factors(lines, near)),
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
    counts = abs(value).max(axis=1) > FLAT
    return _as_squares(middle, ways[counts], value[counts], part[counts], curve, from_z)


def _as_squares(
    middle: Array, ways: Array, bend: Array, slope: Array, curve: Array, from_z: Array
) -> Patches:
    """Patches that bend by `bend` (W, G) along unit `ways`, with the normal's part `slope` along
    each, their squares completed: slope x + bend x^2 / 2 = ((bend x + slope)^2 - slope^2) / 2 bend.
    The normal is itself such a way, which bends by `curve`: where none bends none slopes."""
    root = np.where(abs(bend) > STRAIGHT, np.sqrt(abs(bend)), np.inf)
    signs = np.sign(bend)
    scale = abs(bend) / root
    at_middle = signs * slope / root
    level = (signs * at_middle**2).sum(axis=0)
    return Patches(middle, ways * scale[:, :, None], at_middle, signs, level, curve, from_z)


def _slope(away: Away, points: Array) -> Array:
    steps = PROBE_MM * np.eye(3)
    found = np.stack([away(points + step) - away(points - step) for step in steps], axis=1)
    return np.asarray(found / np.linalg.norm(found, axis=1, keepdims=True))


def _undone(motion: Motion) -> tuple[Array, Array]:
    """The displacements' inverses, p' = turn p + move: (N, 3, 3) and (N, 3), mm."""
    turn = turns(-motion.turn)
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


def _still_terms(tube: Array) -> Array:
    return np.stack([np.ones_like(tube), tube], axis=1)


def _factors(lines: Lines, patches: Patches) -> Array:
    """(W, TERMS, G): q along each way of a displaced line, at its from_z, is `_terms` @ factors."""
    spot = lines.at(patches.from_z, 0.0)
    grow = lines.basis[3:].T
    made = []
    for way, at_middle in zip(patches.ways, patches.at_middle, strict=True):
        made.append(
            np.concatenate(
                [
                    (way[:, :, None] * spot[:, None, :]).reshape(-1, 9),
                    (way[:, :, None] * grow[:, None, :]).reshape(-1, 6),
                    way,
                    (at_middle - (way * patches.middle).sum(axis=1))[:, None],
                ],
                axis=1,
            ).T
        )
    return np.array(made)


def _still(factors: Array) -> Array:
    """(W, 2, G): the same for a surface that is not displaced, as `_still_terms` @ it."""
    thin, grown = (_terms(np.eye(3)[None], np.zeros((1, 3)), np.array([by])) for by in (0.0, 1.0))
    return np.concatenate([thin @ factors, (grown - thin) @ factors], axis=1)


@compiled(blocks, two, blocks, rows, lines, lines, one, lines, number, out_rows)
def _enter(
    parts: Array,
    along: Array,
    slopes: Array,
    signs: Array,
    level: Array,
    curve: Array,
    growth: Array,
    from_z: Array,
    misses: float,
    z: Array,
) -> None:
    """Where 2 F = bend t^2 + 2 rate t + value first is 0, at t = z - from_z. parts: (W, N, G) the q
    at from_z; along: (1 or N, 3) the lines' direction."""
    count = len(level)
    value, rate, bend = np.empty(count), np.empty(count), np.empty(count)
    for n in range(len(growth)):
        at = n if len(along) > 1 else 0
        ax, ay, az = along[at, 0], along[at, 1], along[at, 2]
        more = growth[n]
        for g in range(count):
            value[g] = -(level[g] + more * (2.0 + more * curve[g]))
            rate[g] = bend[g] = 0.0
        for w in range(len(parts)):
            for g in range(count):
                part = parts[w, n, g]
                step = ax * slopes[w, 0, g] + ay * slopes[w, 1, g] + az * slopes[w, 2, g]
                signed = step * signs[w, g]
                bend[g] += signed * step
                rate[g] += signed * part
                value[g] += signs[w, g] * part * part
        for g in range(count):
            left = rate[g] * rate[g] - bend[g] * value[g]
            root = np.sqrt(left if left > 0.0 else 0.0)
            # The root where it does not cancel, or where the line comes nearest.
            ahead = value[g] / (root - rate[g])
            behind = -(rate[g] + root) / max(bend[g], 2e-12)
            t = ahead if rate[g] < 0.0 and left >= 0.0 else behind
            z[n, g] = t + from_z[g] + (misses if left < 0.0 else 0.0)


@compiled(blocks, one, rows, blocks, rows, lines, lines, one, lines, out_rows)
def _measure(
    still: Array,
    tube: Array,
    z: Array,
    slopes: Array,
    signs: Array,
    level: Array,
    curve: Array,
    growth: Array,
    from_z: Array,
    away: Array,
) -> None:
    """Distances of the lines' points at z; still: (W, 2, G) the q at from_z, and what the tube's
    growth adds."""
    for n in range(len(growth)):
        for g in range(len(level)):
            away[n, g] = 0.0
        for w in range(len(slopes)):
            for g in range(len(level)):
                part = still[w, 0, g] + tube[n] * still[w, 1, g]
                part += (z[n, g] - from_z[g]) * slopes[w, 2, g]
                away[n, g] += signs[w, g] * part * part
        for g in range(len(level)):
            square = 1.0 + curve[g] * (away[n, g] - level[g])
            away[n, g] = (np.sqrt(square if square > 0.0 else 0.0) - 1.0) / curve[g] - growth[n]
