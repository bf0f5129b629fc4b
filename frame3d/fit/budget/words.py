"""A joint's error budget in words."""

from dataclasses import dataclass

from frame3d.fit.budget.alone import Alone
from frame3d.fit.budget.care import Allowed, Care
from frame3d.fit.budget.chance import Estimate, JointChance
from frame3d.fit.budget.errors import plain, unit


@dataclass(frozen=True, eq=False)
class JointBudget:
    """nominal: gap without any error, mm; errors: largest share first; by_hand: over fewer frames,
    with each tube held by hand and moved to its best seat; as_wide: whether the tube is about as
    wide as its mate."""

    nominal: float
    chance: JointChance
    errors: tuple[Alone, ...]
    care: Care | None
    by_hand: JointChance | None
    as_wide: bool


WORTH_MM = 0.05


def words(joint: JointBudget, wanted: float) -> list[str]:
    """What a builder should know of one joint, in sentences."""
    limit = joint.chance.limit
    first = joint.errors[0]
    if joint.nominal > limit:
        return [
            f"even a perfect set-up leaves {joint.nominal:.3f} mm, over the limit of "
            f"{limit:.3f} mm: choose another saw first"
        ]
    if first.opening == 0.0:
        return ["none of the errors told has any size: only the nominal gap is left"]
    text = f"{plain(first.name)} is {100 * first.share:.0f} % of this joint's budget"
    told = []
    care, chance = joint.care, joint.chance.chance
    if care is not None and care.halved is not None and not care.enough:
        better, now = compared(care.halved, chance)
        text += f"; halve it and {better} close instead of {now}"
    told.append(text)
    if care is not None and care.alone:
        told.append(_care_words(care, joint, wanted))
    if joint.as_wide and chance.value < wanted:
        told.append(
            "the tube is as wide as its mate: a cut that is off leaves thin ears at the sides, "
            "which keep it out here; dressed away, they let it in"
        )
    if joint.by_hand is not None:
        held = joint.by_hand
        better, now = compared(held.chance, chance)
        told.append(
            f"held by hand and moved to its best seat instead of the jig's, {better} close (in the "
            f"jig: {now}), the middle one at {held.quantile(0.5).value:.3f} mm"
        )
    return told


def _care_words(care: Care, joint: JointBudget, wanted: float) -> str:
    """How loose, or how tight, what the builder sets may be."""
    often = often_of(wanted)
    loose = [one for one in care.alone.values() if one.size is not None]
    if care.enough:
        bound = [f"{plain(one.name)} within {_within(one)}" for one in loose if _is_bound(one)]
        free = [plain(one.name) for one in loose if not _is_bound(one)]
        parts = [f"{often} still close with {' or '.join(bound)}"] if bound else []
        parts += [f"{' and '.join(free)} could be far looser"] if free else []
        return "; ".join(parts)
    if loose:
        choices = " or ".join(f"{plain(one.name)} within {_within(one)}" for one in loose)
        return f"for {often} to close, keep {choices}, all else as it is"
    names = [plain(name) for name in care.alone]
    if care.both:
        sizes = {error.name: error.size for error in joint.errors}
        each = " and ".join(
            f"{plain(name)} at {care.both * sizes[name]:.2g} instead of {sizes[name]:.2g}"
            f"{_sign(name)}"
            for name in care.alone
        )
        return f"for {often} to close it takes both: {each}"
    advice = f"lessen {' and '.join(_others(care, joint))} first"
    if joint.nominal > WORTH_MM:
        advice += f", or the {joint.nominal:.2f} mm that even a perfect set-up leaves"
    return f"even without any error in {' and '.join(names)} fewer than {often} close: {advice}"


def _others(care: Care, joint: JointBudget) -> list[str]:
    """The two largest errors that more careful setting does not touch."""
    return [plain(error.name) for error in joint.errors if error.name not in care.alone][:2]


def _is_bound(allowed: Allowed) -> bool:
    return allowed.size != float("inf")


def _within(allowed: Allowed) -> str:
    return f"±{allowed.within:.2f}{_sign(allowed.name)}"


def _sign(name: str) -> str:
    return {"deg": "°"}.get(unit(name), f" {unit(name)}")


def often_of(wanted: float) -> str:
    """A wanted chance as a builder counts."""
    return f"{round(20 * wanted)} of 20" if (20 * wanted) % 1 == 0 else f"{100 * wanted:g} %"


def compared(better: Estimate, now: Estimate) -> tuple[str, str]:
    """Two chances as a builder counts, "19 of 20"; in per cent where that would not tell them
    apart, or where nearly all or none close."""
    counts = [round(20 * one.value) for one in (better, now)]
    if counts[0] != counts[1] and min(counts) > 0 and max(counts) < 20:
        return f"{counts[0]} of 20", f"{counts[1]} of 20"
    return f"{100 * better.value:.1f} %", f"{100 * now.value:.1f} %"
