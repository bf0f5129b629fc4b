"""What metal the saw meets on its way down: first touch, last metal, and what its cup must hold."""

from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from frame3d.model import Tube
from frame3d.shop.pose import Pose
from frame3d.surfaces.surface import Array

RING = 720  # steps around saw and tube: heights are found to about 0.2 mm, well within overtravel
LEAST_CUT_MM = 0.001
ROUNDS = 30  # halvings of the waste to saw off


@dataclass(frozen=True)
class Metal:
    """What still stands at an end: how far outward, mm, from the axis's end point.

    square: where the blank's end was sawn off
    before: cuts already made there
    """

    square: float
    before: tuple[Pose, ...] = ()

    def reach(self, pose: Pose, across: Array, height: Array) -> Array:
        """(N,) for lines of the tube at offsets along `pose.away` and `pose.up`, mm."""
        reach = np.full(len(across), self.square)
        frame = pose.cope.frame
        origins = (frame.origin - frame.run * frame.out + np.outer(across, pose.away)) + np.outer(
            height, pose.up
        )
        for cut in self.before:
            entry = cut.saw.entry(origins - cut.cope.seat * frame.out, frame.out) - frame.run
            reach = np.minimum(reach, entry)
        return reach


@dataclass(frozen=True)
class Depth:
    """Heights of metal under the saw, mm from where its axis would cross the tube's level line.

    touch: highest under the teeth; last: lowest under the teeth; top: highest inside the saw
    """

    touch: float
    last: float
    top: float


def radius_at(tube: Tube, end: str, outward: float) -> float:
    """Outside radius, mm, at a place given outward from an end of the axis."""
    return float(tube.od(_station(tube, end, outward))) / 2


def _station(tube: Tube, end: str, outward: float) -> float:
    return tube.length + outward if end == "end" else -outward


def takes_metal(pose: Pose, metal: Metal) -> bool:
    """Whether a cut has anything deeper than `LEAST_CUT_MM` left to take."""
    cope = pose.cope
    frame, saw = cope.frame, replace(pose.saw, radius=pose.radius - LEAST_CUT_MM)
    turn = np.arange(RING) * (2 * np.pi / RING)
    for radius in _radii(pose):
        across, height = radius * np.sin(turn), radius * np.cos(turn)
        origins = frame.origin - (frame.run + cope.seat) * frame.out
        origins = origins + np.outer(across, pose.away) + np.outer(height, pose.up)
        entry = saw.entry(origins, frame.out) - frame.run
        if np.any(entry < metal.reach(pose, across, height)):
            return True
    return False


def depth_of(pose: Pose, metal: Metal) -> Depth:
    """Where the saw meets the tube; nan where its ring meets no metal at all.

    Outside and bore are followed: of a second cut at an end, either may stand lower.

    Along a tilted tube height only grows, so the highest metal inside the saw stands under its
    ring or at the edge where the tube ends.
    """
    angle: Array = np.asarray(np.arange(RING) * (2 * np.pi / RING), float)
    outside, bore = _radii(pose)
    rings = [
        _under_ring(pose, metal, radius, np.concatenate([angle, _over_lines(pose, radius, angle)]))
        for radius in (outside, bore)
    ]
    ring = np.concatenate(rings)
    if not np.isfinite(ring).any():
        return Depth(np.nan, np.nan, np.nan)
    edge = _end_edge(pose, metal, outside, angle)
    touch = float(np.nanmax(ring))
    return Depth(touch, float(np.nanmin(ring)), max(touch, edge.max(initial=-np.inf)))


def _radii(pose: Pose) -> tuple[float, float]:
    """Of outside and bore at the end that is cut, mm."""
    tube, end = pose.cope.tube, pose.cope.end
    outside = radius_at(tube, end, 0.0)
    return outside, outside - float(tube.wall(_station(tube, end, 0.0)))


def _over_lines(pose: Pose, radius: float, angle: Array) -> Array:
    """Where around the saw its teeth stand over lines at equal steps about the tube.

    Equal steps about the saw alone are too wide at the tube's sides, where it falls off steeply.
    """
    share = (radius * np.sin(angle) - pose.y) / pose.radius
    turn = np.arcsin(share[np.abs(share) <= 1.0])
    return np.concatenate([turn, np.pi - turn])


def _under_ring(pose: Pose, metal: Metal, radius: float, angle: Array) -> Array:
    """Heights of one face of the wall, upper then lower half, under the saw's teeth: (2 N,).

    radius: of that face; angle: radians about the spindle (N,). nan where no metal stands.
    """
    x, y = pose.x + pose.radius * np.cos(angle), pose.y + pose.radius * np.sin(angle)
    with np.errstate(invalid="ignore"):
        h = np.sqrt(radius**2 - y**2)
        x, y, h = np.tile(x, 2), np.tile(y, 2), np.concatenate([h, -h])
        stands = pose.along(x, h) <= metal.reach(pose, y, h)
    return np.where(stands, x * np.tan(pose.rise) + h / np.cos(pose.rise), np.nan)


def _end_edge(pose: Pose, metal: Metal, radius: float, angle: Array) -> Array:
    """Heights of the edge where the tube's outside ends, as far as it stands inside the saw."""
    y, h = radius * np.cos(angle), radius * np.sin(angle)
    out = metal.reach(pose, y, h)
    x = out * np.cos(pose.rise) - h * np.sin(pose.rise)
    inside = (x - pose.x) ** 2 + (y - pose.y) ** 2 <= pose.radius**2
    return np.asarray((out * np.sin(pose.rise) + h * np.cos(pose.rise))[inside])


def waste_to_saw_off(pose: Pose, metal: Metal, cup: float, overtravel: float) -> float | None:
    """How much to saw off the blank so that the rest fits into a cup of that depth, mm.

    0 where it fits as it is; None where even the finished tip is too much for it.
    """

    def fits(square: float) -> bool:
        depth = depth_of(pose, Metal(square, metal.before))
        return depth.top - depth.last + overtravel <= cup

    if fits(metal.square):
        return 0.0
    cope = pose.cope
    stop = cope.position(cope.theta, np.ones_like(cope.theta))
    least = float(stop[np.isfinite(stop)].max(initial=-np.inf)) + 0.5
    if least >= metal.square or not fits(least):
        return None
    low, high = least, metal.square
    for _ in range(ROUNDS):
        middle = (low + high) / 2
        low, high = (middle, high) if fits(middle) else (low, middle)
    return metal.square - low


def straight_stretches(tube: Tube) -> list[tuple[float, float]]:
    """Where the outside is straight and of one diameter: (from, to), mm from the tube's start.

    Endless at both ends, as the profile is.
    """
    if tube.od.is_constant:
        return [(-np.inf, np.inf)]
    at, value = tube.od.at, tube.od.value
    pieces = [(-np.inf, at[0], True)]
    pieces += [(a, b, u == v) for (a, u), (b, v) in pairwise(zip(at, value, strict=True))]
    pieces += [(at[-1], np.inf, True)]
    joined: list[tuple[float, float]] = []
    for low, high, level in pieces:
        if level and joined and joined[-1][1] == low:
            joined[-1] = (joined[-1][0], high)
        elif level:
            joined.append((low, high))
    return joined
