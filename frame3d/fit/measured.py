"""Will this very tube close? A cut end as measured, in its joint."""

from dataclasses import dataclass

import numpy as np

from frame3d.fit.budget.chance import limit_at
from frame3d.fit.budget.cut import Cut, Setups, cut
from frame3d.fit.budget.simulate import Targets
from frame3d.fit.budget.target import Target
from frame3d.fit.section import number
from frame3d.fit.trouble import GAP_ROUNDING_MM
from frame3d.model import End, Frame, Joint, Measured, Tube, angle_between
from frame3d.surfaces.cope import Copes
from frame3d.surfaces.surface import Array

STEP_DEG = 0.01
SETTLED_DEG = 1e-6
ROUNDS = 20
MOST_TILT_DEG = 10.0
AGREE_DEG = 0.15  # an angle told and one from two lengths differ by no more; own choice


@dataclass(frozen=True)
class MeasuredFit:
    """gap: predicted worst gap, mm; tilt: error of the cut, degrees; short: how much the tube is
    drawn back at this end since it is too short, mm; notes: in words."""

    measured: Measured
    gap: float
    limit: float
    tilt: float
    short: float
    notes: tuple[str, ...]

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
    done = _cut(frame, target, joint, measured, tilt, 0.0 if alone else 0.5)
    short = _shortness(copes, target, measured, done)
    given = {"od": measured.od, "saw": measured.saw, "angle": measured.angle or lengths}
    if not any(target.sawn):
        del given["saw"]
    assumed = [name for name, value in given.items() if value is None]
    if assumed:
        notes.append(f"not measured, taken as in the job: {', '.join(assumed)}")
    if not measured.mates:
        notes.append(f"against a perfect {' and '.join(joint.onto)}")
    gap = float(done.gap(np.array([short]))[0])
    return MeasuredFit(measured, gap, limit, _sign(target) * tilt, short, tuple(notes))


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
    phase_share: float = 0.0,
) -> Cut:
    """The end as cut. A joint of several saws is tilted at its first. Of an error in phase between
    the tube's two cuts each end bears half: the tube is turned in the jig."""
    count = len(joint.onto)
    turn, shift = np.zeros((1, count, 3)), np.zeros((1, count, 3))
    turn[0, 0] = np.radians(tilt) * target.normals[0]
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


def _lines(copes: Copes, target: Target, done: Cut) -> Array:
    """Length between the ends along the outside in the plane of the axes, on either side: (2,),
    with the nominal slides of both ends."""
    cope = target.cope
    half = len(target.theta) // 2
    outer = len(target.depth) - 1
    stop = done.stop[0].reshape(len(target.theta), -1)[[0, half], outer]
    other = copes.get((cope.tube.name, _other(cope.end)))
    far = 0.0 if other is None else other.position(target.theta[[0, half]], np.ones(2))
    return np.asarray(cope.tube.length + stop + far)


def _tilt_of_lengths(
    frame: Frame, copes: Copes, target: Target, joint: Joint, measured: Measured
) -> float:
    """The tilt, degrees, that gives the measured difference of the long and the short line."""
    assert measured.long is not None
    assert measured.short is not None
    nominal = _lines(copes, target, _cut(frame, target, joint, measured, 0.0))
    sign = 1.0 if nominal[0] >= nominal[1] else -1.0

    def left(tilt: float) -> float:
        lines = _lines(copes, target, _cut(frame, target, joint, measured, tilt))
        return sign * float(lines[0] - lines[1]) - (measured.long - measured.short)  # type: ignore[operator]

    if left(-MOST_TILT_DEG) * left(MOST_TILT_DEG) > 0:
        raise ValueError(
            f"long and short: found {measured.long:g} and {measured.short:g} mm, expected them "
            f"about {abs(float(nominal[0] - nominal[1])):.1f} mm apart: no cut within "
            f"{MOST_TILT_DEG:g} degrees of the job's angle has these"
        )
    tilt = 0.0
    for _ in range(ROUNDS):
        slope = (left(tilt + STEP_DEG) - left(tilt - STEP_DEG)) / (2 * STEP_DEG)
        step = left(tilt) / slope
        tilt -= step
        if abs(step) < SETTLED_DEG:
            break
    return tilt


def _shortness(copes: Copes, target: Target, measured: Measured, done: Cut) -> float:
    """Half of what is missing between two coped ends, mm; 0 where the other end is free."""
    cope = target.cope
    other = (cope.tube.name, _other(cope.end))
    if measured.long is None or measured.short is None or other not in copes:
        return 0.0
    # As cut at the nominal setting the lines would be this long; the end then slides by its seat.
    made = (measured.long + measured.short) / 2 - float(_lines(copes, target, done).mean())
    return max(float(done.seat[0]) - made, 0.0) / 2


def as_json(fit: MeasuredFit) -> dict[str, object]:
    return {
        "tube": fit.measured.tube,
        "end": fit.measured.end,
        "gap_mm": number(fit.gap),
        "limit_mm": number(fit.limit),
        "tilt_deg": number(fit.tilt),
        "short_mm": number(2 * fit.short),
        "verdict": "pass" if fit.passes else "fail",
        "notes": list(fit.notes),
    }
