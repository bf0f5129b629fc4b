"""Which saw cuts each end: the job's own, or the shop's with the smallest predicted gap."""

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

from frame3d.fit.limits import gap_limit
from frame3d.fit.saws import predicted, shop_choices, suggestion
from frame3d.model import Frame, Joint
from frame3d.shop.numbers import length, printed
from frame3d.surfaces.cope import too_parallel

MOST_ALTERNATIVES = 3
SMALLER_MM, LARGER_MM = 2.0, 4.0  # than the mate: beyond that no saw is worth naming


@dataclass(frozen=True)
class Alternative:
    """Saws for the mates of an end, and the gap they would leave."""

    saws: tuple[float | None, ...] = printed("mm", "saws, in the order of the mates")
    gap: float = printed("mm", "widest predicted gap")


@dataclass(frozen=True)
class SawChoice:
    """The saws for an end, why, and what else would do."""

    tube: str = printed("", "tube that is cut")
    end: str = printed("", "end that is cut")
    onto: tuple[str, ...] = printed("", "tubes that it meets")
    saws: tuple[float | None, ...] = printed("mm", "saws chosen; null: by hand to the mate")
    gap: float | None = printed("mm", "widest predicted gap; null where the end is not cut whole")
    limit: float = printed("mm", "widest gap that passes")
    by: str = printed("", "as checked: named by the job or by its saws = true; or by these pages")
    alternatives: tuple[Alternative, ...] = printed("", "the shop's other saws, best first")
    advice: str = printed("", "what to do where no saw of the shop passes")


def with_saws(
    frame: Frame, done: Callable[[str], None] = lambda name: None
) -> tuple[Frame, tuple[SawChoice, ...]]:
    """The frame with a saw of the shop wherever the job names none and one passes; and the choices.

    A joint that names any saw stays as it is.
    """
    joints, choices = [], []
    for joint in frame.joints:
        done(joint.tube)
        if too_parallel(frame, joint):
            joints.append(joint)
            continue
        chosen, choice = _choose(frame, joint)
        joints.append(chosen)
        choices.append(choice)
    return replace(frame, joints=tuple(joints)), tuple(choices)


def _choose(frame: Frame, joint: Joint) -> tuple[Joint, SawChoice]:
    limit = gap_limit(frame, joint)
    named = any(saw is not None for saw in joint.saws)
    mates = [float(frame.tube(name).od.value[0]) for name in joint.onto]
    asked = joint if named else replace(joint, saws=tuple(mates))
    shop = replace(frame.shop, saws=tuple(s for s in frame.shop.saws if _near(s.od, mates)))
    near = replace(frame, shop=shop)
    options = [c for c in shop_choices(near, asked) if math.isfinite(c.gap) and any(c.saws)]
    by, chosen = "as checked", joint
    if not named:
        by = "by hand to the mate"
        if options and options[0].gap <= limit:
            by, chosen = "these pages", replace(joint, saws=options[0].saws)
    gap = predicted(frame, chosen, chosen.saws).gap
    others = [c for c in options if c.saws != chosen.saws][:MOST_ALTERNATIVES]
    return chosen, SawChoice(
        tube=joint.tube,
        end=joint.end,
        onto=joint.onto,
        saws=chosen.saws,
        gap=length(gap) if math.isfinite(gap) else None,
        limit=length(limit),
        by=by,
        alternatives=tuple(Alternative(c.saws, length(c.gap)) for c in others),
        advice=""
        if gap <= limit and by != "by hand to the mate"
        else suggestion(frame, asked, limit),
    )


def _near(od: float, mates: list[float]) -> bool:
    return any(-SMALLER_MM <= od - mate <= LARGER_MM for mate in mates)
