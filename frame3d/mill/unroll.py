"""The outside of a tube's end, with a paper around it, laid flat."""

from dataclasses import dataclass

import numpy as np

from frame3d.mill.blocks import level_stretches
from frame3d.model import End, Tube, end_frame
from frame3d.model.tube_section import arc, eccentric, lateral, semi_axes, theta_at
from frame3d.surfaces.surface import Array

NEAR_MM = 0.05  # most that a paper may be off, where no paper is exact


class UnrollError(ValueError):
    """No paper lies flat on this end; says why."""


@dataclass(frozen=True, eq=False)
class Flat:
    """The outside between two places along the tube, unrolled: its printed side faces out, the cut
    end is up. Lines along the tube stay straight.

    eccentric: (N,) angles of the lines from the od's direction, radians; left to right. They reach
               past the datum on both sides where it does not run along one of them
    lower, upper: (N, 2) where each line crosses the lower and the upper place, mm
    low, high: those places, mm outward from the axis's end point
    warp: how far off the paper is at most, mm; 0 where it is exact
    """

    tube: Tube
    end: End
    eccentric: Array
    lower: Array
    upper: Array
    low: float
    high: float
    warp: float = 0.0

    def at(self, theta: Array, outward: Array) -> Array:
        """(M, 2) of the outside's points at angles (M,) from the datum, radians, and places (M,)
        outward."""
        station = self.tube.length + outward if self.end == "end" else -outward
        sense = 1.0 if self.end == "end" else -1.0
        e = sense * eccentric(self.tube, station, theta)
        share = ((outward - self.low) / (self.high - self.low))[:, None]
        lower, upper = (
            np.stack([np.interp(e, sense * self.eccentric, side) for side in rim.T], axis=1)
            for rim in (self.lower, self.upper)
        )
        return np.asarray(lower + share * (upper - lower))


def piece_around(tube: Tube, end: End, low: float, high: float) -> tuple[float, float]:
    """The evenly running piece of the outside that holds an end's cope, (from, to) outward.

    Raises UnrollError where the cope reaches over a bend or over a place where the taper changes.
    """
    run = end_frame(tube, end).run if tube.bends else tube.length
    if tube.bends and low <= -run + 1e-9:
        raise UnrollError(
            f"the cope reaches past its straight of {run:.1f} mm into the bend, where no paper "
            "lies flat"
        )
    profiles = [tube.od, *([tube.oval.across] if tube.oval else [])]
    places = sorted({at for p in profiles if not p.is_constant for at in p.at})
    level = level_stretches(tube)
    edges = [at for at in places if not any(a < at < b for a, b in level)]
    marks = [at - tube.length if end == "end" else -at for at in edges]
    inner = max([m for m in marks if m <= low + 1e-9], default=-np.inf)
    outer = min([m for m in marks if m >= high - 1e-9], default=np.inf)
    across = [m for m in marks if inner < m < outer]
    if across:
        raise UnrollError(
            f"the cope reaches over the change of its outside {-across[0]:.1f} mm inward of the "
            f"drawing's {end} point, and no one paper lies flat on both sides of it"
        )
    return max(inner, -run), outer


def unrolled(tube: Tube, end: End, low: float, high: float, paper: float, steps: int) -> Flat:
    """The outside from `low` to `high`, mm outward, under the middle of a paper that thick.

    Within them the outside must run evenly: `piece_around`. Raises UnrollError for a changing oval
    that no paper fits.
    """
    one, other = ((tube.length + v if end == "end" else -v) for v in (low, high))
    steady = all(np.allclose(*pair) for pair in zip(semi_axes(tube, np.array(one)),
                 semi_axes(tube, np.array(other)), strict=True))  # fmt: skip
    if steady:
        return _level(tube, end, one, _turns(end, steps), low, high, paper)
    past = eccentric(tube, np.array([one, other]), np.zeros(2))
    more = int(np.ceil(abs(past[1] - past[0]) / (2 * np.pi) * steps))
    more += int(more > 0)
    return _strips(tube, end, (one, other), _turns(end, steps, more), low, high, paper)


def _turns(end: End, steps: int, more: int = 0) -> Array:
    """Once around from the datum, left to right, and `more` steps on both sides. With the cut end
    up, clockwise from the start runs to the left at the start."""
    turns = np.arange(-more, steps + more + 1) * (2 * np.pi / steps)
    return np.asarray(turns if end == "end" else -turns)


def _level(
    tube: Tube, end: End, station: float, theta: Array, low: float, high: float, paper: float
) -> Flat:
    """One section: the length around it, as an arc of the ellipse, plus half the paper's thickness
    for each radian that the outside turns."""
    e = eccentric(tube, np.asarray(station), theta)
    a, b = semi_axes(tube, np.asarray(station))
    normal = np.arctan2(a * np.sin(e), b * np.cos(e))
    normal = normal + 2 * np.pi * np.round((e - normal) / (2 * np.pi))
    around = arc(tube, np.asarray(station), theta) + paper / 2 * (normal - normal[0])
    sense = 1.0 if end == "end" else -1.0
    lower, upper = (
        np.stack([sense * around, np.full_like(around, v)], axis=1) for v in (low, high)
    )
    return Flat(tube, end, e, lower, upper, low, high)


def _strips(
    tube: Tube,
    end: End,
    places: tuple[float, float],
    theta: Array,
    low: float,
    high: float,
    paper: float,
) -> Flat:
    """A changing section, strip after strip laid flat between its straight lines.

    Exact for a cone, round or oval, but for the chords of its many strips (under 1 µm).
    """
    e = eccentric(tube, np.asarray(places[1]), theta)
    rims = [_rim(tube, place, e, places, paper) for place in places]
    flat = _laid(*rims)
    warp = _warp(rims, flat)
    if warp > NEAR_MM:
        raise UnrollError(
            f"its outside twists so much that no paper lies flat on it: it would be {warp:.2f} mm "
            "off"
        )
    lower, upper = _upright(*flat)
    return Flat(tube, end, e, lower, upper, low, high, warp)


def _rim(tube: Tube, place: float, e: Array, places: tuple[float, float], paper: float) -> Array:
    """Points (N, 3) on the middle of the paper over one place of the tube, on lines of equal
    eccentric angle: offset, offset, along."""
    at = np.full_like(e, place)
    points = _outside(tube, at, e)
    ahead = _outside(tube, np.full_like(e, places[1]), e) - _outside(
        tube, np.full_like(e, places[0]), e
    )
    step = 1e-4
    around = _outside(tube, at, e + step) - _outside(tube, at, e - step)
    normal = np.cross(around, ahead)
    normal /= np.linalg.norm(normal, axis=1, keepdims=True)
    outward = np.sign(np.einsum("ij,ij->i", normal[:, :2], points[:, :2]))[:, None]
    return np.asarray(points + paper / 2 * outward * normal)


def _outside(tube: Tube, station: Array, e: Array) -> Array:
    across = lateral(tube, station, theta_at(tube, station, e), 1.0)
    return np.concatenate([across, station[:, None]], axis=1)


def _laid(low: Array, high: Array) -> tuple[Array, Array]:
    """Two rims (N, 3) as (N, 2) each, triangle by triangle."""
    edge = np.linalg.norm(high - low, axis=1)
    below = np.linalg.norm(np.diff(low, axis=0), axis=1)
    above = np.linalg.norm(np.diff(high, axis=0), axis=1)
    rising = np.linalg.norm(high[1:] - low[:-1], axis=1)
    lower, upper = [np.zeros(2)], [np.array([0.0, edge[0]])]
    for k in range(len(below)):
        upper.append(_corner(lower[-1], upper[-1], rising[k], above[k]))
        lower.append(_corner(lower[-1], upper[-1], below[k], edge[k + 1]))
    return np.array(lower), np.array(upper)


def _warp(rims: list[Array], flat: tuple[Array, Array]) -> float:
    """How far off the paper gets between its rims: it keeps the lengths of both and of all lines
    along the tube, but around the tube between them only where the outside does not twist."""
    worst = 0.0
    for share in (0.25, 0.5, 0.75):
        round_tube, on_paper = (
            np.cumsum(np.linalg.norm(np.diff(low + share * (high - low), axis=0), axis=1))
            for low, high in (rims, flat)
        )
        worst = max(worst, float(np.abs(on_paper - round_tube).max()))
    return worst if worst > 1e-3 else 0.0  # chords


def _corner(p: Array, q: Array, from_p: float, from_q: float) -> Array:
    """The point right of the line from p up to q, at these distances from them."""
    base = float(np.hypot(*(q - p)))
    along = (from_p**2 - from_q**2 + base**2) / (2 * base)
    aside = np.sqrt(max(from_p**2 - along**2, 0.0))
    way = (q - p) / base
    return np.asarray(p + along * way + aside * np.array([way[1], -way[0]]))


def _upright(lower: Array, upper: Array) -> tuple[Array, Array]:
    """Turned so that the line in the middle stands upright, its foot on x = 0."""
    middle = len(lower) // 2
    way = upper[middle] - lower[middle]
    way = way / np.hypot(*way)
    turn = np.array([[way[1], way[0]], [-way[0], way[1]]])
    foot = lower[middle]
    return (lower - foot) @ turn, (upper - foot) @ turn
