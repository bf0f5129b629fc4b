"""The largest value of a function around an end face, found on a grid and then closed in on."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from frame3d.surfaces.surface import Array

FaceFunction = Callable[[Array, Array], Array]

CANDIDATES = 4  # local maxima worth closing in on
SAME_MM = 1e-6
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

    theta (T,): equal steps once around; depth (D,): rising steps between the two edges, or a
    single depth to stay on one edge. Values of -inf mark points that do not count; a peak of
    -inf means that none does. values: the function's on that grid, where they are known.
    """
    grid_theta, grid_depth = (g.ravel() for g in np.meshgrid(theta, depth, indexing="ij"))
    values = function(grid_theta, grid_depth) if values is None else values
    best = _local_maxima(values.reshape(len(theta), len(depth)))[:CANDIDATES]
    at_theta, at_depth, at_value = grid_theta[best], grid_depth[best], values[best]
    step_theta = theta[1] - theta[0]
    step_depth = depth[1] - depth[0] if len(depth) > 1 else 0.0
    offsets = np.meshgrid(WINDOW, WINDOW if step_depth else [0.0], indexing="ij")
    around_theta, around_depth = (o.ravel() for o in offsets)
    for shrink in 0.25 ** np.arange(ROUNDS):
        near_theta = at_theta[:, None] + around_theta * step_theta * shrink
        near_depth = np.clip(
            at_depth[:, None] + around_depth * step_depth * shrink, depth[0], depth[-1]
        )
        near = function(near_theta.ravel(), near_depth.ravel()).reshape(near_theta.shape)
        pick = (np.arange(len(best)), near.argmax(axis=1))
        at_theta, at_depth, at_value = near_theta[pick], near_depth[pick], near[pick]
    # Of equal peaks, as symmetry makes them, the one at the least angle is told.
    at_theta = at_theta % (2 * np.pi)
    equal = np.flatnonzero(at_value >= at_value.max() - SAME_MM)
    top = int(equal[at_theta[equal].argmin()])
    return Peak(float(at_value[top]), float(at_theta[top]), float(at_depth[top]))


def _local_maxima(values: Array) -> Array:
    """Flat indices of values no smaller than their neighbours around and across, largest first."""
    padded = np.pad(values, ((0, 0), (1, 1)), constant_values=-np.inf)
    across = np.maximum(padded[:, :-2], padded[:, 2:])
    around = np.maximum(np.roll(values, 1, axis=0), np.roll(values, -1, axis=0))
    flat = np.flatnonzero(values >= np.maximum(across, around))
    return np.asarray(flat[np.argsort(-values.ravel()[flat], kind="stable")])
