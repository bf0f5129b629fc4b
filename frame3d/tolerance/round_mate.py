"""An endless round cylinder against thousands of set-ups, in closed form.

Against a cylinder a line of the tube has two numbers: its distance s from the cylinder's axis,
measured along the common normal, and the height z0 at which it passes that axis; both are linear in
x and y. With a the angle between the axes,

    first entry       z0 - sqrt(R^2 - s^2) / sin a
    distance at z     sqrt(s^2 + ((z - z0) sin a)^2) - R

which is elementary geometry of two skew lines and of a circle; frame3d.surfaces.cylinder holds
the same physics for one set-up and any direction, and the tests hold the two together.
"""

from dataclasses import dataclass

import numpy as np

from frame3d.surfaces.surface import Array
from frame3d.tolerance.compiled import compiled, lines, number, one, out, out_rows, rows, two
from frame3d.tolerance.mate_shape import Lines, Motion


@dataclass(frozen=True, eq=False)
class Round:
    """point, axis: (3,), mm and unit, in the end's frame; radius: mm. far: (G,) 0, or inf for a
    line that is left to the joint's other tools."""

    point: Array
    axis: Array
    radius: float
    far: Array | None = None

    def entry(
        self,
        lines: Lines,
        tube: Array,
        growth: Array,
        motion: Motion | None = None,
        misses: float = 0.0,
    ) -> Array:
        point, axis = _moved(self.point, self.axis, motion)
        far = np.zeros_like(lines.stop) if self.far is None else self.far
        z = np.empty((len(tube), len(far)))
        _enter(point, axis, lines.basis, tube, self.radius + growth, far, misses, z)
        return z

    def away(self, lines: Lines, tube: Array, z: Array, growth: Array) -> Array:
        away = np.empty_like(z)
        _measure(self.point, self.axis, lines.basis, tube, self.radius + growth, z, away)
        return away

    def steepest(self, lines: Lines, points: Array) -> tuple[Array, Array]:
        away, slope = np.empty(len(points)), np.empty_like(points)
        _lead(self.point, self.axis, self.radius, points, away, slope)
        return away, slope

    def distance(self, points: Array, growth: float, motion: Motion) -> Array:
        point, axis = _moved(self.point, self.axis, motion)
        relative = points - point[0]
        square = relative - np.outer(relative @ axis[0], axis[0])
        return np.asarray(np.linalg.norm(square, axis=1) - self.radius - growth)


def beside(shape: Round, lines: Lines) -> Array:
    """How far each line passes outside a cylinder: (G,), mm, negative for one that enters it."""
    across = np.array([-shape.axis[1], shape.axis[0]]) / np.hypot(*shape.axis[:2])
    return np.asarray(abs((lines.basis[:2].T - shape.point[:2]) @ across) - shape.radius)


def _moved(point: Array, axis: Array, motion: Motion | None) -> tuple[Array, Array]:
    """Point and direction (N, 3) of a displaced axis."""
    if motion is None:
        return point[None], axis[None]
    foot = motion.pivot + turned(point - motion.pivot, motion.turn) + motion.shift
    return foot, turned(axis, motion.turn)


def turned(vector: Array, turn: Array) -> Array:
    """`vector` (3,) turned by each rotation vector `turn` (N, 3): (N, 3)."""
    found = np.empty_like(turn)
    _turn(vector, turn, found)
    return found


def turns(turn: Array) -> Array:
    """The matrices (N, 3, 3) of rotation vectors (N, 3)."""
    return np.stack([turned(one, turn) for one in np.eye(3)], axis=2)


@compiled(one, two, out_rows)
def _turn(vector: Array, turn: Array, found: Array) -> None:
    """Rodrigues' formula."""
    x, y, z = vector
    for n in range(len(turn)):
        a, b, c = turn[n, 0], turn[n, 1], turn[n, 2]
        angle = np.sqrt(a * a + b * b + c * c)
        if angle > 0.0:
            a, b, c = a / angle, b / angle, c / angle
        cosine, sine = np.cos(angle), np.sin(angle)
        along = (a * x + b * y + c * z) * (1.0 - cosine)
        found[n, 0] = x * cosine + (b * z - c * y) * sine + a * along
        found[n, 1] = y * cosine + (c * x - a * z) * sine + b * along
        found[n, 2] = z * cosine + (a * y - b * x) * sine + c * along


@compiled(two, two, rows, one, one, lines, number, out_rows)
def _enter(
    point: Array,
    axis: Array,
    basis: Array,
    tube: Array,
    reach: Array,
    far: Array,
    misses: float,
    z: Array,
) -> None:
    """First entries into cylinders `reach` (N,) in radius, about one axis or N of them."""
    for n in range(len(tube)):
        at = n if len(point) > 1 else 0
        px, py, pz = point[at, 0], point[at, 1], point[at, 2]
        ax, ay, az = axis[at, 0], axis[at, 1], axis[at, 2]
        square = ax * ax + ay * ay
        nx, ny, sx, sy = -ay / square, ax / square, az * ax / square, az * ay / square
        start, height = -(nx * px + ny * py), pz - (sx * px + sy * py)
        grown, most = tube[n], reach[n] * reach[n] / square
        for g in range(len(far)):
            x = basis[0, g] + grown * basis[3, g]
            y = basis[1, g] + grown * basis[4, g]
            s = nx * x + ny * y + start
            left = most - s * s
            root = np.sqrt(left if left > 0.0 else 0.0)
            z[n, g] = sx * x + sy * y + height - root + far[g] + (misses if left < 0.0 else 0.0)


@compiled(one, one, rows, one, one, rows, out_rows)
def _measure(
    point: Array, axis: Array, basis: Array, tube: Array, reach: Array, z: Array, away: Array
) -> None:
    """Distances of the lines' points at z from cylinders `reach` (N,) in radius."""
    px, py, pz = point
    ax, ay, az = axis
    square = ax * ax + ay * ay
    nx, ny, sx, sy = -ay / square, ax / square, az * ax / square, az * ay / square
    start, height = -(nx * px + ny * py), pz - (sx * px + sy * py)
    for n in range(len(tube)):
        grown, less = tube[n], reach[n]
        for g in range(z.shape[1]):
            x = basis[0, g] + grown * basis[3, g]
            y = basis[1, g] + grown * basis[4, g]
            s = nx * x + ny * y + start
            rise = z[n, g] - (sx * x + sy * y + height)
            away[n, g] = np.sqrt((s * s + rise * rise) * square) - less


@compiled(one, one, number, rows, out, out_rows)
def _lead(
    point: Array, axis: Array, radius: float, points: Array, away: Array, slope: Array
) -> None:
    """Distances of points from a cylinder, and the directions away from its axis."""
    ax, ay, az = axis
    for p in range(len(points)):
        x, y, z = points[p, 0] - point[0], points[p, 1] - point[1], points[p, 2] - point[2]
        along = ax * x + ay * y + az * z
        x, y, z = x - along * ax, y - along * ay, z - along * az
        size = np.sqrt(x * x + y * y + z * z)
        away[p] = size - radius
        slope[p, 0], slope[p, 1], slope[p, 2] = x / size, y / size, z / size
