"""Clearances of 16 CFR 1512.17 from the numbers alone: toe to front tyre, and pedal lean.

Points are mm from the shell's centre, x forward, y left, z up. The bicycle stands upright on level
ground; that a turned front wheel also lets the front end sink a little is left out, as the rule
leaves it out.
"""

from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.polynomial import Polynomial
from numpy.typing import NDArray

from frame3d.model.tube import Point

Array = NDArray[np.float64]
_AHEAD = np.array([1.0, 0.0, 0.0])


class SideView(Protocol):
    """What is asked of a bicycle here; Geometry has it, and so may frames given otherwise. Mm from
    the shell's centre; measures as in the table bicycle_measures."""

    def __getitem__(self, measure: str) -> float: ...

    def nodes(self) -> dict[str, Point]: ...

    def steering_axis(self) -> tuple[Point, Point]: ...


@dataclass(frozen=True)
class Pedal:
    """A pedal on its crank. Mm.

    crank_length: shell's centre to the pedal's axle
    centre:       middle of the pedal out from the bicycle's middle
    outer:        the pedal's outer end out from the bicycle's middle
    below:        the pedal's underside below its axle, when level
    """

    crank_length: float
    centre: float
    outer: float
    below: float


@dataclass(frozen=True)
class ToeClearance:
    """distance: from the pedal's centre straight forward, mm (0: inside, inf: the wheel cannot be
    in the way); turn: the steering angle there, degrees, left positive."""

    distance: float
    turn: float


def toe_clearance(
    geometry: SideView,
    pedal_centre: Point,
    width: float,
    radius: float | None = None,
    largest_turn: float = 90.0,
) -> ToeClearance:
    """16 CFR 1512.17(d): pedal's centre forward to the front tyre or mudguard, however turned.

    width:  of the tyre or mudguard, mm, its section taken as round
    radius: axle to its outside, mm; the front wheel's without it
    largest_turn: how far the front wheel turns to each side, degrees, at most 90

    The wheel's middle plane holds the steering axis, so that all turned tyres together fill,
    between the two extreme ones, a body of revolution about that axis. With s the distance from
    the axis, h the height along it above the axle and R the wheel's outside, it is bounded by
    (s - rake)^2 + h^2 = R^2 ahead of the axis and by (s + rake)^2 + h^2 = R^2 behind it, and
    within by the same circles with the rim side of the tyre as R.
    """
    outside = geometry["front_wheel_radius"] if radius is None else radius
    sweep = _Sweep.of(geometry, outside, width / 2, np.radians(largest_turn))
    return sweep.first_hit(np.asarray(pedal_centre, float))


def pedal_lean_angle(
    geometry: SideView, pedal: Pedal, front_width: float, rear_width: float
) -> float:
    """16 CFR 1512.17(c): lean at which the pedal, level and lowest, touches the ground, degrees.

    front_width, rear_width: of the tyres, mm. The bicycle rolls over on its tyres' round sections
    with the front wheel straight. The ground, seen from the bicycle, is the plane with normal
    d = (sin a cos f, sin f, -cos a cos f), f the lean and a the pitch, that touches both tyres.
    A wheel of centre c, outside R and section radius q reaches c.d + (R - q) cos f + q along d.
    Equating that with the pedal's corner p.d for the rear wheel gives f in closed form; the pitch,
    nothing for tyres of equal width, follows from the front wheel. The two are taken in turns.
    """
    at = geometry.nodes()
    front_q, rear_q = front_width / 2, rear_width / 2
    front_core = geometry["front_wheel_radius"] - front_q
    rear_core = geometry["rear_wheel_radius"] - rear_q
    rear, front = np.array(at["rear axle"]), np.array(at["front axle"])
    corner = np.array([0.0, pedal.outer, -pedal.crank_length - pedal.below])
    span, rise = (front - rear)[[0, 2]]
    lean = pitch = 0.0
    for _ in range(50):
        down = np.array([np.sin(pitch), 0.0, -np.cos(pitch)])
        above = rear_core - (corner - rear) @ down  # pedal over the rear tyre's core, seen level
        before, lean = (
            lean,
            float(
                np.arctan2(above, pedal.outer) + np.arcsin(rear_q / np.hypot(above, pedal.outer))
            ),
        )
        lower = front_core - rear_core + (front_q - rear_q) / np.cos(lean)
        pitch = float(np.arctan2(rise, span) - np.arcsin(lower / np.hypot(span, rise)))
        if abs(lean - before) < 1e-14:
            break
    return float(np.degrees(lean))


@dataclass(frozen=True, eq=False)
class _Sweep:
    """A tyre turning about the steering axis. foot: the axle's foot on the axis (3,); up, ahead:
    unit vectors along the axis and square to it (3,); rake, outside and section radius, mm; most:
    radians."""

    foot: Array
    up: Array
    ahead: Array
    rake: float
    outside: float
    section: float
    most: float

    @staticmethod
    def of(geometry: SideView, outside: float, section: float, most: float) -> "_Sweep":
        foot, up = (np.array(v) for v in geometry.steering_axis())
        ahead = np.array([up[2], 0.0, -up[0]])
        return _Sweep(foot, up, ahead, geometry["rake"], outside, section, most)

    def first_hit(self, start: Array) -> ToeClearance:
        if self._inside(start):
            return ToeClearance(0.0, self._turn(start, -1.0))
        hits = [*self._swept_hits(start)]
        hits += [
            ToeClearance(t, float(np.degrees(turn)))
            for turn in (self.most, -self.most)
            for t in self._tyre_hits(start, turn)
        ]
        hits = [hit for hit in hits if hit.distance >= 0]
        return min(hits, key=lambda hit: hit.distance, default=ToeClearance(float("inf"), 0.0))

    def _turn(self, point: Array, side: float) -> float:
        """Steering angle, degrees, at which the wheel's plane holds `point`, ahead (side 1) of the
        steering axis or behind it (-1)."""
        off = side * (point - self.foot)
        return float(np.degrees(np.arctan2(off[1], off @ self.ahead)))

    def _inside(self, point: Array) -> bool:
        off = point - self.foot
        height = off @ self.up
        radial = float(np.linalg.norm(off - height * self.up))
        for side in (1.0, -1.0):
            turned = abs(self._turn(point, side)) <= np.degrees(self.most)
            across = np.hypot(radial - side * self.rake, height)
            if turned and abs(across - (self.outside - self.section)) <= self.section:
                return True
        return any(self._tyre_distance(point, turn) <= 0 for turn in (self.most, -self.most))

    def _swept_hits(self, start: Array) -> list[ToeClearance]:
        """Where the line from `start` forward meets the body of revolution, in the turned range.

        s^2 + rake^2 + h^2 - R^2 = +-2 rake s: squared, a quartic in the way t, whose roots are
        then bettered on the equation as it stands.
        """
        off = start - self.foot
        height = Polynomial([off @ self.up, _AHEAD @ self.up])
        length2 = Polynomial([off @ off, 2 * off @ _AHEAD, 1.0])
        radial2 = length2 - height**2
        hits = []
        for bound in (self.outside, self.outside - 2 * self.section):
            even = length2 + self.rake**2 - bound**2
            rough = _real_roots(even**2 - 4 * self.rake**2 * radial2)
            for side in (1.0, -1.0):
                for t in _bettered(rough, even, radial2, 2 * side * self.rake):
                    turn = self._turn(start + t * _AHEAD, side)
                    if abs(turn) <= np.degrees(self.most):
                        hits.append(ToeClearance(t, turn))
        return hits

    def _tyre_hits(self, start: Array, turn: float) -> list[float]:
        """Where the line from `start` forward meets the tyre turned by `turn` radians, a torus:
        (|p|^2 + core^2 - section^2)^2 = 4 core^2 (|p|^2 - (p.axle)^2)."""
        centre, axle = self._turned(turn)
        core = self.outside - self.section
        off = start - centre
        length2 = Polynomial([off @ off, 2 * off @ _AHEAD, 1.0])
        sideways = Polynomial([off @ axle, _AHEAD @ axle])
        left = length2 + core**2 - self.section**2
        return _real_roots(left**2 - 4 * core**2 * (length2 - sideways**2))

    def _turned(self, turn: float) -> tuple[Array, Array]:
        """Wheel centre and axle's direction at a steering angle, radians, left positive."""
        left = np.array([0.0, 1.0, 0.0])
        forward = np.cos(turn) * self.ahead + np.sin(turn) * left
        return self.foot + self.rake * forward, np.cross(self.up, forward)

    def _tyre_distance(self, point: Array, turn: float) -> float:
        centre, axle = self._turned(turn)
        off = point - centre
        sideways = off @ axle
        in_plane = np.linalg.norm(off - sideways * axle)
        return float(np.hypot(in_plane - (self.outside - self.section), sideways) - self.section)


def _real_roots(polynomial: Polynomial) -> list[float]:
    """Real roots; a double root's two halves, which rounding parts, both count."""
    roots = polynomial.roots()
    scale = 1e-6 * max(1.0, float(np.abs(roots).max(initial=0.0)))
    return [float(r.real) for r in roots if abs(r.imag) < scale]


def _bettered(
    rough: list[float], even: Polynomial, radial2: Polynomial, factor: float
) -> list[float]:
    """Roots of even(t) = factor sqrt(radial2(t)), by Newton's method from the rough ones."""
    slope, radial_slope = even.deriv(), radial2.deriv()
    found = []
    for t in rough:
        for _ in range(20):
            radial = np.sqrt(max(float(radial2(t)), 1e-300))
            miss = float(even(t) - factor * radial)
            gradient = float(slope(t) - factor * radial_slope(t) / (2 * radial))
            if miss == 0 or gradient == 0:
                break
            t -= miss / gradient
        if abs(miss) < 1e-6 * max(1.0, abs(factor)):
            found.append(float(t))
    return found
