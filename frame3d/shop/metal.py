"""What metal the saw meets on its way down: first touch, last metal, and what its cup must hold."""

from dataclasses import dataclass, replace

import numpy as np

from frame3d.shop.pose import Pose
from frame3d.shop.section import Lying
from frame3d.surfaces.settle import settled
from frame3d.surfaces.surface import Array

RING = 720  # steps around saw and tube: heights are found to about 0.2 mm, well within overtravel
LEAST_CUT_MM = 0.001
SETTLED_MM, HERE_MM = 1e-5, 1e-3
HALVINGS = 30  # of the waste to saw off


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

    def after(self, pose: Pose) -> "Metal":
        """What a cut leaves."""
        return Metal(self.square, (*self.before, pose))


@dataclass(frozen=True)
class Depth:
    """Heights of metal under the saw, mm from where its axis would cross the tube's level line.

    touch: highest under the teeth; last: lowest under the teeth; top: highest inside the saw
    """

    touch: float
    last: float
    top: float

    @property
    def tall(self) -> float:
        """What stands inside the saw when its teeth reach the last metal, mm."""
        return self.top - self.last


def lying(pose: Pose) -> Lying:
    """The tube's sections as it lies for a cut."""
    return Lying(pose.cope.tube, pose.cope.end, pose.line_up)


def takes_metal(pose: Pose, metal: Metal) -> bool:
    """Whether a cut has anything deeper than `LEAST_CUT_MM` left to take."""
    return bool(np.isfinite(_contacts(pose, metal)).any())


def _contacts(pose: Pose, metal: Metal) -> Array:
    """Heights at which lines along outside and bore first meet the saw, nan where they do not, or
    no deeper than `LEAST_CUT_MM`: (N,)."""
    return np.concatenate([_contacts_along(pose, metal, bore) for bore in (False, True)])


def _contacts_along(pose: Pose, metal: Metal, bore: bool) -> Array:
    cope, tube = pose.cope, lying(pose)
    frame, saw = cope.frame, replace(pose.saw, radius=pose.radius - LEAST_CUT_MM)
    turn: Array = np.asarray(np.arange(RING) * (2 * np.pi / RING), float)

    def met(out: Array) -> tuple[Array, Array, Array]:
        across, height = tube.ring(out, turn, bore)
        origins = frame.origin - (frame.run + cope.seat) * frame.out
        origins = origins + np.outer(across, pose.away) + np.outer(height, pose.up)
        entry = saw.entry(origins, frame.out) - frame.run
        return entry, metal.reach(pose, across, height), height

    def stop(out: Array) -> Array:
        entry, reach, _ = met(out)
        return np.asarray(np.clip(np.minimum(entry, reach), -frame.run, frame.run))

    middle = np.zeros_like(turn)
    out = stop(middle) if tube.tube.is_uniform else settled(stop, middle, SETTLED_MM)
    entry, reach, height = met(out)
    here = (entry < reach) & (np.abs(entry - out) < HERE_MM)
    return np.where(here, out * np.sin(pose.rise) + height * np.cos(pose.rise), np.nan)


def depth_of(pose: Pose, metal: Metal) -> Depth:
    """Where the saw meets the tube; nan where its ring meets no metal at all.

    Outside and bore are followed: of a second cut at an end, either may stand lower.

    Along a tilted tube height only grows, so the highest metal inside the saw stands under its
    ring or at the edge where the tube ends.
    """
    angle: Array = np.asarray(np.arange(RING) * (2 * np.pi / RING), float)
    tube, place = lying(pose), pose.along(pose.x, 0.0).item()
    rings = []
    for bore in (False, True):
        lines = _over_lines(pose, tube.half_width(place, bore), angle)
        rings.append(_under_ring(pose, metal, np.concatenate([angle, lines]), bore))
    ring = np.concatenate([*rings, _contacts(pose, metal)])
    if not np.isfinite(ring).any():
        return Depth(np.nan, np.nan, np.nan)
    edge = _end_edge(pose, metal, angle)
    touch = float(np.nanmax(ring))
    return Depth(touch, float(np.nanmin(ring)), max(touch, edge.max(initial=-np.inf)))


def _over_lines(pose: Pose, half_width: float, angle: Array) -> Array:
    """Where around the saw its teeth stand over lines at equal steps about the tube.

    Equal steps about the saw alone are too wide at the tube's sides, where it falls off steeply.
    """
    share = (half_width * np.sin(angle) - pose.y) / pose.radius
    turn = np.arcsin(share[np.abs(share) <= 1.0])
    return np.concatenate([turn, np.pi - turn])


def _under_ring(pose: Pose, metal: Metal, angle: Array, bore: bool) -> Array:
    """Heights of one face of the wall, upper then lower half, under the saw's teeth: (2 N,).

    angle: radians about the spindle (N,). nan where no metal stands.
    """
    tube = lying(pose)
    x, y = pose.x + pose.radius * np.cos(angle), pose.y + pose.radius * np.sin(angle)
    found = []
    for upper in (0, 1):

        def face(h: Array, upper: int = upper) -> Array:
            return tube.heights(pose.along(x, np.nan_to_num(h)), y, bore)[upper]

        level = np.zeros_like(x)
        h = face(level) if tube.tube.is_uniform else settled(face, level, SETTLED_MM)
        with np.errstate(invalid="ignore"):
            stands = pose.along(x, h) <= metal.reach(pose, y, np.nan_to_num(h))
        found.append(np.where(stands, x * np.tan(pose.rise) + h / np.cos(pose.rise), np.nan))
    return np.concatenate(found)


def _end_edge(pose: Pose, metal: Metal, angle: Array) -> Array:
    """Heights of the edge where the tube's outside ends, as far as it stands inside the saw."""
    tube = lying(pose)

    def edge(out: Array) -> Array:
        return metal.reach(pose, *tube.ring(out, angle))

    out: Array = np.zeros_like(angle)
    out = edge(out) if tube.tube.is_uniform else settled(edge, out, SETTLED_MM)
    y, h = tube.ring(out, angle)
    x = out * np.cos(pose.rise) - h * np.sin(pose.rise)
    inside = (x - pose.x) ** 2 + (y - pose.y) ** 2 <= pose.radius**2
    return np.asarray((out * np.sin(pose.rise) + h * np.cos(pose.rise))[inside])


def waste_to_saw_off(pose: Pose, metal: Metal, cup: float, over: float) -> float | None:
    """How much to saw square off the blank so that the rest fits into a cup of that depth, mm.

    0 where it fits as it is; None where even the finished tip is too much for it.
    over: what the cup must hold beyond the metal
    """

    def fits(square: float) -> bool:
        return depth_of(pose, replace(metal, square=square)).tall + over <= cup

    if fits(metal.square):
        return 0.0
    least = tip_of(pose) + 0.5
    if least >= metal.square or not fits(least):
        return None
    low, high = least, metal.square
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        low, high = (middle, high) if fits(middle) else (low, middle)
    return metal.square - low


def tip_of(pose: Pose) -> float:
    """How far outward the finished end goes, mm; nothing may be sawn off below it."""
    cope = pose.cope
    stop = cope.position(cope.theta, np.ones_like(cope.theta))
    return float(stop[np.isfinite(stop)].max(initial=-np.inf))
