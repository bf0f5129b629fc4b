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

    The wall of an oval is measured square to its outside: all depths at one theta stand on the
    normal at the outside's point, and that point is at theta.
    """
    inward = (1 - np.asarray(depth)) * tube.wall(station)
    theta = np.asarray(theta)
    if tube.oval is None:
        radius = tube.od(station) / 2 - inward
        return np.stack([radius * np.cos(theta), radius * np.sin(theta)], axis=-1)
    turn = np.radians(tube.oval.angle)
    a, b = tube.od(station) / 2, tube.oval.across(station) / 2
    cos, sin = np.cos(theta - turn), np.sin(theta - turn)
    radius = 1 / np.hypot(cos / a, sin / b)
    x, y = radius * cos, radius * sin
    normal = np.hypot(x / a**2, y / b**2)
    x, y = x - inward * x / a**2 / normal, y - inward * y / b**2 / normal
    cos, sin = np.cos(turn), np.sin(turn)
    return np.stack([x * cos - y * sin, x * sin + y * cos], axis=-1)


def theta_at(tube: Tube, station: Array, eccentric: Array) -> Array:
    """Angles from the datum (N,), radians, of the outside's points at eccentric angles (N,).

    Along a fixed eccentric angle the outside runs straight where od and oval change evenly. On a
    round tube the two angles are the same.
    """
    if tube.oval is None:
        return np.asarray(eccentric)
    turn = np.radians(tube.oval.angle)
    a, b = tube.od(station) / 2, tube.oval.across(station) / 2
    return np.asarray(np.arctan2(b * np.sin(eccentric), a * np.cos(eccentric)) + turn)
