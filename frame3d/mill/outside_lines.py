"""Lengths along the outside of a tube, as rule, caliper and tape take them."""

from itertools import pairwise

import numpy as np

from frame3d.model import Mill, Tube
from frame3d.model.tube_section import lateral
from frame3d.surfaces.surface import Array

INCH_MARK_MM = 25.4 / 16
SETTLING, SETTLED_MM = 30, 1e-10
PIECE_MM = 25.0  # of a changing oval, whose lines along one angle are not quite straight
JUST_MM = 1e-9  # beside a place where the outside steps


def mark_step(mill: Mill) -> float:
    """What a mark is a whole number of, mm: a millimetre, or a sixteenth of an inch."""
    return 1.0 if mill.units == "mm" else INCH_MARK_MM


def line_between(tube: Tube, theta: float, low: float, high: float) -> float:
    """Along the outside at an angle from the datum, radians, from one place of the axis to one
    farther on, mm from the start point.

    Round a bend the line is shorter than the axis by its distance towards the bend's centre over
    the bend's radius; on a taper it is longer, as it climbs.
    """
    if not tube.bends and tube.od.is_constant and tube.oval is None:
        return high - low
    return sum(_piece(tube, theta, a, b) for a, b in pairwise(_places(tube, low, high)))


def place_along(tube: Tube, theta: float, begin: float, distance: float) -> float:
    """The place of the axis, mm from its start point, so far along the outside from another;
    negative: back towards the start."""
    at = begin + distance
    for _ in range(SETTLING):
        gone = line_between(tube, theta, min(begin, at), max(begin, at))
        off = distance - (gone if at >= begin else -gone)
        at += off
        if abs(off) < SETTLED_MM:
            break
    return at


def _places(tube: Tube, low: float, high: float) -> list[float]:
    """Both, and between them those where bend or outside change."""
    found = list(tube.centreline.stations) if tube.bends else []
    for profile in (tube.od, *([tube.oval.across] if tube.oval else [])):
        found += [] if profile.is_constant else profile.at
    if tube.oval is not None and len(found) > 0:
        found += list(np.arange(low, high, PIECE_MM))
    return [low, *sorted({float(at) for at in found if low < at < high}), high]


def _piece(tube: Tube, theta: float, low: float, high: float) -> float:
    """Along a piece of even bend and taper."""
    inside = min(JUST_MM, (high - low) / 4)
    first, middle, last = (
        _off(tube, theta, at) for at in (low + inside, (low + high) / 2, high - inside)
    )
    along = high - low
    if tube.bends:
        line = tube.centreline
        k = int(np.clip(np.searchsorted(line.stations, (low + high) / 2) - 1, 0, None))
        k = min(k, len(line.lengths) - 1)
        mark, ahead = line.datums[k], line.tangents[k]
        inward = line.inward[k] @ (middle[0] * mark + middle[1] * np.cross(ahead, mark))
        along *= 1.0 - float(line.curvature[k] * inward)
    return float(np.hypot(along, np.linalg.norm(last - first)))


def _off(tube: Tube, theta: float, station: float) -> Array:
    """(2,) from the axis to the outside."""
    (off,) = lateral(tube, np.array([station]), np.array([theta]), 1.0)
    return np.asarray(off)
