"""What cuts each end, on whose word, and which of the shop's saws would do else."""

import math
from dataclasses import dataclass, replace
from itertools import islice

from frame3d.check.gap_limit import gap_limit
from frame3d.check.saw_choice import options_for, predicted, shop_choices, suggestion
from frame3d.mill.printed_numbers import length, printed
from frame3d.model import Frame, Joint
from frame3d.surfaces.cope import too_parallel

MOST_ALTERNATIVES = 3
SOURCES = {
    "joint": "as the joint says",
    "job": "as the job says",
    "shop": "as the shop file says",
    "default": "as nothing else is said",
}


@dataclass(frozen=True)
class Alternative:
    """Saws for the mates of an end, and the gap they would leave."""

    saws: tuple[float | None, ...] = printed("mm", "saws, in the order of the mates")
    gap: float = printed("mm", "widest predicted gap")


@dataclass(frozen=True)
class SawChoice:
    """What cuts an end, why, and what else would do."""

    tube: str = printed("", "tube that is cut")
    end: str = printed("", "end that is cut")
    onto: tuple[str, ...] = printed("", "tubes that it meets")
    cut_by: str = printed("", "saw, hand or laser")
    source: str = printed("", "what says so: joint, job, shop, or nothing (default)")
    note: str = printed("", "why none of the shop's saws is taken, where a saw is wanted")
    saws: tuple[float | None, ...] = printed("mm", "saws; null: by hand to the mate")
    gap: float | None = printed("mm", "widest predicted gap; null where the end is not cut whole")
    limit: float = printed("mm", "widest gap that passes")
    alternatives: tuple[Alternative, ...] = printed("", "the shop's other saws, best first")
    advice: str = printed("", "what to do where no saw of the shop passes")


def saw_choices(frame: Frame) -> tuple[SawChoice, ...]:
    """Of every end that can be shaped."""
    return tuple(_choice(frame, joint) for joint in frame.joints if not too_parallel(frame, joint))


def _choice(frame: Frame, joint: Joint) -> SawChoice:
    limit = gap_limit(frame, joint)
    ways = [saws for saws in options_for(frame, joint) if saws != joint.saws]
    others = [
        other
        for other in islice(shop_choices(frame, joint, ways), MOST_ALTERNATIVES)
        if math.isfinite(other.gap)
    ]
    gap = predicted(frame, joint, joint.saws).gap
    advice = ""
    if gap > limit:
        advice = suggestion(frame, joint, limit)
    elif joint.method.wanted == "saw" and not any(joint.saws):
        own = tuple(float(frame.tube(name).od.value[0]) for name in joint.onto)
        advice = suggestion(frame, replace(joint, saws=own), limit)
    return SawChoice(
        tube=joint.tube,
        end=joint.end,
        onto=joint.onto,
        cut_by=joint.cut_by,
        source=joint.method.source,
        note=joint.method.note,
        saws=joint.saws,
        gap=length(gap) if math.isfinite(gap) else None,
        limit=length(limit),
        alternatives=tuple(Alternative(other.saws, length(other.gap)) for other in others),
        advice=advice,
    )
