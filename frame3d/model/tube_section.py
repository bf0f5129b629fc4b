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


def semi_axes(tube: Tube, station: Array, bore: bool = False) -> tuple[Array, Array]:
    """Half the od, and half the diameter a quarter turn from it, at places from the start, mm."""
    across = tube.oval.across if tube.oval else tube.od
    off = tube.wall(station) if bore else 0.0
    return tube.od(station) / 2 - off, across(station) / 2 - off


def half_height(tube: Tube, station: float, angle: float) -> float:
    """From the axis to the plane square to the direction at an angle from the datum, degrees, that
    touches the outside, mm: half of what a caliper across it reads."""
    a, b = semi_axes(tube, np.asarray(station))
    turn = np.radians(angle - (tube.oval.angle if tube.oval else 0.0))
    return float(np.hypot(a * np.cos(turn), b * np.sin(turn)))


def eccentric(tube: Tube, station: Array, theta: Array) -> Array:
    """Eccentric angles (N,) from the od's direction of the outside's points at `theta` (N,), both
    radians, unwrapped."""
    a, b = semi_axes(tube, station)
    turned = np.asarray(theta) - (np.radians(tube.oval.angle) if tube.oval else 0.0)
    found = np.arctan2(a * np.sin(turned), b * np.cos(turned))
    return np.asarray(found + 2 * np.pi * np.round((turned - found) / (2 * np.pi)))


def arc(tube: Tube, station: Array, theta: Array) -> Array:
    """Length around the outside from the datum to angles (N,), mm: an elliptic integral of the
    second kind (NIST DLMF 19.2.5), by scipy."""
    a, b = semi_axes(tube, station)
    e = eccentric(tube, station, np.concatenate([[0.0], theta]))
    if np.all(a == b):
        length = b * e
    else:
        from scipy.special import ellipeinc  # a fifth of a second that round tubes need not wait

        length = b * ellipeinc(e, 1.0 - (a / b) ** 2)
    return np.asarray(length[1:] - length[0])
