"""What metal the saw meets on its way down: first touch, last metal, what its cup must hold."""

from dataclasses import dataclass, replace

import numpy as np

from frame3d.mill.cross_section import Lying
from frame3d.mill.pose import Pose
from frame3d.model import Saw
from frame3d.surfaces.fixed_point import settled
from frame3d.surfaces.surface import Array

RING = 720  # steps around saw and tube: heights are found to about 0.2 mm, well within overtravel
LEAST_CUT_MM = 0.001
SETTLED_MM, HERE_MM = 1e-5, 1e-3
HALVINGS = 12  # of the waste to saw off: to better than the whole millimetre that is told
LEAST_LEFT_MM = 0.5  # beyond the finished tip, which is known to some hundredths; own choice
LEAST_INSIDE = 0.05  # of a saw so small that its teeth fill it
AT_EDGE_MM = 0.5  # a touch this near to the edge is on it
TOUCH_SIDE, TOUCH_END = "the tube's side", "the tip of the blank"
TOUCH_CUT = "the edge that the cut before it left"


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
class Touch:
    """Where the teeth first touch, mm: to the right of the spindle, towards the column, and height
    above where its axis would cross the tube's level line. on: what they touch there."""

    right: float
    away: float
    height: float
    on: str


@dataclass(frozen=True)
class Depth:
    """Heights of metal under the saw, mm from where its axis would cross the tube's level line.

    first: the highest under the thickest teeth that the saw may have; thin: the same under the
    thinnest; last: lowest under the teeth; top: highest inside them
    """

    first: Touch
    thin: float
    last: float
    top: float

    @property
    def run(self) -> float:
        """From first touch to the last metal, mm."""
        return self.first.height - self.last

    @property
    def above(self) -> float:
        """Over the first touch there may stand so much inside the saw, mm."""
        return max(self.top - self.thin, 0.0)

    @property
    def tall(self) -> float:
        """What may stand inside the saw when it has run so far, mm: thin teeth touch lower, and so
        are stopped lower."""
        return max(self.run + self.top - self.thin, 0.0)


def lying(pose: Pose) -> Lying:
    """The tube's sections as it lies for a cut."""
    return Lying(pose.cope.tube, pose.cope.end, pose.line_up)


def takes_metal(pose: Pose, metal: Metal) -> bool:
    """Whether a cut has anything deeper than `LEAST_CUT_MM` left to take."""
    return bool(len(_contacts(pose, metal)))


def _contacts(pose: Pose, metal: Metal) -> Array:
    """Points (N, 3) at which lines along outside and bore first meet the saw, deeper than
    `LEAST_CUT_MM`."""
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
    across, _ = tube.ring(out, turn, bore)
    return _points(pose, out, across, height)[here]


def _points(pose: Pose, out: Array, across: Array, height: Array) -> Array:
    """(N, 3) x to the right, y away and z up, from the place along, beside and square to a tube."""
    sine, cosine = np.sin(pose.rise), np.cos(pose.rise)
    return np.stack([out * cosine - height * sine, across, out * sine + height * cosine], axis=1)


def depth_of(pose: Pose, metal: Metal, tooth: tuple[float, float]) -> Depth | None:
    """Where the saw meets the tube; None where it meets no metal at all.

    tooth: least and greatest thickness of the saw's teeth, mm

    Outside and bore are followed: of a second cut at an end, either may stand lower.

    Along a tilted tube height only grows, so the highest metal under the teeth or inside the saw
    stands under one of their rims or at the edge where the tube ends; a rim between them is for
    profiles that turn.
    """
    turn: Array = np.asarray(np.arange(RING) * (2 * np.pi / RING), float)
    met = np.concatenate([_under_rim(pose, metal, turn, pose.radius), _contacts(pose, metal)])
    if not len(met):
        return None
    edge = np.concatenate([_end_edge(pose, metal, turn, bore) for bore in (False, True)])

    def within(points: Array, low: float, high: float) -> Array:
        rho = np.hypot(points[:, 0] - pose.x, points[:, 1] - pose.y)
        return points[(rho >= low) & (rho <= high)]

    def highest(thickness: float) -> tuple[Array, float]:
        """The first that teeth touch, and the height of the highest inside them."""
        inner = max(pose.radius - thickness, LEAST_INSIDE * pose.radius)
        rims = [_under_rim(pose, metal, turn, r) for r in ((pose.radius + inner) / 2, inner)]
        under = np.concatenate([met, *rims, within(edge, inner, pose.radius)])
        inside = np.concatenate([rims[1], within(edge, 0.0, inner)])
        return under[np.argmax(under[:, 2])], float(inside[:, 2].max(initial=-np.inf))

    (thin, top), (first, _) = highest(tooth[0]), highest(tooth[1])
    return Depth(_touch(pose, metal, first), float(thin[2]), float(met[:, 2].min()), top)


def _touch(pose: Pose, metal: Metal, point: Array) -> Touch:
    x, y, z = (float(value) for value in point)
    out = x * np.cos(pose.rise) + z * np.sin(pose.rise)
    height = z * np.cos(pose.rise) - x * np.sin(pose.rise)
    reach = float(metal.reach(pose, np.array([y]), np.array([height]))[0])
    on = TOUCH_SIDE
    if reach - out < AT_EDGE_MM:
        on = TOUCH_END if reach >= metal.square else TOUCH_CUT
    return Touch(x - pose.x, y - pose.y, z, on)


def _under_rim(pose: Pose, metal: Metal, turn: Array, radius: float) -> Array:
    """Points (N, 3) of both faces of the wall under a circle about the spindle.

    turn: radians about the spindle; over equal steps about the tube points are added, since its
    sides fall off too steeply for equal steps about the saw alone.
    """
    tube, place = lying(pose), pose.along(pose.x, 0.0).item()
    found = []
    for bore in (False, True):
        share = (tube.half_width(place, bore) * np.sin(turn) - pose.y) / radius
        lines = np.arcsin(share[np.abs(share) <= 1.0])
        around = np.concatenate([turn, lines, np.pi - lines])
        found.append(_under_circle(pose, metal, around, radius, bore))
    return np.concatenate(found)


def _under_circle(pose: Pose, metal: Metal, turn: Array, radius: float, bore: bool) -> Array:
    """Points (N, 3) of one face of the wall, upper and lower half, under a circle where metal
    stands; turn: radians about the spindle."""
    tube = lying(pose)
    x, y = pose.x + radius * np.cos(turn), pose.y + radius * np.sin(turn)
    found = []
    for upper in (0, 1):

        def face(h: Array, upper: int = upper) -> Array:
            return tube.heights(pose.along(x, np.nan_to_num(h)), y, bore)[upper]

        level = np.zeros_like(x)
        h = face(level) if tube.tube.is_uniform else settled(face, level, SETTLED_MM)
        out = pose.along(x, np.nan_to_num(h))
        stands = np.isfinite(h) & (out <= metal.reach(pose, y, np.nan_to_num(h)))
        found.append(_points(pose, out, y, h)[stands])
    return np.concatenate(found)


def _end_edge(pose: Pose, metal: Metal, turn: Array, bore: bool) -> Array:
    """Points (N, 3) of the edge where a face of the wall ends; turn: radians about the tube."""
    tube = lying(pose)

    def edge(out: Array) -> Array:
        return metal.reach(pose, *tube.ring(out, turn, bore))

    out: Array = np.zeros_like(turn)
    out = edge(out) if tube.tube.is_uniform else settled(edge, out, SETTLED_MM)
    points = _points(pose, out, *tube.ring(out, turn, bore))
    return points[np.isfinite(points).all(axis=1)]


def waste_to_saw_off(pose: Pose, metal: Metal, saw: Saw, over: float) -> float | None:
    """How much to saw square off the blank so that the rest fits into a saw of known depth, mm.

    0 where it fits as it is; None where even the finished tip is too much for it.
    over: what the cup must hold beyond the metal
    """

    def fits(square: float) -> bool:
        depth = depth_of(pose, replace(metal, square=square), saw.tooth)
        return depth is not None and depth.tall + over <= (saw.depth or np.inf)

    if fits(metal.square):
        return 0.0
    least = tip_of(pose) + LEAST_LEFT_MM
    if least >= metal.square or not fits(least):
        return None
    low, high = least, metal.square
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        low, high = (middle, high) if fits(middle) else (low, middle)
    return metal.square - low


def tip_of(pose: Pose) -> float:
    """How far outward the finished end goes, mm; nothing may be sawn off below it."""
    return pose.cope.tip.value
