"""What the report tells of each tube, plate and joint."""

import numpy as np

from frame3d.check.filler_metals import process_reason
from frame3d.check.gap import Footprint, clock, footprint_on, gap_of
from frame3d.check.gap_limit import gap_limit
from frame3d.check.joint_reasons import (
    GAP_ROUNDING_MM,
    ear_note,
    eaten_reason,
    feather_reason,
    footprint_reason,
    gap_reason,
    parallel_reason,
    shape_reasons,
)
from frame3d.check.landing import landing_notes, landing_reasons
from frame3d.check.report import JointReport, MateReport, PlateReport, TubeReport
from frame3d.check.saw_choice import suggestion
from frame3d.model import ENDS, Frame, Joint, angle_between, offset_between, phase
from frame3d.model.tube import Point
from frame3d.solids.centroid import centroid
from frame3d.solids.finished_plate import FinishedPlate
from frame3d.solids.finished_tube import FinishedTube
from frame3d.solids.frame_solids import Finished
from frame3d.surfaces.cope import Cope, Copes, too_parallel
from frame3d.tables import row


def tube_report(finished: FinishedTube, copes: Copes) -> TubeReport:
    """Size and mass of one finished tube."""
    tube, extent = finished.tube, finished.extent
    length = tube.length
    for end in ENDS:
        cope = copes.get((tube.name, end))
        square = -extent.start if end == "start" else extent.end - tube.length
        reach = square if cope is None else cope.tip.value
        length += reach if np.isfinite(reach) else 0.0
    return TubeReport(
        tube.name,
        tube.material,
        tube.od.greatest,
        length,
        finished.volume,
        _mass(finished),
        _centre(finished),
        finished.dropped,
    )


def plate_report(finished: FinishedPlate) -> PlateReport:
    """Size and mass of one plate."""
    plate, volume = finished.plate, finished.volume
    mass, centre = _mass(finished), _centre(finished)
    return PlateReport(plate.name, plate.material, plate.thickness, volume, mass, centre)


def _mass(part: Finished) -> float:
    return part.volume * float(row("materials", part.material)["density_g_cm3"]) / 1000.0


def _centre(part: Finished) -> Point:
    x, y, z = centroid(part.solid)
    return float(x), float(y), float(z)


def joint_report(frame: Frame, joint: Joint, copes: Copes) -> JointReport:
    """The fit of one joint; `copes` are those of the whole frame."""
    cope = copes.get((joint.tube, joint.end))
    if cope is None:
        return _unshaped(frame, joint)
    footprints = [_footprint(frame, joint, copes, which) for which in range(len(joint.onto))]
    gap = gap_of(cope)
    limit = gap_limit(frame, joint)
    advice = suggestion(frame, joint, limit) if gap.widest.value > limit + GAP_ROUNDING_MM else ""
    reasons = [
        *shape_reasons(frame, joint, cope),
        *eaten_reason(joint, copes),
        *gap_reason(cope, gap, limit, advice),
        *feather_reason(frame, cope),
        *process_reason(frame, joint),
    ]
    notes = [*ear_note(cope)]
    for which, footprint in enumerate(footprints):
        reasons += footprint_reason(frame, joint, joint.onto[which], footprint)
        reasons += landing_reasons(frame, joint, cope, which, footprint)
        notes += landing_notes(frame, joint, which, footprint)
    return JointReport(
        joint,
        _mate_reports(frame, joint, footprints),
        cope.seat,
        gap,
        clock(cope, gap.widest.theta),
        limit,
        tuple(reasons),
        tuple(notes),
    )


def _unshaped(frame: Frame, joint: Joint) -> JointReport:
    """A joint whose axes are too near parallel: no figures, only the reason."""
    parallel = too_parallel(frame, joint)
    angle = angle_between(frame.tube(joint.tube), frame.tube(parallel[0]), joint.end)
    reason = parallel_reason(frame, joint, parallel, angle)
    mates = _mate_reports(frame, joint, [None] * len(joint.onto))
    limit = gap_limit(frame, joint)
    reasons = (reason, *process_reason(frame, joint))
    return JointReport(joint, mates, None, None, None, limit, reasons)


def _mate_reports(
    frame: Frame, joint: Joint, footprints: list[Footprint] | list[None]
) -> tuple[MateReport, ...]:
    tube = frame.tube(joint.tube)
    return tuple(
        MateReport(
            name,
            angle_between(tube, mate, joint.end),
            offset_between(tube, mate, joint.end),
            phase(tube, mate, joint.end),
            saw,
            footprint,
        )
        for name, saw, footprint in zip(joint.onto, joint.saws, footprints, strict=True)
        for mate in [frame.tube(name)]
    )


def _footprint(frame: Frame, joint: Joint, copes: Copes, which: int) -> Footprint:
    """An end of the mate that itself is coped onto another of the joint's mates bounds nothing:
    there the one stands against the other, and no metal is missing."""
    name = joint.onto[which]
    ends: dict[str, Cope | None] = {}
    for end in ENDS:
        own = frame.joint_at(name, end)
        if own is None or not set(own.onto) & set(joint.onto):
            ends[end] = copes.get((name, end))
    return footprint_on(copes[joint.tube, joint.end], which, frame.tube(name), ends)
