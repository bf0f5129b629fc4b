"""What must hold between the tables of a job: names that exist, ends that are coped once."""

from collections.abc import Sequence
from graphlib import CycleError, TopologicalSorter
from itertools import pairwise

from frame3d.jobs.job import Job
from frame3d.jobs.measurement_checks import check_measured
from frame3d.jobs.schema import JointTable
from frame3d.jobs.validation import nearest
from frame3d.model import Joint, Tube


def check_relations(
    job: Job, tubes: Sequence[tuple[int | None, Tube]], joints: Sequence[Joint]
) -> None:
    """Raise JobError for the first relation that does not hold.

    tubes: each with the number of the table that it comes from, or None; joints: the frame's.
    """
    seen: set[str] = set()
    for index, tube in tubes:
        if tube.name in seen:
            problem = f'found "{tube.name}" a second time, expected a name of its own'
            job.refuse(("tube",) if index is None else ("tube", index, "name"), problem)
        seen.add(tube.name)
    names = [tube.name for _, tube in tubes]
    ends: set[tuple[str, str]] = set()
    for index, joint in enumerate(job.tables.joint):
        _check_names(job, index, joint, names)
        if (joint.tube, joint.end) in ends:
            problem = (
                f'the {joint.end} of "{joint.tube}" is coped a second time, expected one joint'
            )
            job.refuse(("joint", index, "end"), f"{problem} with all its mates in `onto`")
        ends.add((joint.tube, joint.end))
    _check_order(job, names, joints)
    check_measured(job, [tube for _, tube in tubes], joints)
    for name in job.tables.paint.tube:
        if name not in seen:
            job.refuse(("paint", "tube", name), f"no such tube, {nearest(name, names)}")


def _check_names(job: Job, index: int, joint: JointTable, tubes: list[str]) -> None:
    def known(name: str, key: str) -> None:
        if name not in tubes:
            problem = f'found "{name}", and no tube has that name; {nearest(name, tubes)}'
            job.refuse(("joint", index, key), problem)

    known(joint.tube, "tube")
    for name in joint.onto:
        known(name, "onto")
        if name == joint.tube:
            job.refuse(("joint", index, "onto"), f'found "{name}" itself, expected other tubes')
    if len(set(joint.onto)) < len(joint.onto):
        job.refuse(("joint", index, "onto"), "found the same tube twice, expected each once")
    if joint.saw is not None and joint.cut not in (None, "saw"):
        problem = f'found "{joint.cut}" beside a saw; expected one of them, or cut = "saw"'
        job.refuse(("joint", index, "cut"), problem)
    if isinstance(joint.saw, dict):
        for name in joint.saw:
            if name not in joint.onto:
                problem = f'found "{name}", which is not in `onto`; {nearest(name, joint.onto)}'
                job.refuse(("joint", index, "saw"), problem)


def _check_order(job: Job, names: list[str], joints: Sequence[Joint]) -> None:
    """A tube runs through at its mates' ends, so no tube may end on one that ends on it."""
    mates: dict[str, set[str]] = {name: set() for name in names}
    for joint in joints:
        mates[joint.tube].update(joint.onto)
    try:
        TopologicalSorter(mates).prepare()
    except CycleError as error:
        circle = error.args[1][::-1]
        links = set(pairwise(circle))
        # Joints that a bicycle brings form no circle: one of the job's own is in it.
        index = next(
            i
            for i, joint in enumerate(job.tables.joint)
            if any((joint.tube, name) in links for name in joint.onto)
        )
        problem = f"found the circle {' onto '.join(circle)}, expected one of them to run through"
        job.refuse(("joint", index, "onto"), problem)
