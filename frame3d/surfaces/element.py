"""The smallest pieces of a bent or oval tube: one line or arc, one linear change of section."""

from dataclasses import dataclass, fields
from functools import cached_property
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from frame3d.model.centreline import Centreline
from frame3d.model.tube import Profile
from frame3d.surfaces.surface import Array, bundle

MOST_ANGLE = np.pi / 8  # an arc is split until only one of its stations is nearest to a point
SAME_MM = 1e-9  # stations nearer together than this are one


@dataclass(frozen=True, eq=False)
class Elements:
    """E pieces; or, one for each of N points, N of them. Every array starts with E (or N).

    origin: (E, 3) mm, and the frame there, world axes (E, 3), unit: `ahead` as it travels,
            `inward` towards the bend's centre, `aside` = ahead x inward
    bend:   1 / bend radius, 1/mm; 0 for a straight
    low, high: stations between which it runs, mm from `origin`; infinite at the tube's ends
    u, v:   parts of `inward` along the section's first and second axis
    a, b:   the section's semi-axes at the origin, mm
    da, db: their change per mm along the axis; for a step (low = high), the whole change, mm
    """

    origin: Array
    ahead: Array
    inward: Array
    aside: Array
    bend: Array
    low: Array
    high: Array
    u: Array
    v: Array
    a: Array
    b: Array
    da: Array
    db: Array

    def __len__(self) -> int:
        return len(self.bend)

    @cached_property
    def single(self) -> list["Elements"]:
        """Each piece by itself."""
        return [self.take(np.array([e])) for e in range(len(self))]

    @cached_property
    def _capsules(self) -> tuple[Array, ...]:
        """Straight lines that stand for the axes: base and unit direction (E, 3), from where to
        where along it, and how far an axis may stand off it, (E,), mm."""
        arc = self.bend > 0.0
        tip = self.point(np.where(np.isfinite(self.high), self.high, 0.0)) - self.origin
        chord = np.linalg.norm(tip, axis=1)
        unit = np.where(arc[:, None], tip / np.where(arc, chord, 1.0)[:, None], self.ahead)
        angle = self.bend * np.where(arc, self.high, 0.0)
        sagitta = np.where(arc, chord, 0.0) / 2 * np.tan(angle / 4)
        return self.origin, unit, self.low, np.where(arc, chord, self.high), sagitta

    def near_lines(self, centre: Array, spread: float, direction: Array) -> NDArray[np.bool_]:
        """Whether lines along `direction`, within `spread` mm of the one through `centre` (3,), can
        meet the surface of each piece: (E,), never wrongly False."""
        base, unit, low, high, sagitta = self._capsules
        p, u = (a - np.outer(a @ direction, direction) for a in (base - centre, unit))
        square = np.einsum("ij,ij->i", u, u)
        least = -np.einsum("ij,ij->i", p, u) / np.maximum(square, 1e-18)
        away = np.linalg.norm(p + np.clip(least, low, high)[:, None] * u, axis=1)
        return np.asarray(away <= spread + sagitta + self.extremes()[1] + SAME_MM)

    def near_points(self, points: Array) -> NDArray[np.bool_]:
        """Whether the surface of each piece can be the nearest to any of the points (N, 3): (E,),
        never wrongly False."""
        base, unit, low, high, sagitta = self._capsules
        centre, spread = bundle(points)
        off = centre - base
        along = np.clip(np.einsum("ij,ij->i", off, unit), low, high)
        away = np.linalg.norm(off - along[:, None] * unit, axis=1)
        slack = spread + sagitta + self.extremes()[1]
        return np.asarray(away - slack <= (away + slack).min() + SAME_MM)

    def take(self, which: NDArray[np.intp] | NDArray[np.bool_]) -> "Elements":
        return Elements(*(getattr(self, f.name)[which] for f in fields(self)))

    def local(self, points: Array) -> tuple[Array, Array, Array]:
        """Points (N, 3) in the frame at the origin: ahead, inward, aside, (N,) each."""
        relative = points - self.origin
        ahead, inward, aside = (
            np.einsum("ij,ij->i", relative, axis) for axis in (self.ahead, self.inward, self.aside)
        )
        return ahead, inward, aside

    def from_axis(self, points: Array) -> Array:
        """Distance (N,) of points to the axis of a single element (E = 1), mm."""
        t, n, k = self.local(points)
        bend, high = float(self.bend[0]), self.high
        if bend == 0.0:
            return np.asarray(np.sqrt((t - np.clip(t, self.low, high)) ** 2 + n**2 + k**2))
        radius = 1.0 / bend
        along, sideways = self._place(high)
        rest, aloof = t - along, n - sideways
        past = np.cos(bend * high) * rest + np.sin(bend * high) * aloof > 0.0
        to_end = np.minimum(t**2 + n**2, rest**2 + aloof**2)
        to_arc = (np.hypot(t, radius - n) - radius) ** 2
        return np.asarray(np.sqrt(np.where((t < 0.0) | past, to_end, to_arc) + k**2))

    def foot(self, t: Array, n: Array) -> Array:
        """Station (N,) of the nearest point of the axis within the element."""
        straight = self.bend == 0.0
        bend = np.where(straight, 1.0, self.bend)
        middle = np.where(straight, 0.0, self.high * bend / 2)
        turned = np.arctan2(bend * t, 1.0 - bend * n) - middle
        turned = (turned + np.pi) % (2 * np.pi) - np.pi + middle
        return np.clip(np.where(straight, t, turned / bend), self.low, self.high)

    def section(self, s: Array, t: Array, n: Array, k: Array) -> tuple[Array, Array, Array]:
        """A local point seen from station s: how far ahead, and along the section's two axes."""
        along, sideways = self._place(s)
        cos, sin = np.cos(self.bend * s), np.sin(self.bend * s)
        ahead = cos * (t - along) + sin * (n - sideways)
        inward = cos * (n - sideways) - sin * (t - along)
        return ahead, self.u * inward - self.v * k, self.v * inward + self.u * k

    def point(self, s: Array) -> Array:
        """Points (N, 3) of the axis at stations s."""
        along, sideways = self._place(s)
        return self.origin + along[:, None] * self.ahead + sideways[:, None] * self.inward

    def _place(self, s: Array) -> tuple[Array, Array]:
        """How far ahead and inward the axis has come at stations s; no division by the bend."""
        angle = self.bend * s
        along = s * np.sinc(angle / np.pi)
        return along, 0.5 * self.bend * (s * np.sinc(angle / (2 * np.pi))) ** 2

    def between(self, x: Array, y: Array) -> NDArray[np.bool_]:
        """Whether section points (N,) stand on the flat of this step (E = 1)."""
        before = (x / self.a) ** 2 + (y / self.b) ** 2 <= 1.0
        past = (x / (self.a + self.da)) ** 2 + (y / (self.b + self.db)) ** 2 <= 1.0
        return np.asarray(before ^ past)

    def tangent(self, s: Array) -> Array:
        """Direction of the axis at station s, (N, 3)."""
        angle = (self.bend * s)[:, None]
        return np.cos(angle) * self.ahead + np.sin(angle) * self.inward

    def semi_axes(self, s: Array) -> tuple[Array, Array]:
        """Of the section at station s, mm."""
        with np.errstate(invalid="ignore"):  # an endless end does not change: 0 times inf is 0
            return (
                self.a + np.where(self.da == 0.0, 0.0, self.da * s),
                self.b + np.where(self.db == 0.0, 0.0, self.db * s),
            )

    def extremes(self) -> tuple[Array, Array]:
        """Least and greatest semi-axis of each element, mm."""
        ends = np.stack([*self.semi_axes(self.low), *self.semi_axes(self.high)])
        return ends.min(axis=0), ends.max(axis=0)


def elements(
    line: Centreline, first: Profile, second: Profile, angle: float
) -> tuple[Elements, Elements]:
    """The pieces of a tube, and its steps, in order from before its start to past its end.

    first, second: diameters along the section's two axes; angle: of the first from the datum, rad.
    Raises ValueError for a bend tighter than the tube is wide.
    """
    stations = _stations(line, first, second)
    bounds = np.concatenate([[-np.inf], stations, [np.inf]])
    pieces, steps = [], []
    for start, end in pairwise(bounds):
        at = start if np.isfinite(start) else end
        low, high = start - at, end - at
        a, b = (_side(p, at, -1 if low == 0.0 else 0) / 2 for p in (first, second))
        da = db = 0.0
        if np.isfinite(high - low):
            da = (_side(first, end, 0) / 2 - a) / high
            db = (_side(second, end, 0) / 2 - b) / high
        middle = min(max(start, at - 1.0), end) if low < 0.0 else min((at + end) / 2, at + 1.0)
        frame = _frame(line, at, middle, angle)
        pieces.append((*frame, low, high, a, b, da, db))
        if low == 0.0:
            before = [_side(p, at, 0) / 2 for p in (first, second)]
            if (a, b) != tuple(before):
                steps.append((*frame, 0.0, 0.0, *before, a - before[0], b - before[1]))
    made = _stacked(pieces)
    tight = made.bend * made.extremes()[1]
    if np.any(tight >= 1.0):
        k = int(np.argmax(tight))
        raise ValueError(
            f"a bend of radius {1 / made.bend[k]:.2f} mm is too tight for a tube that stands "
            f"{made.extremes()[1][k]:.2f} mm from its axis"
        )
    return made, _stacked(steps)


def _stations(line: Centreline, first: Profile, second: Profile) -> Array:
    """Where the axis or the section changes, and arcs in small enough parts; mm from the start."""
    marks = [*line.stations]
    for k, bend in enumerate(line.curvature):
        parts = int(np.ceil(bend * line.lengths[k] / MOST_ANGLE - 1e-9))
        marks += [line.stations[k] + line.lengths[k] * j / parts for j in range(1, parts)]
    for profile in (first, second):
        if not profile.is_constant:
            marks += profile.at
    marks.sort()
    kept = [marks[0]]
    for mark in marks[1:]:
        if mark > kept[-1] + SAME_MM:
            kept.append(mark)
    return np.array(kept)


def _side(profile: Profile, at: float, which: int) -> float:
    """The value just before (which = 0) or just past (-1) a station, where it may step."""
    here = [v for a, v in zip(profile.at, profile.value, strict=True) if abs(a - at) <= SAME_MM]
    return here[which] if here else float(profile(at))


def _frame(line: Centreline, at: float, middle: float, angle: float) -> tuple[object, ...]:
    """Frame, bend and section directions at one station; `middle` says which piece it is on."""
    (origin,), (ahead,), (datum,) = line.at(at)
    k = int(np.clip(np.searchsorted(line.stations, middle, "right") - 1, 0, len(line.lengths) - 1))
    within = line.stations[0] < middle < line.stations[-1]
    aside = np.cross(line.tangents[k], line.inward[k])
    inward = np.cross(aside, ahead)
    first = np.cos(angle) * datum + np.sin(angle) * np.cross(ahead, datum)
    second = np.cross(ahead, first)
    bend = line.curvature[k] if within else 0.0
    if not within:  # past a bent end the axis leaves the bend's own frame as it is
        inward, aside = first, second
    return origin, ahead, inward, aside, bend, inward @ first, inward @ second


def _stacked(rows: list[tuple[object, ...]]) -> Elements:
    """Rows of (origin, ahead, inward, aside, bend, u, v, low, high, a, b, da, db) as arrays."""
    columns = [np.array(c, float) for c in zip(*rows, strict=True)] or [np.zeros((0, 3))] * 13
    origin, ahead, inward, aside, bend, u, v, low, high, a, b, da, db = columns
    return Elements(origin, ahead, inward, aside, bend, low, high, u, v, a, b, da, db)
