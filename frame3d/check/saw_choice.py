"""Which saw cuts an end: one of the shop's, or the sizes to buy."""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from functools import cache
from itertools import product

import numpy as np

from frame3d.cache import cached
from frame3d.check.gap import gap_of
from frame3d.check.gap_limit import gap_limit
from frame3d.check.joint_reasons import ALIKE_MM
from frame3d.model import End, Frame, Joint, Tube
from frame3d.surfaces.cope import COARSE, Cope, cope_of, too_parallel
from frame3d.surfaces.cylinder import Cylinder
from frame3d.surfaces.outer import outer_surface
from frame3d.surfaces.placing import placed

SMALLER_MM, LARGER_MM = 2.0, 4.0  # than the mate: beyond that no saw is worth trying
STEPS_A_MM = 10
FEWEST_STEPS, MOST_STEPS = -5, 20  # sizes tried around the mate's
# How far the coarse grid's gap may be off, as a share of it and in mm; own choice, held against
# random joints by a test.
OFF_SHARE, OFF_MM = 0.1, 0.03
MOST_ROUNDS = 3

Saws = tuple[float | None, ...]


@dataclass(frozen=True)
class Prediction:
    """One saw for each mate (None: cut along the mate itself) and the gap it would leave, mm."""

    saws: Saws
    gap: float
    cope: Cope


def predicted(frame: Frame, joint: Joint, saws: Saws) -> Prediction:
    """The widest gap that these saws would leave; inf where they do not cut the whole end."""
    cope = cope_of(frame, replace(joint, saws=saws))
    if not np.isfinite(cope.face_stop).all():
        return Prediction(saws, np.inf, cope)
    return Prediction(saws, _widest(cope), cope)


@cached
def _widest(cope: Cope) -> float:
    return gap_of(cope).widest.value


def with_shop_saws(frame: Frame) -> Frame:
    """The frame with the shop's saws at each joint that wants a saw and names none, those that
    leave the smallest gap; its raw tubes laid by the ends that these make.

    A mate without a saw near its size stays as it is; so does a joint that no saw of the shop cuts
    within its limit, and the shaped one of two mates if only the other can be sawn.
    """
    left_open = {
        (joint.tube, joint.end)
        for joint in frame.joints
        if joint.method.wanted == "saw" and not any(joint.saws)
    }
    for _ in range(MOST_ROUNDS):  # other saws make other ends, and raw tubes lie by their ends
        joints = tuple(
            _sawn(frame, joint) if (joint.tube, joint.end) in left_open else joint
            for joint in frame.joints
        )
        if joints == frame.joints:
            break
        frame = placed(replace(frame, joints=joints))
    return frame


def _sawn(frame: Frame, joint: Joint) -> Joint:
    """A joint with the saws of the shop that suit it best, or without any and why."""
    uncut = replace(joint, saws=(None,) * len(joint.onto))
    if too_parallel(frame, joint):
        return uncut
    limit, least = gap_limit(frame, joint), None
    options = options_for(frame, joint)
    for by_hand in range(len(joint.onto)):  # sooner all mates sawn than the smallest gap
        ways = (saws for saws in options if saws.count(None) == by_hand)
        best = next(shop_choices(frame, joint, ways), None)
        if best is not None and best.gap <= limit:
            return replace(joint, saws=best.saws, method=replace(joint.method, note=""))
        least = least or best
    return replace(uncut, method=replace(joint.method, note=_note(frame, joint, least)))


def _note(frame: Frame, joint: Joint, least: Prediction | None) -> str:
    if least is None:
        mates = [float(frame.tube(name).od.value[0]) for name in joint.onto]
        near = [s.od for s in frame.shop.saws if any(_is_near(s.od, od) for od in mates)]
        if near:
            return f"the {near[0]:g} mm saw is of the tube's own size, and would graze its sides"
        return "this shop has no saw near its size"
    if not np.isfinite(least.gap):
        return "no saw of this shop cuts it whole"
    return f"the best of this shop's, {sizes_text(least.saws)}, would leave {least.gap:.3f} mm"


def options_for(frame: Frame, joint: Joint) -> list[Saws]:
    """All ways to cut a joint by the shop's saws near the sizes of its mates, one mate at least.

    Without a saw stays a mate that none is near, or one that is no plain cylinder: it is as round
    as one of many sizes, by the place.
    """
    own = _across(frame.tube(joint.tube), joint.end)
    near = [_near(frame, frame.tube(name), own) for name in joint.onto]
    return [saws for saws in product(*near) if any(saws)]


def _across(tube: Tube, end: End) -> tuple[float, ...]:
    """The diameters of an end, mm."""
    at = 0.0 if end == "start" else tube.length
    return tuple(
        float(profile(at)) for profile in (tube.od, *([tube.oval.across] if tube.oval else []))
    )


def _is_near(saw: float, mate: float) -> bool:
    return -SMALLER_MM <= saw - mate <= LARGER_MM


def _near(frame: Frame, mate: Tube, own: tuple[float, ...]) -> list[float | None]:
    """Never a saw of the tube's own size: its teeth run along the tube's sides, and the least error
    across leaves a fin there that is not cut off."""
    od = mate.od.value[0]
    sizes = sorted(
        s.od
        for s in frame.shop.saws
        if _is_near(s.od, od) and all(abs(s.od - across) > ALIKE_MM for across in own)
    )
    return [*sizes] if sizes and isinstance(outer_surface(mate), Cylinder) else [*sizes, None]


def shop_choices(frame: Frame, joint: Joint, ways: Iterable[Saws]) -> Iterator[Prediction]:
    """Ways to cut a joint, smallest gap first.

    A coarse grid sorts them, and only those that may come next are worked out.
    """
    coarse = sorted((_coarse_gap(frame, joint, saws), k, saws) for k, saws in enumerate(ways))
    known: list[Prediction] = []
    for gap, _, saws in coarse:
        while known and known[0].gap <= gap * (1 - OFF_SHARE) - OFF_MM:
            yield known.pop(0)
        known.append(predicted(frame, joint, saws))
        known.sort(key=lambda choice: choice.gap)
    yield from known


def _coarse_gap(frame: Frame, joint: Joint, saws: Saws) -> float:
    """The gap that `predicted` finds, nearly."""
    cope = cope_of(frame, replace(joint, saws=saws), COARSE)
    if not np.isfinite(cope.face_stop).all():
        return np.inf
    return _widest_on_grid(cope)


@cached
def _widest_on_grid(cope: Cope) -> float:
    return float(cope.gap(*cope.face()).max())


def suggestion(frame: Frame, joint: Joint, limit: float) -> str:
    """What to do about a gap over the limit, as half a sentence."""
    if not any(joint.saws):
        return "shape it by hand to the mating tube"
    ways = [
        saws
        for saws in options_for(frame, joint)
        if all(bool(a) == bool(b) for a, b in zip(saws, joint.saws, strict=True))
    ]
    best = next(shop_choices(frame, joint, ways), None)
    if best is not None and best.gap <= limit:
        return f"this shop's {sizes_text(best.saws)} would leave {best.gap:.3f} mm"
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
        gap = _coarse_gap(frame, joint, saws)
        if abs(gap - limit) > OFF_SHARE * gap + OFF_MM:
            return gap <= limit
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


def sizes_text(saws: Saws) -> str:
    """In words: "29 mm saw and 40 mm saw"."""
    sizes = [f"{saw:g} mm saw" for saw in saws if saw is not None]
    return " and ".join(sizes)
