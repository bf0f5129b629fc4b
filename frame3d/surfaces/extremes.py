"""The largest value of a function around an end face, found on a grid and then closed in on."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from frame3d.surfaces.surface import Array

FaceFunction = Callable[[Array, Array], Array]

CANDIDATES = 4  # local maxima worth closing in on
SAME_MM = 1e-6
FLAT_MM = 1e-10  # values around a peak that differ by less hold no higher one worth a round
ROUNDS = 9  # each shrinks the window to a quarter: 1 degree becomes 4e-6
WINDOW = np.linspace(-1.0, 1.0, 9)


@dataclass(frozen=True)
class Peak:
    """value: what was found; theta: radians; depth: 0 at the bore, 1 at the outside."""

    value: float
    theta: float
    depth: float


def largest(
    function: FaceFunction, theta: Array, depth: Array, values: Array | None = None
) -> Peak:
    """The largest value of `function(theta (N,), depth (N,)) -> (N,)` over the whole end face.

    theta (T,): equal steps once around; depth (D,): rising steps between the two edges. Values of
    -inf mark points that do not count; a peak of -inf means that none does. values: (T D,), the
    function's on that grid, where they are known.
    """
    return _peaks(function, theta, depth, values, [slice(None)])[0]


def largest_on_edges(
    function: FaceFunction, theta: Array, depth: Array, values: Array
) -> tuple[Peak, Peak, Peak]:
    """`largest` over the whole end face, along its last depth alone, and along its first."""
    whole, outer, inner = _peaks(
        function, theta, depth, values, [slice(None), slice(-1, None), slice(0, 1)]
    )
    return whole, outer, inner


def _peaks(
    function: FaceFunction,
    theta: Array,
    depth: Array,
    values: Array | None,
    bands: list[slice],
) -> list[Peak]:
    """The largest value in each of some bands of the depths. All are closed in on together, since
    one call with many points costs little more than one with few."""
    if values is None:
        values = function(*(grid.ravel() for grid in np.meshgrid(theta, depth, indexing="ij")))
    grid = values.reshape(len(theta), len(depth))
    windows = [_Window.over(grid[:, band], theta, depth[band]) for band in bands]
    counts = np.cumsum([window.size for window in windows])[:-1]
    for shrink in 0.25 ** np.arange(ROUNDS):
        near = [window.around(shrink) for window in windows]
        found = function(*(np.concatenate(of) for of in zip(*near, strict=True)))
        closed = [
            window.closes_in_on(*points, own)
            for window, points, own in zip(windows, near, np.split(found, counts), strict=True)
        ]
        if all(closed):
            break
    return [window.peak() for window in windows]


class _Window:
    """The best few points so far of one band, each with the points around it to look at next."""

    def __init__(self, theta: Array, depth: Array, value: Array, step: float, depths: Array):
        self.theta, self.depth, self.value = theta, depth, value
        self.low, self.high = float(depths[0]), float(depths[-1])
        step_depth = depths[1] - depths[0] if len(depths) > 1 else 0.0
        offsets = np.meshgrid(WINDOW, WINDOW if step_depth else [0.0], indexing="ij")
        self.around_theta, self.around_depth = (
            offset.ravel() * by for offset, by in zip(offsets, (step, step_depth), strict=True)
        )
        self.size = len(value) * len(self.around_theta)

    @classmethod
    def over(cls, values: Array, theta: Array, depth: Array) -> "_Window":
        """From values (T, D) on a grid."""
        best = _local_maxima(values)[:CANDIDATES]
        i, k = np.unravel_index(best, values.shape)
        return cls(theta[i], depth[k], values.ravel()[best], theta[1] - theta[0], depth)

    def around(self, shrink: float) -> tuple[Array, Array]:
        """Angles and depths (N,) of the points to look at."""
        theta = self.theta[:, None] + self.around_theta * shrink
        depth = self.depth[:, None] + self.around_depth * shrink
        return theta.ravel(), depth.clip(self.low, self.high).ravel()

    def closes_in_on(self, theta: Array, depth: Array, value: Array) -> bool:
        """Go to the best of the points around each; whether all around it is as high already."""
        rows = value.reshape(len(self.value), -1)
        pick = np.arange(len(rows)) * rows.shape[1] + rows.argmax(axis=1)
        self.theta, self.depth, self.value = theta[pick], depth[pick], value[pick]
        with np.errstate(invalid="ignore"):  # of points that do not count
            return bool(np.all(rows.max(axis=1) - rows.min(axis=1) < FLAT_MM))

    def peak(self) -> Peak:
        # Of equal peaks, as symmetry makes them, the one at the least angle is told.
        theta = self.theta % (2 * np.pi)
        equal = np.flatnonzero(self.value >= self.value.max() - SAME_MM)
        top = int(equal[theta[equal].argmin()])
        return Peak(float(self.value[top]), float(theta[top]), float(self.depth[top]))


def _local_maxima(values: Array) -> NDArray[np.int64]:
    """Flat indices of values no smaller than their neighbours around and across, largest first."""
    padded = np.pad(values, ((0, 0), (1, 1)), constant_values=-np.inf)
    across = np.maximum(padded[:, :-2], padded[:, 2:])
    around = np.maximum(np.roll(values, 1, axis=0), np.roll(values, -1, axis=0))
    flat = np.flatnonzero(values >= np.maximum(across, around))
    return np.asarray(flat[np.argsort(-values.ravel()[flat], kind="stable")], np.int64)
