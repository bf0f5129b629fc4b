"""The seat that a hand-held fit-up finds: the small rigid motion with the least worst gap.

The worst gap over a small motion is a minimax: with the distances d of the end's points and their
slopes J against the six freedoms x, minimise g so that 0 <= d + J x <= g. That is a linear
programme; a few rounds, each about the place that the last one found, settle it.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy.optimize import linprog
from scipy.spatial.transform import Rotation

from frame3d.fit.budget.cut import Cut, cut
from frame3d.fit.budget.errors import Values, setups_of
from frame3d.fit.budget.target import Target
from frame3d.surfaces.surface import Array
from frame3d.tables import row

ROUNDS = 5
SETTLED_MM = 1e-5
FREE_MM = 10.0  # along the axis a tube may go as far as it needs


@dataclass(frozen=True, eq=False)
class HandFit:
    """gap: the least worst gap, mm; motion (6,): shift, mm, then turn, radians, in the end's
    frame, from the seat on the nominal axis."""

    gap: float
    motion: Array


def hand_fit(done: Cut, which: int) -> HandFit:
    """The best seat of set-up `which`; never worse than the seat on the nominal axis."""
    target = done.target
    points = target.lines.at(done.stop[which] + done.seat[which], done.setups.tube[which])
    pivot = target.pivots[0]
    room = _freedom()
    motion = np.zeros(6)
    best = HandFit(float(_distances(done, which, points)[0].max()), motion)
    for _ in range(ROUNDS):
        moved = _moved(points, pivot, motion)
        distance, slope = _distances(done, which, moved)
        rows = np.concatenate([slope, np.cross(moved - pivot, slope)], axis=1)
        step = _step(distance, rows, -room - motion, room - motion)
        if step is None:
            break
        motion = motion + step
        # What the linear programme left inside the mate, by curvature, is slid out along the axis.
        motion[2] += _slide_out(done, which, _moved(points, pivot, motion))
        gap = float(_distances(done, which, _moved(points, pivot, motion))[0].max())
        gained = best.gap - gap
        if gained > 0:
            best = HandFit(gap, motion.copy())
        if abs(gained) < SETTLED_MM:
            break
    return best


def _freedom() -> Array:
    shift, turn, roll = (
        float(row("hand_fit", name)["value"]) for name in ("shift", "turn", "roll")
    )
    return np.array([shift, shift, FREE_MM, *np.radians([turn, turn, roll])])


def _step(distance: Array, rows: Array, low: Array, high: Array) -> Array | None:
    upper = np.concatenate([rows, -np.ones((len(rows), 1))], axis=1)
    lower = np.concatenate([-rows, np.zeros((len(rows), 1))], axis=1)
    found = linprog(
        np.array([0.0] * 6 + [1.0]),
        A_ub=np.concatenate([upper, lower]),
        b_ub=np.concatenate([-distance, distance]),
        bounds=[*zip(low, high, strict=True), (0.0, None)],
        method="highs",
    )
    return np.asarray(found.x[:6]) if found.status == 0 else None


def _moved(points: Array, pivot: Array, motion: Array) -> Array:
    matrix = Rotation.from_rotvec(motion[3:]).as_matrix()
    return np.asarray((points - pivot) @ matrix.T + pivot + motion[:3])


def _distances(done: Cut, which: int, points: Array) -> tuple[Array, Array]:
    """Distance (G,) to the nearest mate, and its direction of growth (G, 3)."""
    target = done.target
    grown = done.setups.mate[which]
    every = [mate.steepest(target.lines, points) for mate in target.mates]
    distances = np.array([away - by for (away, _), by in zip(every, grown, strict=True)])
    slopes = np.array([slope for _, slope in every])
    pick = distances.argmin(axis=0), np.arange(len(points))
    return distances[pick], slopes[pick]


def _slide_out(done: Cut, which: int, points: Array) -> float:
    """How far the end must slide along its axis, mm, negative to go back, until it just touches."""
    slide = 0.0
    for _ in range(4):
        distance, slope = _distances(done, which, np.add(points, [0.0, 0.0, slide]))
        deep = distance < 0
        if not deep.any():
            break
        slide -= float((distance[deep] / np.minimum(slope[deep, 2], -0.05)).max())
    return slide


def hand_gaps(
    target: Target, values: Values, count: int, done: Callable[[], None] = lambda: None
) -> Array:
    """Worst gaps (N,), mm, of the first `count` set-ups after a hand-held fit-up; `done` hears of
    each."""
    first = {name: value[:count] for name, value in values.items()}
    cuts = cut(target, setups_of(target, first, count))
    gaps = np.empty(count)
    for which in range(count):
        gaps[which] = hand_fit(cuts, which).gap
        done()
    return gaps
