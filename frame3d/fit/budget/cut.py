"""Ends cut by displaced tools, thousands at a time, seated on the nominal axis and measured.

A line of the tube is at (x, y) and runs along z. Against an endless cylinder it has two numbers:
its distance s from the cylinder's axis, measured along the common normal, and the height z0 at
which it passes that axis; both are linear in x and y. With a the angle between the axes,

    first entry       z0 - sqrt(R^2 - s^2) / sin a
    distance at z     sqrt(s^2 + ((z - z0) sin a)^2) - R

which is elementary geometry of two skew lines and of a circle; frame3d.surfaces.cylinder holds
the same physics for one set-up and any direction, and the tests hold the two together.
"""

from dataclasses import dataclass

import numpy as np

from frame3d.fit.budget.target import Round, Target
from frame3d.surfaces.surface import Array


@dataclass(frozen=True, eq=False)
class Setups:
    """N displaced set-ups of a joint with K mates.

    turn:   (N, K, 3) how each tool is turned about its pivot, radians, in the end's frame
    shift:  (N, K, 3) how far it is moved, mm
    tool:   (N, K) growth of the tool's radius, mm
    mate:   (N, K) growth of the mate's radius, mm
    tube:   (N,) growth of the tube's radius, mm; its wall stays
    ripple: (N, T) metal left proud along the axis by angle, mm, or None
    """

    turn: Array
    shift: Array
    tool: Array
    mate: Array
    tube: Array
    ripple: Array | None = None

    def __len__(self) -> int:
        return len(self.tube)

    def part(self, which: slice) -> "Setups":
        ripple = None if self.ripple is None else self.ripple[which]
        return Setups(
            self.turn[which],
            self.shift[which],
            self.tool[which],
            self.mate[which],
            self.tube[which],
            ripple,
        )


@dataclass(frozen=True, eq=False)
class Cut:
    """N cut ends. stop: (N, G) where each line's metal stops, mm along z, at the nominal setting.
    seat: (N,) the slide, beyond the nominal one, to the first touch."""

    target: Target
    setups: Setups
    stop: Array
    seat: Array

    def gap(self, short: Array | float = 0.0) -> Array:
        """Widest gap (N,), mm, of the ends seated, and then drawn back by `short` (N,), mm."""
        return _peak(self.gaps(short), self.target)

    def gaps(self, short: Array | float = 0.0) -> Array:
        """The same at every line: (N, G), mm."""
        z = self.stop + (self.seat - short)[:, None]
        widest = np.full(z.shape, np.inf)
        for k in range(len(self.target.sawn)):
            s, z0, sine = _against(self.target, _mate(self.target.mates, k), self.setups.tube)
            q = z - z0
            q *= sine
            q *= q
            q += s * s
            np.sqrt(q, out=q)
            q -= self.target.mates.radius[k] + self.setups.mate[:, k, None]
            np.minimum(widest, q, out=widest)
        return widest


def cut(target: Target, setups: Setups) -> Cut:
    """Cut and seat N ends."""
    stop: Array | None = None
    for k in range(len(target.sawn)):
        stop = _least(stop, _entry(target, displaced(target, setups, k), setups.tube))
    assert stop is not None
    if setups.ripple is not None:
        stop += np.repeat(setups.ripple, len(target.depth), axis=1)
    return seated(target, setups, stop)


def seated(target: Target, setups: Setups, stop: Array) -> Cut:
    """Ends of any shape `stop` (N, G), slid along the axis to their first touch."""
    return Cut(target, setups, stop, -_peak(stop - met(target, setups), target))


def met(target: Target, setups: Setups) -> Array:
    """Where each line would first touch a mate: (N, G), mm along z; inf where it misses them."""
    found: Array | None = None
    for k in range(len(target.sawn)):
        mate = _mate(target.mates, k)
        grown = Round(mate.point, mate.axis, mate.radius + setups.mate[:, k])
        found = _least(found, _entry(target, grown, setups.tube, misses=np.inf))
    assert found is not None
    return found


def _mate(mates: Round, k: int) -> Round:
    return Round(mates.point[k : k + 1], mates.axis[k : k + 1], mates.radius[k : k + 1])


def displaced(target: Target, setups: Setups, k: int) -> Round:
    """Tool k where each set-up has it: turned about its pivot, then moved."""
    turn, pivot = setups.turn[:, k], target.pivots[k]
    return Round(
        pivot + _turned(target.tools.point[k] - pivot, turn) + setups.shift[:, k],
        _turned(target.tools.axis[k], turn),
        target.tools.radius[k] + setups.tool[:, k],
    )


def _turned(vector: Array, turn: Array) -> Array:
    """`vector` (3,) turned by each rotation vector `turn` (N, 3): (N, 3), by Rodrigues' formula.

    The end's frame is left-handed at a tube's start; turns are told in it all the same, by the
    same formula in its own coordinates.
    """
    angle = np.linalg.norm(turn, axis=1)[:, None]
    axis = np.divide(turn, angle, out=np.zeros_like(turn), where=angle > 0)
    along = axis @ vector
    return np.asarray(
        vector * np.cos(angle)
        + np.cross(axis, vector) * np.sin(angle)
        + axis * along[:, None] * (1 - np.cos(angle))
    )


def _against(target: Target, round_: Round, tube: Array) -> tuple[Array, Array, Array]:
    """Each line against a cylinder: s (N, G), z0 (N, G), mm, and sin a (N, 1)."""
    axis, point = round_.axis, round_.point
    sine = np.hypot(axis[:, 0], axis[:, 1])[:, None]
    normal = np.stack([-axis[:, 1], axis[:, 0]], axis=1) / sine
    slope = axis[:, 2:] * axis[:, :2] / sine**2
    s = _on_lines(target, normal, -np.einsum("ni,ni->n", normal, point[:, :2]), tube)
    z0 = _on_lines(target, slope, point[:, 2] - np.einsum("ni,ni->n", slope, point[:, :2]), tube)
    return s, z0, sine


def _on_lines(target: Target, factor: Array, constant: Array, tube: Array) -> Array:
    """factor . (x, y) + constant for each set-up and line: (N, G)."""
    n = max(len(factor), len(tube))
    terms = np.empty((n, 5))
    terms[:, :2] = factor
    terms[:, 2] = constant
    terms[:, 3:] = factor * tube[:, None]
    return np.asarray(terms @ target.lines)


def _entry(target: Target, round_: Round, tube: Array, misses: float | None = None) -> Array:
    """First entry (N, G). A line that misses the cylinder stops where it passes the axis - the fin
    that a saw leaves beside itself is broken off there - unless `misses` says what it gets."""
    s, z0, sine = _against(target, round_, tube)
    root = np.multiply(s, s, out=s)
    np.subtract((round_.radius**2)[:, None], root, out=root)
    missed = root < 0 if misses is not None else None
    np.maximum(root, 0.0, out=root)
    np.sqrt(root, out=root)
    root /= sine
    z0 -= root
    if missed is not None and missed.any():
        z0[missed] = misses
    return z0


def _least(so_far: Array | None, new: Array) -> Array:
    return new if so_far is None else np.minimum(so_far, new, out=so_far)


def _peak(values: Array, target: Target) -> Array:
    """Largest of `values` (N, T * D) over the end face, between angles by a parabola: (N,)."""
    rows, lines = np.arange(len(values)), values.shape[1]
    best = values.argmax(axis=1)
    top = values[rows, best]
    step = len(target.depth)
    before, after = values[rows, best - step], values[rows, (best + step) % lines]
    with np.errstate(invalid="ignore", divide="ignore"):
        curve = before - 2 * top + after
        rise = np.where(curve < 0, -((after - before) ** 2) / (8 * curve), 0.0)
    return np.asarray(top + np.where(np.isfinite(rise), rise, 0.0))
