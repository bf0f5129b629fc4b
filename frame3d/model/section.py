"""Where the metal of a tube stands about its axis."""

import numpy as np
from numpy.typing import NDArray

from frame3d.model.tube import Tube

Array = NDArray[np.float64]


def lateral(tube: Tube, station: Array, theta: Array, depth: float | Array) -> Array:
    """Offsets (N, 2) from the axis, along the datum and the side direction, mm.

    station: distance from the tube's start, mm
    theta:   angle from the datum, right-handed about start to end, radians
    depth:   0 at the bore, 1 at the outside
    """
    wall = tube.wall(station)
    radius = tube.od(station) / 2 - (1 - np.asarray(depth)) * wall
    theta = np.asarray(theta)
    return np.stack([radius * np.cos(theta), radius * np.sin(theta)], axis=-1)
