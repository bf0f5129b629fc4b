"""What must hold between a job's holes and measured ends and its tubes and joints."""

from collections.abc import Sequence

from frame3d.jobs.job import Job
from frame3d.jobs.strict import nearest
from frame3d.model import Joint, Tube

OD_OFF = 0.05  # a real tube's outside is nearer than this to the drawn one; own choice


def check_holes(job: Job, tubes: Sequence[Tube]) -> None:
    """A hole must lie on a tube of the job, and be narrower than it."""
    by_name = {tube.name: tube for tube in tubes}
    for index, hole in enumerate(job.tables.hole):
        if hole.tube not in by_name:
            problem = f'found "{hole.tube}", and no tube has that name; '
            job.refuse(("hole", index, "tube"), problem + nearest(hole.tube, by_name))
        tube = by_name[hole.tube]
        if hole.at > tube.length:
            problem = f"found {hole.at:g} mm, expected 0 to {tube.length:g} mm, the axis's length"
            job.refuse(("hole", index, "at"), problem)
        od = float(tube.od(hole.at))
        if hole.diameter >= od:
            problem = f"found {hole.diameter:g} mm, expected less than the tube's {od:g} mm"
            job.refuse(("hole", index, "diameter"), problem)


def check_measured(job: Job, tubes: Sequence[Tube], joints: Sequence[Joint]) -> None:
    """A measured end must be one that a joint shapes, and near what the job draws."""
    by_name = {tube.name: tube for tube in tubes}
    by_end = {(joint.tube, joint.end): joint for joint in joints}
    for index, measured in enumerate(job.tables.measured):
        joint = by_end.get((measured.tube, measured.end))
        if joint is None:
            ends = [f"{tube}, {end}" for tube, end in by_end]
            found = f'found "{measured.tube}", {measured.end}, which no joint shapes; '
            advice = nearest(f"{measured.tube}, {measured.end}", ends)
            job.refuse(("measured", index, "tube"), found + advice)
        tube = by_name[measured.tube]
        drawn = float(tube.od(tube.length if measured.end == "end" else 0.0))
        if measured.od is not None and abs(measured.od - drawn) > OD_OFF * drawn:
            problem = f"found {measured.od:g} mm, expected near the {drawn:g} mm of the job"
            job.refuse(("measured", index, "od"), f"{problem}: is it another tube?")
        for name in measured.mates:
            if name not in joint.onto:
                problem = f'found "{name}", which that joint does not meet; '
                job.refuse(("measured", index, "mates"), problem + nearest(name, joint.onto))
        if measured.saw is not None and not any(joint.saws):
            job.refuse(("measured", index, "saw"), "found a saw, and the joint is cut without one")
        if measured.long and measured.short and measured.short > measured.long:
            problem = f"found {measured.short:g} mm, expected no more than the long line"
            job.refuse(("measured", index, "short"), problem)
