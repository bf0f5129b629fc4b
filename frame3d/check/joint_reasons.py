"""What is wrong with a joint, in a builder's words, found before a tube is cut."""

from collections.abc import Iterator

import numpy as np

from frame3d.check.gap import Footprint, Gap, clock, ear_volume, tip_thickness
from frame3d.model import Frame, Joint
from frame3d.quantities import told_beside
from frame3d.surfaces.cope import Cope, Copes
from frame3d.surfaces.surface import Array

LEAST_EAR_MM3 = 0.5
ALIKE_MM = 0.1  # 1 1/8 in is 28.575 mm, and sold as 28.6
GAP_ROUNDING_MM = 1e-6  # a gap that equals its limit passes


def parallel_reason(frame: Frame, joint: Joint, mates: tuple[str, ...], angle: float) -> str:
    return (
        f"the axes of {joint.tube} and {mates[0]} stand {angle:.2f} degrees apart; below "
        f"{frame.limits.least_angle_deg:g} they are too near parallel to cope"
    )


def shape_reasons(frame: Frame, joint: Joint, cope: Cope) -> Iterator[str]:
    """Lines of the end that miss the tool, a cope that eats too far, an end that stops short."""
    theta, _ = cope.face()
    stop = cope.face_stop
    missed = np.isinf(stop)
    if missed.any():
        yield _missing(joint, cope, theta, missed) + _alike(frame, joint)
        if missed.all():
            return
    for name, met in zip(joint.onto, cope.met, strict=True):
        if not met:
            yield (
                f"{joint.tube} does not meet {name} at its {joint.end}: from its middle to there "
                f"nothing of {name} is in its way; leave {name} out of onto"
            )
    if np.any(stop <= -cope.frame.run):
        yield f"the cope eats through {joint.tube} past its middle"
    touch = float(stop[~missed].min())
    if touch > 0:
        yield (
            f"{joint.tube} does not reach {_names(joint)}: its axis stops {touch:.2f} mm short "
            f"of touching"
        )


def _missing(joint: Joint, cope: Cope, theta: Array, missed: Array) -> str:
    share = 100.0 * missed.mean()
    where = clock(cope, _middle_angle(theta[missed]))
    if any(saw is not None for saw in joint.saws):
        saws = " and ".join(f"{saw:g} mm saw" for saw in joint.saws if saw is not None)
        return (
            f"the {saws} is too small to cut the whole end: {share:.1f} % of its lines miss it, "
            f"around {where} o'clock"
        )
    return (
        f"{joint.tube} hangs over the side of {_names(joint)}: {share:.1f} % of the end's lines "
        f"miss it, around {where} o'clock"
    )


def _alike(frame: Frame, joint: Joint) -> str:
    """Where a tube and what it is cut to differ by no more than a way of writing one size."""
    tube = frame.tube(joint.tube)
    od = float(tube.od(0.0 if joint.end == "start" else tube.length))
    for name, saw in zip(joint.onto, joint.saws, strict=True):
        mate = frame.tube(name).od
        other = float(mate.value[0] if saw is None else saw)
        if 0.0 < abs(od - other) < ALIKE_MM and (saw is not None or mate.is_constant):
            what = "the same tube" if saw is None else "a saw of the tube's own size"
            return f"; od {od:g} against {other:g} mm: {what}?"
    return ""


def _middle_angle(theta: Array) -> float:
    return float(np.angle(np.exp(1j * theta).sum()))


def _names(joint: Joint) -> str:
    return " and ".join(joint.onto)


def eaten_reason(joint: Joint, copes: Copes) -> Iterator[str]:
    """Copes at both ends that meet, so that a line of the tube has no metal left."""
    cope = copes[joint.tube, joint.end]
    other = copes.get((joint.tube, "start" if joint.end == "end" else "end"))
    if other is None:
        return
    theta, depth = cope.face()
    left = cope.tube.length + cope.face_stop + other.position(theta, depth)
    if np.any(left <= 0):
        at = clock(cope, float(theta[left.argmin()]))
        yield f"the copes at both ends of {joint.tube} meet: no metal is left at {at} o'clock"


def gap_reason(cope: Cope, gap: Gap, limit: float, suggestion: str) -> Iterator[str]:
    if gap.widest.value <= limit + GAP_ROUNDING_MM:
        return
    side = {0.0: "inner edge", 1.0: "outer edge"}.get(gap.widest.depth, "middle of the wall")
    value = told_beside(gap.widest.value, limit, 3)
    over = told_beside(gap.widest.value - limit, 0.0, 3)
    yield (
        f"gap {value} mm at {clock(cope, gap.widest.theta)} o'clock, {side}: {over} mm over the "
        f"limit of {limit:.3f} mm; {suggestion}"
    )


def ear_note(cope: Cope) -> Iterator[str]:
    """Not a fault: what has to be filed off by hand after sawing."""
    if (volume := ear_volume(cope)) > LEAST_EAR_MM3:
        yield f"the cuts leave an ear of about {volume:.1f} mm3 beyond the cope; take it off"


def footprint_reason(frame: Frame, joint: Joint, mate: str, footprint: Footprint) -> Iterator[str]:
    margin, least = footprint.margin, frame.limits.end_margin_mm
    if margin < 0:
        yield (
            f"{joint.tube} runs off {mate}: its footprint goes {-margin:.2f} mm past the "
            f"{footprint.nearer}"
        )
    elif margin < least:
        yield (
            f"{joint.tube} stands {margin:.2f} mm from the {footprint.nearer} of {mate}, nearer "
            f"than the margin of {least:g} mm"
        )


def feather_reason(frame: Frame, cope: Cope) -> Iterator[str]:
    at = cope.tip
    if not np.isfinite(at.value):
        return
    thickness = tip_thickness(cope, at)
    if thickness < frame.limits.feather_mm:
        yield (
            f"feather edge at the tip, {clock(cope, at.theta)} o'clock: {thickness:.3f} mm thick "
            f"1 mm behind it, thinner than the limit of {frame.limits.feather_mm:g} mm"
        )
