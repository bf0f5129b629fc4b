"""Will this very tube close? A cut end as measured, in its joint."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from frame3d.check.joint_reasons import GAP_ROUNDING_MM
from frame3d.model import End, Frame, Joint, Measured, Tube, angle_between
from frame3d.surfaces.cope import Copes
from frame3d.surfaces.surface import Array
from frame3d.tolerance.chance import limit_at
from frame3d.tolerance.displaced_cut import Cut, Setups, cut
from frame3d.tolerance.measured_remedy import remedies
from frame3d.tolerance.setup_errors import tolerance
from frame3d.tolerance.simulate import Targets
from frame3d.tolerance.target import Target

STEP_DEG = STEP_MM = 0.01
SETTLED = 1e-6  # degrees or mm
ROUNDS = 20
MOST_TILT_DEG = 10.0
MOST_BESIDE_MM = 4.0
ROUNDING_MM = 0.005  # of a diameter as it is told
AGREE_DEG = 0.15  # an angle told and one from two lengths differ by no more; own choice


@dataclass(frozen=True)
class MeasuredFit:
    """gap: predicted worst gap, mm; tilt: error of the cut, degrees, and centring: of the saw, mm;
    short: how much the tube is drawn back at this end since it is too short, mm; notes and, where
    it fails, remedies: in words."""

    measured: Measured
    gap: float
    limit: float
    tilt: float
    centring: float
    short: float
    notes: tuple[str, ...]
    remedies: tuple[str, ...]

    @property
    def passes(self) -> bool:
        return self.gap <= self.limit + GAP_ROUNDING_MM


def measured_fit(frame: Frame, copes: Copes, targets: Targets, measured: Measured) -> MeasuredFit:
    """The fit of one measured end.

    Raises KeyError where its joint is not among the targets, ValueError for lengths that no cut
    near the job's has.
    """
    key = (measured.tube, measured.end)
    target, limit = targets[key], limit_at(frame, key)
    joint = frame.joint_at(*key)
    assert joint is not None
    notes: list[str] = []
    lengths = None
    if measured.long is not None and measured.short is not None:
        lengths = _tilt_of_lengths(frame, copes, target, joint, measured)
    tilt = lengths if lengths is not None else 0.0
    if measured.angle is not None:
        tilt = _sign(target) * (measured.angle - angle_between(*_first_pair(frame, joint)))
        if lengths is not None and abs(lengths - tilt) > AGREE_DEG:
            notes.append(
                f"the angle of {measured.angle:g} degrees and the two lengths disagree by "
                f"{abs(lengths - tilt):.2f} degrees: measure again; the angle is used"
            )
    alone = (measured.tube, _other(measured.end)) not in copes
    if measured.phase and alone:
        notes.append("phase: the tube has no other cut, so it is turned in the jig until it fits")
    centring = measured.centring or 0.0
    sides = (1.0, -1.0) if centring else (1.0,)
    if measured.left is not None and measured.right is not None:
        centring = _centring_of_lengths(frame, copes, target, joint, measured)
        sides = (1.0,) if abs(target.offset) > ROUNDING_MM else (1.0, -1.0)
    share = 0.0 if alone else 0.5
    # To which side it was is not told, unless the axes pass each other: the worse one counts.
    either = [_cut(frame, target, joint, measured, tilt, side * centring, share) for side in sides]
    short = [_shortness(copes, target, measured, one) for one in either]
    gaps = [float(one.gap(np.array([by]))[0]) for one, by in zip(either, short, strict=True)]
    worse = int(np.argmax(gaps))
    done, gap = either[worse], gaps[worse]
    lines = measured.left is not None or measured.centring is not None
    given = {"od": measured.od, "saw": measured.saw, "angle": measured.angle or lengths}
    given["centring"] = True if lines else None
    if not any(target.sawn):
        del given["saw"]
    assumed = [name for name, value in given.items() if value is None]
    if assumed:
        notes.append(f"not measured, taken as in the job: {', '.join(assumed)}")
    notes += _remarks(frame, joint, measured)
    if not measured.mates:
        notes.append(f"against a perfect {' and '.join(joint.onto)}")
    told: tuple[str, ...] = ()
    if gap > limit + GAP_ROUNDING_MM:
        told = remedies(frame, joint, done, short[worse], limit)
    return MeasuredFit(
        measured, gap, limit, _sign(target) * tilt, abs(centring), short[worse], tuple(notes), told
    )


def _remarks(frame: Frame, joint: Joint, measured: Measured) -> list[str]:
    """What was measured so far off that it may be another tube."""
    given = {joint.tube: measured.od, **dict(measured.mates)}
    told = []
    for name, od in given.items():
        tube = frame.tube(name)
        end = tube.length if (name, measured.end) == (joint.tube, "end") else 0.0
        drawn, allowed = float(tube.od(end)), tolerance(tube)
        if od is not None and tube.od.is_constant and abs(od - drawn) > allowed + ROUNDING_MM:
            told.append(
                f"{name}: {od:g} mm is {abs(od - drawn):.2f} mm {'over' if od > drawn else 'under'}"
                f" the job's {drawn:g}, beyond its class of ±{allowed:g} mm: is it another tube?"
            )
    return told


def _first_pair(frame: Frame, joint: Joint) -> tuple[Tube, Tube]:
    return frame.tube(joint.tube), frame.tube(joint.onto[0])


def _sign(target: Target) -> float:
    """A tilt opens the angle between outward direction and the mate's; that between the axes, at
    most 90 degrees, grows with it or shrinks."""
    return 1.0 if target.mates[0].axis[2] >= 0 else -1.0


def _other(end: End) -> End:
    return "start" if end == "end" else "end"


def _cut(
    frame: Frame,
    target: Target,
    joint: Joint,
    measured: Measured,
    tilt: float,
    centring: float,
    phase_share: float = 0.0,
) -> Cut:
    """The end as cut. A joint of several saws is tilted and off centre at its first. Of an error in
    phase between the tube's two cuts each end bears half: the tube is turned in the jig."""
    count = len(joint.onto)
    turn, shift = np.zeros((1, count, 3)), np.zeros((1, count, 3))
    turn[0, 0] = np.radians(tilt) * target.normals[0]
    shift[0, 0] = centring * target.normals[0]
    turn[..., 2] += np.radians(phase_share * (measured.phase or 0.0))
    tool, mate = np.zeros((1, count)), np.zeros((1, count))
    mates = dict(measured.mates)
    for k, (name, saw) in enumerate(zip(joint.onto, joint.saws, strict=True)):
        if saw is not None and measured.saw is not None:
            tool[0, k] = (measured.saw - saw) / 2
        if name in mates:
            mate[0, k] = mates[name] / 2 - target.mates[k].radius
    nominal = float(frame.tube(joint.tube).od.value[0])
    tube = np.array([0.0 if measured.od is None else (measured.od - nominal) / 2])
    return cut(target, Setups(turn, shift, tool, mate, tube))


def _lines(copes: Copes, target: Target, done: Cut, beside: bool = False) -> Array:
    """Length between the ends along the outside in the plane of the axes, on either side, or
    `beside` it, a quarter around from there: (2,), with the nominal slides of both ends."""
    cope = target.cope
    count = len(target.theta)
    at = [count // 4, 3 * count // 4] if beside else [0, count // 2]
    outer = len(target.depth) - 1
    stop = done.stop[0].reshape(count, -1)[at, outer]
    other = copes.get((cope.tube.name, _other(cope.end)))
    far = 0.0 if other is None else other.position(target.theta[at], np.ones(2))
    return np.asarray(cope.tube.length + stop + far)


def _tilt_of_lengths(
    frame: Frame, copes: Copes, target: Target, joint: Joint, measured: Measured
) -> float:
    """The tilt, degrees, that gives the measured difference of the long and the short line."""
    assert measured.long is not None
    assert measured.short is not None

    def apart(tilt: float) -> float:
        lines = _lines(copes, target, _cut(frame, target, joint, measured, tilt, 0.0))
        return float(lines[0] - lines[1])

    found = _solved(apart, measured.long - measured.short, STEP_DEG, MOST_TILT_DEG)
    if found is None:
        raise ValueError(
            f"long and short: found {measured.long:g} and {measured.short:g} mm, expected them "
            f"about {abs(apart(0.0)):.1f} mm apart: no cut within {MOST_TILT_DEG:g} degrees of the "
            "job's angle has these"
        )
    return found


def _centring_of_lengths(
    frame: Frame, copes: Copes, target: Target, joint: Joint, measured: Measured
) -> float:
    """How far the saw was beside the tube's axis, mm, by the lines to its left and right."""
    assert measured.left is not None
    assert measured.right is not None

    def apart(centring: float) -> float:
        done = _cut(frame, target, joint, measured, 0.0, centring)
        lines = _lines(copes, target, done, beside=True)
        return float(lines[0] - lines[1])

    found = _solved(apart, abs(measured.left - measured.right), STEP_MM, MOST_BESIDE_MM)
    if found is None:
        raise ValueError(
            f"left and right: found {measured.left:g} and {measured.right:g} mm, expected them "
            f"about {abs(apart(0.0)):.1f} mm apart: no cut within {MOST_BESIDE_MM:g} mm of the "
            "tube's axis has these"
        )
    return found


def _solved(
    apart: Callable[[float], float], wanted: float, step: float, most: float
) -> float | None:
    """The error at which two lines are `wanted` mm apart, the drawn longer one still the longer;
    None where none up to `most` does it."""
    sign = 1.0 if apart(0.0) >= 0 else -1.0

    def left(error: float) -> float:
        return sign * apart(error) - wanted

    if left(-most) * left(most) > 0:
        return None
    error = 0.0
    for _ in range(ROUNDS):
        slope = (left(error + step) - left(error - step)) / (2 * step)
        change = left(error) / slope
        error -= change
        if abs(change) < SETTLED:
            break
    return error


def _shortness(copes: Copes, target: Target, measured: Measured, done: Cut) -> float:
    """Half of what is missing between two coped ends, mm; 0 where the other end is free."""
    cope = target.cope
    other = (cope.tube.name, _other(cope.end))
    if measured.long is None or measured.short is None or other not in copes:
        return 0.0
    # As cut at the nominal setting the lines would be this long; the end then slides by its seat.
    made = (measured.long + measured.short) / 2 - float(_lines(copes, target, done).mean())
    return max(float(done.seat[0]) - made, 0.0) / 2
