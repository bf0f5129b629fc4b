"""What must hold between the tables of a job: names that exist, ends cut once, walls that fit."""

from collections.abc import Callable
from graphlib import CycleError, TopologicalSorter
from pathlib import Path
from typing import Any, NoReturn

import numpy as np

from frame3d.jobs.locate import KeyPath
from frame3d.jobs.schema import LEAST_LENGTH_MM, JobFile, JointTable, TubeTable
from frame3d.jobs.shop_mill import HoleTable
from frame3d.jobs.strict import fail, key_text, nearest

OD_OFF = 0.05  # a real tube's outside is nearer than this to the drawn one; own choice

Refuse = Callable[[KeyPath, str], NoReturn]


def check_relations(file: Path, text: str, data: dict[str, Any], job: JobFile) -> None:
    """Raise JobError for the first relation that does not hold."""

    def refuse(path: KeyPath, problem: str) -> NoReturn:
        fail(file, text, path, key_text(path, data), problem)

    seen: dict[str, int] = {}
    for index, tube in enumerate(job.tube):
        if tube.name in seen:
            problem = f'found "{tube.name}" a second time, expected a name of its own'
            refuse(("tube", index, "name"), problem)
        seen[tube.name] = index
        _check_tube(index, tube, refuse)
    ends: set[tuple[str, str]] = set()
    for index, joint in enumerate(job.joint):
        _check_names(index, joint, list(seen), refuse)
        if (joint.tube, joint.end) in ends:
            problem = (
                f'the {joint.end} of "{joint.tube}" is coped a second time, expected one joint'
            )
            refuse(("joint", index, "end"), f"{problem} with all its mates in `onto`")
        ends.add((joint.tube, joint.end))
    for index, hole in enumerate(job.hole):
        _check_hole(index, hole, {tube.name: tube for tube in job.tube}, refuse)
    _check_order(job, refuse)
    for name in job.paint.tube:
        if name not in seen:
            refuse(("paint", "tube", name), f"no such tube, {nearest(name, seen)}")
    _check_measured(job, refuse)


def _check_tube(index: int, tube: TubeTable, refuse: Refuse) -> None:
    length = float(np.linalg.norm(np.subtract(tube.end, tube.start)))
    if length < LEAST_LENGTH_MM:
        problem = f"found an axis of {length:g} mm from start, expected {LEAST_LENGTH_MM:g} or more"
        refuse(("tube", index, "end"), problem)
    thickest = max(wall for _, wall in tube.wall)
    if thickest >= tube.od / 2:
        problem = f"found {thickest:g} mm, expected less than the radius of {tube.od / 2:g} mm"
        refuse(("tube", index, "wall"), problem)
    first, last = tube.wall[0][0], tube.wall[-1][0]
    if first < 0 or last > length:
        outside = first if first < 0 else last
        problem = (
            f"found a station at {outside:g} mm, expected 0 to {length:g} mm, the axis's length"
        )
        refuse(("tube", index, "wall"), problem)


def _check_names(index: int, joint: JointTable, tubes: list[str], refuse: Refuse) -> None:
    def known(name: str, key: str) -> None:
        if name not in tubes:
            problem = f'found "{name}", and no tube has that name; {nearest(name, tubes)}'
            refuse(("joint", index, key), problem)

    known(joint.tube, "tube")
    for name in joint.onto:
        known(name, "onto")
        if name == joint.tube:
            refuse(("joint", index, "onto"), f'found "{name}" itself, expected other tubes')
    if len(set(joint.onto)) < len(joint.onto):
        refuse(("joint", index, "onto"), "found the same tube twice, expected each once")
    if isinstance(joint.saw, dict):
        for name in joint.saw:
            if name not in joint.onto:
                problem = f'found "{name}", which is not in `onto`; {nearest(name, joint.onto)}'
                refuse(("joint", index, "saw"), problem)


def _check_hole(index: int, hole: HoleTable, tubes: dict[str, TubeTable], refuse: Refuse) -> None:
    if hole.tube not in tubes:
        problem = f'found "{hole.tube}", and no tube has that name; {nearest(hole.tube, tubes)}'
        refuse(("hole", index, "tube"), problem)
    tube = tubes[hole.tube]
    length = float(np.linalg.norm(np.subtract(tube.end, tube.start)))
    if hole.at > length:
        problem = f"found {hole.at:g} mm, expected 0 to {length:g} mm, the axis's length"
        refuse(("hole", index, "at"), problem)
    if hole.diameter >= tube.od:
        problem = f"found {hole.diameter:g} mm, expected less than the tube's {tube.od:g} mm"
        refuse(("hole", index, "diameter"), problem)


def _check_measured(job: JobFile, refuse: Refuse) -> None:
    joints = {(joint.tube, joint.end): joint for joint in job.joint}
    for index, measured in enumerate(job.measured):
        joint = joints.get((measured.tube, measured.end))
        if joint is None:
            ends = [f"{tube}, {end}" for tube, end in joints]
            problem = (
                f'found "{measured.tube}", {measured.end}, which no joint shapes; '
                f"{nearest(f'{measured.tube}, {measured.end}', ends)}"
            )
            refuse(("measured", index, "tube"), problem)
        drawn = next(tube.od for tube in job.tube if tube.name == measured.tube)
        if measured.od is not None and abs(measured.od - drawn) > OD_OFF * drawn:
            problem = f"found {measured.od:g} mm, expected near the {drawn:g} mm of the job"
            refuse(("measured", index, "od"), f"{problem}: is it another tube?")
        for name in measured.mates:
            if name not in joint.onto:
                problem = f'found "{name}", which that joint does not meet; '
                refuse(("measured", index, "mates"), problem + nearest(name, joint.onto))
        if measured.saw is not None and joint.saw is None:
            refuse(("measured", index, "saw"), "found a saw, and the joint is cut without one")
        if measured.long and measured.short and measured.short > measured.long:
            problem = f"found {measured.short:g} mm, expected no more than the long line"
            refuse(("measured", index, "short"), problem)


def _check_order(job: JobFile, refuse: Refuse) -> None:
    """A tube runs through at its mates' ends, so no tube may end on one that ends on it."""
    mates: dict[str, set[str]] = {tube.name: set() for tube in job.tube}
    for joint in job.joint:
        mates[joint.tube].update(joint.onto)
    try:
        TopologicalSorter(mates).prepare()
    except CycleError as error:
        circle = error.args[1][::-1]
        index = next(
            i
            for i, joint in enumerate(job.joint)
            if joint.tube == circle[0] and circle[1] in joint.onto
        )
        problem = f"found the circle {' onto '.join(circle)}, expected one of them to run through"
        refuse(("joint", index, "onto"), problem)
