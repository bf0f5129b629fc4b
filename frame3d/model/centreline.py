"""The axis of a bent tube: straights and arcs, tangent to each other, that carry a datum along."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Straight:
    """A straight length, mm."""

    length: float


@dataclass(frozen=True)
class Turn:
    """A bend as the bender is set. radius: of the axis, mm; angle: turned through, degrees;
    plane: from the datum to the side that the bend turns to, degrees, right-handed about travel."""

    radius: float
    angle: float
    plane: float = 0.0


@dataclass(frozen=True, eq=False)
class Centreline:
    """Pieces of an axis, P in number, each from the end of the one before.

    starts:     (P, 3) mm
    tangents:   (P, 3) unit direction of travel at each start
    inward:     (P, 3) unit, square to the tangent, towards the bend's centre; a straight's is any
    curvature:  (P,) 1 / bend radius, 1/mm; 0 for a straight
    lengths:    (P,) along the axis, mm
    datums:     (P, 3) unit, square to the tangent: the datum at each start. It is carried along
                without twist (parallel transport): round a bend it turns with the bend, about its
                axis, and nothing else.
    """

    starts: Array
    tangents: Array
    inward: Array
    curvature: Array
    lengths: Array
    datums: Array

    @staticmethod
    def of_runs(
        start: ArrayLike, tangent: ArrayLike, datum: ArrayLike, runs: Sequence[Straight | Turn]
    ) -> "Centreline":
        """From a start point, the direction of travel and the datum there, and what follows.

        Raises ValueError without runs, or for a length, radius or angle that is not above 0.
        """
        if not runs:
            raise ValueError("a centreline needs at least one straight or bend")
        here = np.asarray(start, float)
        ahead = _unit(np.asarray(tangent, float))
        mark = np.asarray(datum, float)
        mark = _unit(mark - (mark @ ahead) * ahead)
        pieces = []
        for run in runs:
            side = np.cross(ahead, mark)
            if isinstance(run, Straight):
                _above_zero("straight length", run.length)
                piece = _Piece(here, ahead, mark, 0.0, run.length, mark)
            else:
                _above_zero("bend radius", run.radius)
                _above_zero("bend angle", run.angle)
                plane = np.radians(run.plane)
                inward = np.cos(plane) * mark + np.sin(plane) * side
                length = run.radius * np.radians(run.angle)
                piece = _Piece(here, ahead, inward, 1.0 / run.radius, length, mark)
            pieces.append(piece)
            here, ahead, mark = piece.end()
        return _joined(pieces)

    @staticmethod
    def through(
        start: ArrayLike,
        corners: Sequence[tuple[ArrayLike, float]],
        end: ArrayLike,
        datum: ArrayLike,
    ) -> "Centreline":
        """From start to end by corners, each a point where two straights would meet and the radius
        that rounds it off, mm.

        Raises ValueError, with the lengths found and needed, where a straight is too short for the
        bends at its ends, and for an axis that turns back on itself.
        """
        points = np.array([start, *(corner for corner, _ in corners), end], float)
        spans = np.diff(points, axis=0)
        long = np.linalg.norm(spans, axis=1)
        if np.any(long <= 0.0):
            raise ValueError("two points of the axis, one after the other, are the same")
        ahead = spans / long[:, None]
        angles = [_angle(a, b) for a, b in pairwise(ahead)]
        if any(angle > np.pi - 1e-6 for angle in angles):
            raise ValueError("the axis turns back on itself at a corner")
        radii = [radius for _, radius in corners]
        for radius in radii:
            _above_zero("bend radius", radius)
        cut = np.array([0.0, *(r * np.tan(t / 2) for r, t in zip(radii, angles, strict=True)), 0.0])
        left = long - cut[:-1] - cut[1:]
        if np.any(left < -1e-9):
            k = int(np.argmin(left))
            raise ValueError(
                f"the axis's straight {k + 1} is {long[k]:.2f} mm between corners; the bends at "
                f"its ends need {long[k] - left[k]:.2f} mm"
            )
        mark = np.asarray(datum, float)
        mark = _unit(mark - (mark @ ahead[0]) * ahead[0])
        pieces = []
        for k, run in enumerate(left):
            if run > 1e-9:
                here = points[k] + cut[k] * ahead[k]
                pieces.append(_Piece(here, ahead[k], mark, 0.0, float(run), mark))
            if k < len(angles) and angles[k] > 1e-12:
                here = points[k + 1] - cut[k + 1] * ahead[k]
                inward = _unit(ahead[k + 1] - (ahead[k + 1] @ ahead[k]) * ahead[k])
                length = radii[k] * angles[k]
                pieces.append(_Piece(here, ahead[k], inward, 1.0 / radii[k], length, mark))
                mark = pieces[-1].end()[2]
        return _joined(pieces)

    @cached_property
    def stations(self) -> Array:
        """Where each piece starts along the axis, mm, and the whole length: (P + 1,)."""
        return np.concatenate([[0.0], np.cumsum(self.lengths)])

    @property
    def length(self) -> float:
        """From start to end along the axis, mm."""
        return float(self.stations[-1])

    def nearest(self, points: Array) -> Array:
        """Stations (N,), mm, of the axis's nearest places to `points` (N, 3).

        Before the start and past the end the axis goes straight on, and stations with it.
        """
        points = np.asarray(points, float)
        last = len(self.lengths) - 1
        found, away = [], []
        for k, length in enumerate(self.lengths):
            off = points - self.starts[k]
            ahead, sideways = off @ self.tangents[k], off @ self.inward[k]
            if self.curvature[k] > 0.0:
                radius = 1.0 / self.curvature[k]
                along = radius * np.arctan2(ahead, radius - sideways)
            else:
                along = ahead
            low = -np.inf if k == 0 and self.curvature[k] == 0.0 else 0.0
            high = np.inf if k == last and self.curvature[k] == 0.0 else length
            found.append(self.stations[k] + np.clip(along, low, high))
            away.append(np.linalg.norm(points - self.at(found[-1])[0], axis=1))
        best = np.argmin(away, axis=0)
        return np.asarray(np.stack(found)[best, np.arange(len(points))])

    def at(self, station: ArrayLike) -> tuple[Array, Array, Array]:
        """Points, tangents and datums, each (N, 3), at distances (N,) from the start, mm.

        Before the start and past the end the axis goes straight on.
        """
        station = np.atleast_1d(np.asarray(station, float))
        k = np.clip(np.searchsorted(self.stations, station, "right") - 1, 0, len(self.lengths) - 1)
        along = np.clip(station - self.stations[k], 0.0, self.lengths[k])
        bend = self.curvature[k]
        angle = bend * along
        ahead, inward, mark = self.tangents[k], self.inward[k], self.datums[k]
        cos, sin = np.cos(angle)[:, None], np.sin(angle)[:, None]
        forward = (along * np.sinc(angle / np.pi))[:, None]
        sideways = (0.5 * bend * (along * np.sinc(angle / (2 * np.pi))) ** 2)[:, None]
        point = self.starts[k] + forward * ahead + sideways * inward
        tangent = cos * ahead + sin * inward
        part = np.einsum("ij,ij->i", mark, inward)[:, None]
        turned = mark + part * ((cos - 1.0) * inward - sin * ahead)
        beyond = (station - self.stations[k] - along)[:, None]
        return point + beyond * tangent, tangent, turned


@dataclass(frozen=True, eq=False)
class _Piece:
    start: Array
    tangent: Array
    inward: Array
    curvature: float
    length: float
    datum: Array

    def end(self) -> tuple[Array, Array, Array]:
        point, tangent, datum = _joined([self]).at(self.length)
        return point[0], _unit(tangent[0]), _unit(datum[0])


def _joined(pieces: Sequence[_Piece]) -> Centreline:
    return Centreline(
        np.array([p.start for p in pieces]),
        np.array([p.tangent for p in pieces]),
        np.array([p.inward for p in pieces]),
        np.array([p.curvature for p in pieces]),
        np.array([p.length for p in pieces]),
        np.array([p.datum for p in pieces]),
    )


def _unit(vector: Array) -> Array:
    return np.asarray(vector / np.linalg.norm(vector))


def _angle(a: Array, b: Array) -> float:
    return float(np.arctan2(np.linalg.norm(np.cross(a, b)), a @ b))


def _above_zero(what: str, value: float) -> None:
    if not value > 0.0:
        raise ValueError(f"{what}: found {value}, expected more than 0")
