"""Where labels stand so that none covers another."""

from functools import cache

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

RINGS, WAYS = 60, 16  # places that are tried around a label's own, nearest first
STEP = 0.5  # from ring to ring, in heights of a label
APART = 0.15  # free room around a label, in heights
DOT = 0.2  # free room around a dot, in heights
NO_DOTS: Array = np.empty((0, 2))
MOST = 200  # labels that anybody could still read


@cache
def _places() -> Array:
    """Offsets (P, 2) to try, in heights of a label, nearest first; above and below before aside."""
    turn = np.pi / 2 + np.arange(WAYS) * (2 * np.pi / WAYS)
    ring = np.arange(1, RINGS + 1)[:, None, None] * STEP
    around = (ring * np.stack([1.6 * np.cos(turn), np.sin(turn)], axis=-1)).reshape(-1, 2)
    around = around[np.argsort(np.linalg.norm(around, axis=1), kind="stable")]
    return np.concatenate([np.zeros((1, 2)), around])


def lay_out(anchors: Array, sizes: Array, box: Array, dots: Array = NO_DOTS) -> Array:
    """Middles (N, 2) of labels of `sizes` (N, 2) as near to their anchors (N, 2) as may be.

    None covers another, or one of the `dots` (D, 2), and none leaves `box` (2, 2), its least and
    greatest corner; earlier labels choose first. nan where there is no room, or no anchor within
    the box.
    """
    middles = np.full((len(anchors), 2), np.nan)
    taken, halves = dots, np.full((len(dots), 2), DOT * sizes[:, 1].max(initial=0.0))
    for k, (anchor, size) in enumerate(zip(anchors, sizes, strict=True)):
        if np.any(anchor < box[0]) or np.any(anchor > box[1]) or len(taken) >= MOST + len(dots):
            continue
        half = size / 2 + APART * size[1]
        tries = anchor + _places() * size[1]
        tries = tries[((tries - half >= box[0]) & (tries + half <= box[1])).all(axis=1)]
        covers = np.abs(tries[:, None] - taken) < half + halves
        free = np.flatnonzero(~covers.all(axis=2).any(axis=1))
        if len(free):
            middles[k] = tries[free[0]]
            taken, halves = np.vstack([taken, middles[k]]), np.vstack([halves, size / 2])
    return middles
