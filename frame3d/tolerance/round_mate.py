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
from frame3d.tolerance.mate_shape import Lines, Motion, product


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
        misses: float | None = None,
    ) -> Array:
        point, axis = _moved(self.point, self.axis, motion)
        root, z, sine = _against(lines, point, axis, tube)
        root *= root
        np.subtract(((self.radius + growth) / sine[:, 0])[:, None] ** 2, root, out=root)
        missed = root < 0 if misses is not None else None
        np.maximum(root, 0.0, out=root)
        np.sqrt(root, out=root)
        z -= root
        if missed is not None and missed.any():
            z[missed] = misses
        if self.far is not None:
            z += self.far
        return z

    def away(self, lines: Lines, tube: Array, z: Array, growth: Array) -> Array:
        across, z0, sine = _against(lines, self.point[None], self.axis[None], tube)
        across *= across
        away = np.subtract(z, z0, out=z0)
        away *= away
        away += across
        np.sqrt(away, out=away)
        away *= sine
        away -= (self.radius + growth)[:, None]
        return away

    def steepest(self, lines: Lines, points: Array) -> tuple[Array, Array]:
        relative = points - self.point
        square = relative - np.outer(relative @ self.axis, self.axis)
        size = np.linalg.norm(square, axis=1)
        return size - self.radius, square / size[:, None]

    def distance(self, points: Array, growth: float, motion: Motion) -> Array:
        point, axis = _moved(self.point, self.axis, motion)
        relative = points - point[0]
        square = relative - np.outer(relative @ axis[0], axis[0])
        return np.asarray(np.linalg.norm(square, axis=1) - self.radius - growth)


def beside(shape: Round, lines: Lines) -> Array:
    """How far each line passes outside a cylinder: (G,), mm, negative for one that enters it."""
    s, _, sine = _against(lines, shape.point[None], shape.axis[None], np.zeros(1))
    return np.asarray(abs(s[0]) * sine[0] - shape.radius)


def _moved(point: Array, axis: Array, motion: Motion | None) -> tuple[Array, Array]:
    """Point and direction (N, 3) of a displaced axis."""
    if motion is None:
        return point[None], axis[None]
    foot = motion.pivot + turned(point - motion.pivot, motion.turn) + motion.shift
    return foot, turned(axis, motion.turn)


def turned(vector: Array, turn: Array) -> Array:
    """`vector` (3,) turned by each rotation vector `turn` (N, 3): (N, 3), by Rodrigues' formula."""
    angle = np.linalg.norm(turn, axis=1)[:, None]
    axis = np.divide(turn, angle, out=np.zeros_like(turn), where=angle > 0)
    along = axis @ vector
    return np.asarray(
        vector * np.cos(angle)
        + (axis @ _crossing(vector)) * np.sin(angle)
        + axis * along[:, None] * (1 - np.cos(angle))
    )


def turns(turn: Array) -> Array:
    """The matrices (N, 3, 3) of rotation vectors (N, 3)."""
    return np.stack([turned(one, turn) for one in np.eye(3)], axis=2)


def _crossing(vector: Array) -> Array:
    """The matrix M (3, 3) for which a @ M is a x vector."""
    x, y, z = vector
    return np.array([[0.0, -z, y], [z, 0.0, -x], [-y, x, 0.0]])


def _against(lines: Lines, point: Array, axis: Array, tube: Array) -> tuple[Array, Array, Array]:
    """Each line against a cylinder: s / sin a (N, G), z0 (N, G), mm, and sin a (N, 1)."""
    sine = np.hypot(axis[:, 0], axis[:, 1])[:, None]
    normal = np.stack([-axis[:, 1], axis[:, 0]], axis=1) / sine**2
    slope = axis[:, 2:] * axis[:, :2] / sine**2
    s = _on_lines(lines, normal, -np.einsum("ni,ni->n", normal, point[:, :2]), tube)
    z0 = _on_lines(lines, slope, point[:, 2] - np.einsum("ni,ni->n", slope, point[:, :2]), tube)
    return s, z0, sine


def _on_lines(lines: Lines, factor: Array, constant: Array, tube: Array) -> Array:
    """factor . (x, y) + constant for each set-up and line: (N, G)."""
    n = max(len(factor), len(tube))
    terms = np.empty((n, 5))
    terms[:, :2] = factor
    terms[:, 2] = constant
    terms[:, 3:] = factor * tube[:, None]
    return product(terms, lines.basis)
