"""Which saw would make a joint pass: one of the shop's, or the sizes to buy."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cache
from itertools import product

import numpy as np

from frame3d.fit.figures import gap_of
from frame3d.fit.limits import gap_limit
from frame3d.model import Frame, Joint, Tube
from frame3d.surfaces.cope import Cope, cope_of
from frame3d.surfaces.cylinder import Cylinder
from frame3d.surfaces.outer import outer_surface

NEAR_MM = 10.0  # saws this much larger or smaller than the mate are not worth trying
STEPS_A_MM = 10
FEWEST_STEPS, MOST_STEPS = -5, 20  # sizes tried around the mate's


@dataclass(frozen=True)
class SawChoice:
    """One saw for each mate (None: cut along the mate itself) and the gap it would leave, mm."""

    saws: tuple[float | None, ...]
    gap: float
    cope: Cope


def predicted(frame: Frame, joint: Joint, saws: tuple[float | None, ...]) -> SawChoice:
    """The widest gap that these saws would leave; inf where they do not cut the whole end."""
    cope = cope_of(frame, replace(joint, saws=saws))
    if not np.isfinite(cope.face_stop).all():
        return SawChoice(saws, np.inf, cope)
    return SawChoice(saws, gap_of(cope).widest.value, cope)


def shop_choices(frame: Frame, joint: Joint) -> list[SawChoice]:
    """All ways to cut a joint with the shop's saws, smallest predicted gap first.

    A mate that the job does not saw stays as it is.
    """
    options: list[list[float | None]] = []
    for name, saw in zip(joint.onto, joint.saws, strict=True):
        od = float(frame.tube(name).od.value[0])
        near: list[float | None] = [s.od for s in frame.shop.saws if abs(s.od - od) <= NEAR_MM]
        options.append([None] if saw is None else near)
    choices = [predicted(frame, joint, saws) for saws in product(*options)]
    return sorted(choices, key=lambda choice: choice.gap)


def with_shop_saws(frame: Frame, joints: Sequence[Joint]) -> Frame:
    """The frame with these joints cut by the shop's saws, those that leave the smallest gap.

    A mate without a saw near its size stays as it is; so does a joint that no saw of the shop cuts
    within its limit, and the shaped one of two mates if only the other can be sawn.
    """
    sawn = {}
    for joint in joints:
        options = [_nearest_saws(frame, frame.tube(name)) or [None] for name in joint.onto]
        if any(option != [None] for option in options):
            choices = [predicted(frame, joint, saws) for saws in product(*options)]
            limit = gap_limit(frame, joint)
            best = min(choices, key=lambda c: (c.gap > limit, c.saws.count(None), c.gap))
            if best.gap <= limit and any(best.saws):
                sawn[joint.tube, joint.end] = replace(joint, saws=best.saws)
    return replace(frame, joints=tuple(sawn.get((j.tube, j.end), j) for j in frame.joints))


def _nearest_saws(frame: Frame, mate: Tube) -> list[float | None]:
    """The shop's next smaller and next larger saw: the farther off its size, the more gap.

    A shaped mate is as round as one of many sizes, by the place: all near its first are tried, and
    none.
    """
    od = mate.od.value[0]
    sizes = sorted(saw.od for saw in frame.shop.saws if abs(saw.od - od) <= NEAR_MM)
    if not isinstance(outer_surface(mate), Cylinder):
        return [*sizes, None]
    smaller, larger = [s for s in sizes if s < od], [s for s in sizes if s >= od]
    return [*smaller[-1:], *larger[:1]]


def suggestion(frame: Frame, joint: Joint, limit: float) -> str:
    """What to do about a gap over the limit, as half a sentence."""
    if not any(joint.saws):
        return "shape it by hand to the mating tube"
    in_shop = [choice for choice in shop_choices(frame, joint) if choice.gap <= limit]
    if in_shop:
        best = in_shop[0]
        return f"this shop's {_sizes(best.saws)} would leave {best.gap:.3f} mm"
    passing = _passing_sizes(frame, joint, limit)
    if passing is None:
        return "no saw would do"
    low, high = passing
    sizes = f"of {low:.1f} mm" if low == high else f"from {low:.1f} to {high:.1f} mm"
    return f"no saw in the shop would do, one {sizes} would"


def _passing_sizes(frame: Frame, joint: Joint, limit: float) -> tuple[float, float] | None:
    """The smallest and the largest size, in tenths of a millimetre around the first sawn mate's,
    that pass.

    The farther a saw is off its best size, the more gap it leaves, so that the sizes that pass lie
    side by side and their ends are found by halving.
    """
    which = next(i for i, saw in enumerate(joint.saws) if saw is not None)
    od = round(float(frame.tube(joint.onto[which]).od.value[0]), 1)

    def size(step: int) -> float:
        return round(od + step / STEPS_A_MM, 1)

    @cache
    def passes(step: int) -> bool:
        saws = tuple(size(step) if i == which else saw for i, saw in enumerate(joint.saws))
        return predicted(frame, joint, saws).gap <= limit

    steps = sorted(range(FEWEST_STEPS, MOST_STEPS + 1), key=abs)
    inside = next((step for step in steps if passes(step)), None)
    if inside is None:
        return None
    return tuple(size(_last(passes, inside, end)) for end in (FEWEST_STEPS, MOST_STEPS))  # type: ignore[return-value]


def _last(passes: Callable[[int], bool], inside: int, end: int) -> int:
    """The last step from `inside`, which passes, towards `end` that does."""
    if passes(end):
        return end
    while abs(end - inside) > 1:
        middle = (inside + end) // 2
        inside, end = (middle, end) if passes(middle) else (inside, middle)
    return inside


def _sizes(saws: tuple[float | None, ...]) -> str:
    sizes = [f"{saw:g} mm saw" for saw in saws if saw is not None]
    return " and ".join(sizes)
