"""Bent tubes, oval tubes, and tubes that are both, with a section that changes along the axis."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from frame3d.model.centreline import Centreline
from frame3d.model.tube import Profile
from frame3d.surfaces.cone import stations_met
from frame3d.surfaces.element import SAME_MM, Elements, elements
from frame3d.surfaces.ellipse import nearest_on_ellipse
from frame3d.surfaces.revolution import Revolution
from frame3d.surfaces.surface import Array, Surface
from frame3d.surfaces.trace import first_entry

SETTLED_MM = 1e-10
MOST_STEPS = 100
LEAST_RATE = 0.05  # keeps a Newton step finite for a point near a bend's centre


@dataclass(frozen=True, eq=False)
class Sweep:
    """An elliptical section, square to a bent or straight axis, endless past both its ends.

    line:          the axis
    first, second: outside diameters along the section's two axes, by distance along the axis, mm
    angle:         from the datum to the first, radians, right-handed about start to end

    Distances are exact, to rounding, for a round section that does not change; else they are found
    by steps, closer than 1e-8 mm.
    """

    line: Centreline
    first: Profile
    second: Profile
    angle: float = 0.0

    @cached_property
    def _parts(self) -> tuple[Elements, Elements]:
        return elements(self.line, self.first, self.second, self.angle)

    @cached_property
    def _round(self) -> bool:
        made, steps = self._parts
        sections = (made.a == made.b).all() and (made.da == made.db).all()
        return bool(sections and (steps.da == steps.db).all())

    def distance(self, points: Array) -> Array:
        """Signed distance of points (N, 3): (N,), mm, negative inside.

        The least of the distances to single sections: from an upper bound at the nearest point of
        the axis, only those elements are searched that can come nearer.
        """
        made, steps = self._parts
        points = np.asarray(points, float)
        away, own = self._from_axis(points)
        ahead, x, y, a, b = _section_at_foot(made.take(own), points)
        if self._round and self.first.is_constant:
            return np.asarray(away.min(axis=0) - a)
        off_x, off_y = self._off_section(x, y, a, b)[:2]
        nearest = np.hypot(ahead, np.hypot(off_x, off_y))
        searched = away - made.extremes()[1][:, None] <= nearest
        which, who = np.nonzero(searched)
        found = np.full(searched.shape, np.inf)
        found[which, who] = self._nearest(made.take(which), points[who])
        nearest = np.minimum(nearest, found.min(axis=0))
        for e in range(len(steps)):
            nearest = np.minimum(nearest, _to_step(steps.take(np.array([e])), points))
        return np.asarray(np.where(_inside(x, y, a, b), -nearest, nearest))

    def entry(self, origins: Array, direction: Array) -> Array:
        """First entry of lines from `origins` (N, 3) along the unit `direction` (3,): (N,), mm."""
        made, steps = self._parts
        origins = np.asarray(origins, float)
        own = self._from_axis(origins)[1]
        inside = _inside(*_section_at_foot(made.take(own), origins)[1:])
        return np.asarray(np.where(inside, 0.0, first_entry(made, steps, origins, direction)))

    def met_by(self, place: Array, direction: Array, spread: float) -> Surface:
        """Of a round tube the straight, if that is all of it that they can meet."""
        made, line = self._parts[0], self.line
        most = float(made.extremes()[1].max())
        near = made.near_lines(place, spread, direction)
        for k in np.flatnonzero(line.curvature == 0.0) if self._round else []:
            start, axis = line.starts[k], line.tangents[k]
            off = np.cross(made.origin[near] - start, axis)
            if made.bend[near].any() or np.abs(off).max(initial=0.0) > SAME_MM:
                continue
            low, high = stations_met(place - start, axis, direction, spread, most)
            before = 0.0 if k > 0 else -np.inf
            past = line.lengths[k] if k < len(line.lengths) - 1 else np.inf
            if before <= low <= high <= past:
                straight = Revolution(start - line.stations[k] * axis, axis, self.first)
                return straight.met_by(place, direction, spread)
        return self

    def _from_axis(self, points: Array) -> tuple[Array, NDArray[np.intp]]:
        """Distances (E, N) of points to each element's axis, inf where it is out of the question,
        and which is nearest (N,)."""
        made = self._parts[0]
        away = np.full((len(made), len(points)), np.inf)
        for e in np.flatnonzero(made.near_points(points)):
            away[e] = made.single[e].from_axis(points)
        return away, away.argmin(axis=0)

    def _nearest(self, made: Elements, points: Array) -> Array:
        """Distance (N,) of points to one element each.

        Half the square of the distance to the section at station s has the derivative
        -(point - foot) . (change of the foot with s). Its root is closed in on by Newton's steps,
        and by halves where these would leave the bracket.
        """
        t, n, k = made.local(points)
        low, high = made.low.copy(), made.high.copy()
        s = made.foot(t, n)
        result = np.full(len(s), np.inf)
        active = np.arange(len(s))
        for _ in range(MOST_STEPS):
            part, at = made.take(active), s[active]
            ahead, x, y = part.section(at, t[active], n[active], k[active])
            a, b = part.semi_axes(at)
            off_x, off_y, qx, qy = self._off_section(x, y, a, b)
            result[active] = np.sqrt(ahead**2 + off_x**2 + off_y**2)
            grow_x, grow_y = part.da * qx / a, part.db * qy / b
            stretch = 1.0 - part.bend * (part.u * qx + part.v * qy)
            slope = -(ahead * stretch + off_x * grow_x + off_y * grow_y)
            reach = 1.0 - part.bend * (part.u * x + part.v * y)
            rate = np.maximum(stretch * reach, LEAST_RATE) + grow_x**2 + grow_y**2
            stuck = ((at <= part.low) & (slope >= 0)) | ((at >= part.high) & (slope <= 0))
            low[active] = np.where(slope < 0, at, low[active])
            high[active] = np.where(slope > 0, at, high[active])
            s[active] = _bracketed(
                at - slope / rate, low[active], high[active], part.low, part.high
            )
            active = active[~stuck & (np.abs(slope) > SETTLED_MM * rate)]
            if not len(active):
                break
        return result

    def _off_section(self, x: Array, y: Array, a: Array, b: Array) -> tuple[Array, ...]:
        """From the nearest point of the section to (x, y), and that point: four arrays (N,)."""
        if self._round:
            r = np.hypot(x, y)
            scale = np.divide(a, r, out=np.zeros_like(r), where=r > 0)
            qx, qy = np.where(r > 0, x * scale, a), y * scale
        else:
            qx, qy = nearest_on_ellipse(x, y, a, b)
        return x - qx, y - qy, qx, qy


def _section_at_foot(made: Elements, points: Array) -> tuple[Array, ...]:
    """Points seen from the nearest point of an element's axis: how far ahead (0 but past its ends),
    along the section's two axes, and the semi-axes there; (N,) each."""
    t, n, k = made.local(points)
    s = made.foot(t, n)
    return *made.section(s, t, n, k), *made.semi_axes(s)


def _inside(x: Array, y: Array, a: Array, b: Array) -> NDArray[np.bool_]:
    return np.asarray((x / a) ** 2 + (y / b) ** 2 <= 1.0)


def _bracketed(step: Array, low: Array, high: Array, first: Array, last: Array) -> Array:
    """A step that would leave its bracket goes to the element's end there, or halves it."""
    with np.errstate(invalid="ignore"):
        halved = (low + high) / 2
    step = np.where(step <= low, np.where(low == first, low, halved), step)
    return np.where(step >= high, np.where(high == last, high, halved), step)


def _to_step(step: Elements, points: Array) -> Array:
    """Distance of points to a flat step where they stand before or behind it; else inf."""
    t, n, k = step.local(points)
    ahead, x, y = step.section(np.zeros(1), t, n, k)
    return np.where(step.between(x, y), np.abs(ahead), np.inf)
