"""What must hold between a job's holes and measured ends and its tubes and joints."""

import difflib
from collections.abc import Iterable, Mapping, Sequence

from frame3d.jobs.job import Job
from frame3d.jobs.sides import on_both_sides
from frame3d.jobs.tube_checks import SAME_PLACE_MM
from frame3d.jobs.validation import nearest
from frame3d.model import Hole, Joint, Tube, angle_between
from frame3d.model.tube_section import half_height

# What is measured is nearer than this to what is drawn, or it is of something else; own choice.
OD_OFF = 0.05  # share of a tube's outside
SAW_OFF = 0.2  # share of a saw's
ANGLE_OFF_DEG = 10.0
NEAR_NAME = 0.8  # of difflib's ratio: "top tube" is no slip for "seat tube"


def holes_of(job: Job, tubes: Sequence[Tube]) -> tuple[Hole, ...]:
    """The job's holes. Raises JobError for one that lies on no tube, or is no narrower than it."""
    by_name = {tube.name: tube for tube in tubes}
    found = []
    for index, hole in on_both_sides(job.tables.hole, by_name, "angle_deg"):
        if hole.tube not in by_name:
            problem = f'found "{hole.tube}", and no tube has that name; '
            job.refuse(("hole", index, "tube"), problem + nearest(hole.tube, by_name))
        tube = by_name[hole.tube]
        if hole.at > tube.length + SAME_PLACE_MM:
            problem = f"found {hole.at:g} mm, expected 0 to {tube.length:g} mm, the axis's length"
            job.refuse(("hole", index, "at"), problem)
        across = 2 * half_height(tube, hole.at, hole.angle_deg + 90.0)
        if hole.diameter >= across:
            problem = f"found {hole.diameter:g} mm, expected less than the tube's {across:g} mm"
            job.refuse(("hole", index, "diameter"), problem)
        found.append(hole.hole())
    return tuple(found)


def check_measured(job: Job, tubes: Sequence[Tube], joints: Sequence[Joint]) -> None:
    """A measured end must be one that a joint shapes, and near what the job draws."""
    by_name = {tube.name: tube for tube in tubes}
    by_end = {(joint.tube, joint.end): joint for joint in joints}
    seen: set[tuple[str, str]] = set()
    for index, measured in enumerate(job.tables.measured):
        joint = by_end.get((measured.tube, measured.end))
        if joint is None:
            found = f'found "{measured.tube}", {measured.end}, which no joint shapes; '
            advice = _shaped_end(measured.tube, measured.end, by_name, by_end)
            job.refuse(("measured", index, "tube"), found + advice)
        tube = by_name[measured.tube]
        drawn = float(tube.od(tube.length if measured.end == "end" else 0.0))
        if measured.od is not None and abs(measured.od - drawn) > OD_OFF * drawn:
            problem = f"found {measured.od:g} mm, expected near the {drawn:g} mm of the job"
            job.refuse(("measured", index, "od"), f"{problem}: is it another tube?")
        if (measured.tube, measured.end) in seen:
            job.refuse(
                ("measured", index, "end"), "found a second table for this end, expected one"
            )
        seen.add((measured.tube, measured.end))
        _check_measured_mates(job, index, measured.mates, joint, by_name)
        asked = angle_between(tube, by_name[joint.onto[0]], measured.end)
        if measured.angle is not None and abs(measured.angle - asked) > ANGLE_OFF_DEG:
            problem = f"found {measured.angle:g}, expected near the {asked:.2f} degrees of the job"
            if abs(90 - measured.angle - asked) <= ANGLE_OFF_DEG:
                problem += "; it looks like the angle from square, 90 degrees less"
            job.refuse(("measured", index, "angle"), problem)
        for given, other, what in (
            ("long", "short", "angle"),
            ("short", "long", "angle"),
            ("left", "right", "centring"),
            ("right", "left", "centring"),
        ):
            if getattr(measured, given) and not getattr(measured, other):
                problem = f"found {given} without {other}, expected both: one alone tells no {what}"
                job.refuse(("measured", index, given), problem)
        if measured.centring is not None and measured.left:
            problem = (
                "found centring beside left and right, expected one of them: both say the same"
            )
            job.refuse(("measured", index, "centring"), problem)
        if measured.long and measured.short and measured.short > measured.long:
            problem = f"found {measured.short:g} mm, expected no more than the long line"
            job.refuse(("measured", index, "short"), problem)


def check_measured_saws(job: Job, joints: Sequence[Joint]) -> None:
    """A measured saw must be near one that cuts the joint, as the job says or the shop has it."""
    by_end = {(joint.tube, joint.end): joint for joint in joints}
    for index, measured in enumerate(job.tables.measured):
        if measured.saw is None:
            continue
        saws = [saw for saw in by_end[measured.tube, measured.end].saws if saw is not None]
        if not saws:
            job.refuse(("measured", index, "saw"), "found a saw, and the joint is cut without one")
        if not any(abs(measured.saw - saw) <= SAW_OFF * saw for saw in saws):
            near = " or ".join(f"{saw:g}" for saw in dict.fromkeys(saws))
            problem = f"found {measured.saw:g} mm, expected near the {near} mm of the joint"
            job.refuse(("measured", index, "saw"), f"{problem}: is it another saw?")


def _shaped_end(
    tube: str, end: str, tubes: Iterable[str], shaped: Iterable[tuple[str, str]]
) -> str:
    """`expected ...` with the other end of that tube, or an end of a tube whose name is near, if
    a joint shapes it; else with all ends that joints shape."""
    ends = list(shaped)
    near = [tube] if tube in tubes else difflib.get_close_matches(tube, tubes, 1, NEAR_NAME)
    own = [one for one in ends if one[0] in near]
    if own:
        name, which = min(own, key=lambda one: one[1] != end)
        return f'did you mean "{name}", {which}?'
    known = ", ".join(f'"{name}" {which}' for name, which in ends)
    return f"expected one of {known}" if known else "expected none here"


def _check_measured_mates(
    job: Job, index: int, mates: Mapping[str, float], joint: Joint, tubes: Mapping[str, Tube]
) -> None:
    for name, found in mates.items():
        if name not in joint.onto:
            problem = f'found "{name}", which that joint does not meet; '
            job.refuse(("measured", index, "mates"), problem + nearest(name, joint.onto))
        od = tubes[name].od
        if not (1 - OD_OFF) * od.least <= found <= (1 + OD_OFF) * od.greatest:
            problem = f"{name}: found {found:g} mm, expected near the {od.greatest:g} mm of the job"
            job.refuse(("measured", index, "mates"), f"{problem}: is it another tube?")
