"""How far a finished end reaches along its tube's axis: its long side and its short side."""

import numpy as np

from frame3d.surfaces.cope import Cope
from frame3d.surfaces.extremes import Peak, largest
from frame3d.surfaces.surface import Array


def tip(cope: Cope) -> Peak:
    """The farthest point of a finished end; -inf where nothing is shaped."""

    def forward(theta: Array, depth: Array) -> Array:
        stop = cope.position(theta, depth)
        return np.where(np.isfinite(stop), stop, -np.inf)

    return largest(forward, cope.theta, cope.depth)


def throat(cope: Cope) -> Peak:
    """The deepest point of a finished end, as a peak of its negative position."""

    def back(theta: Array, depth: Array) -> Array:
        stop = cope.position(theta, depth)
        return np.where(np.isfinite(stop), -stop, -np.inf)

    return largest(back, cope.theta, cope.depth)
