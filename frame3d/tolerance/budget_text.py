"""A joint's error budget in words."""

from dataclasses import dataclass

from frame3d.tolerance.by_hand import ByHand
from frame3d.tolerance.care import Care
from frame3d.tolerance.chance import Estimate, JointChance
from frame3d.tolerance.halving import Halved
from frame3d.tolerance.setup_errors import unit
from frame3d.tolerance.single_error import Alone


@dataclass(frozen=True, eq=False)
class JointBudget:
    """nominal: gap without any error, mm; chance: in the jig; errors: largest share first, none
    where no curves are asked for; halved: what halving each does to the chance, most helpful
    first; by_hand: with each tube moved by hand where the jig leaves it open; as_wide: whether the
    tube is about as wide as its mate."""

    nominal: float
    chance: JointChance
    errors: tuple[Alone, ...]
    halved: tuple[Halved, ...]
    care: Care | None
    by_hand: ByHand | None
    as_wide: bool

    @property
    def best(self) -> Estimate:
        """Chance to close: in the jig, or moved by hand where that is worked out."""
        return self.chance.chance if self.by_hand is None else self.by_hand.chance


WORTH_MM = 0.05
ADVISED = 3  # errors whose halving is told
NO_HALVING = "halving no single error betters it beyond doubt"


def words(joint: JointBudget, wanted: float) -> list[str]:
    """What a builder should know of one joint, in sentences."""
    limit = joint.chance.limit
    if joint.nominal > limit:
        return [
            f"even a perfect set-up leaves {joint.nominal:.3f} mm, over the limit of "
            f"{limit:.3f} mm: choose another saw first"
        ]
    if joint.chance.gaps.std() == 0.0:
        return ["none of the errors told has any size: only the nominal gap is left"]
    told = []
    care, chance = joint.care, joint.chance.chance
    enough = chance.value >= wanted if care is None else care.enough
    if not enough and joint.halved:
        told.append(halved_words(joint.halved, chance) or NO_HALVING)
    if care is not None and care.alone:
        told.append(_care_words(care, joint, wanted))
    if joint.as_wide and not enough:
        told.append(
            "the tube is as wide as its mate: a cut that is off leaves thin ears at the sides, "
            "which keep it out here; dressed away, they let it in"
        )
    if chance.value < wanted <= joint.best.value:
        told.append("moved by hand it closes often enough")
    return told


def halved_words(halved: tuple[Halved, ...], now: Estimate) -> str:
    """What helps most, and what else does; nothing where no halving does."""
    worth = [one for one in halved if one.worth][:ADVISED]
    if not worth:
        return ""
    better, before = compared(worth[0].chance, now)
    text = f"halve {worth[0].name} first: {better} close instead of {before}"
    rest = [f"{one.name} halved, {compared(one.chance, now)[0]}" for one in worth[1:]]
    return "; ".join([text, *rest])


def _care_words(care: Care, joint: JointBudget, wanted: float) -> str:
    """How loose, or how tight, what the builder sets may be."""
    often = often_of(wanted)
    loose = [one for one in care.alone.values() if one.within is not None]
    bound = [one for one in loose if one.within != float("inf")]
    if bound and all(_within(one.within) == _within(one.now) for one in bound):
        return f"as it is, just about {often} close: there is no room to be looser"
    choices = ", or ".join(
        f"{one.name} within {_instead(one.name, one.within, one.now)}" for one in bound
    )
    if care.enough:
        free = [one.name for one in loose if one not in bound]
        parts = [f"{often} still close with {choices}"] if bound else []
        parts += [f"{' and '.join(free)} could be far looser"] if free else []
        return "; ".join(parts)
    if loose:
        return f"for {often} to close, keep {choices}; all else as it is"
    if care.both:
        each = " and ".join(
            f"{one.name} within {_instead(one.name, care.both * one.now, one.now)}"
            for one in care.alone.values()
        )
        return f"for {often} to close it takes {_all(care)}: {each}"
    names = " and ".join(care.alone)
    first = " and ".join(_others(care, joint))
    if joint.nominal > WORTH_MM:
        first += f", or the {joint.nominal:.2f} mm that even a perfect set-up leaves"
    return f"fewer than {often} close even without any error in {names}: look first to {first}"


def _others(care: Care, joint: JointBudget) -> list[str]:
    """The two errors that help most, of those that more careful setting does not touch."""
    return [one.name for one in joint.halved if one.name not in care.alone][:2]


def _all(care: Care) -> str:
    return "both" if len(care.alone) == 2 else "all of these"


def _instead(name: str, within: float | None, now: float) -> str:
    """ "±0.65° instead of ±0.20°" """
    sign = {"deg": "°"}.get(unit(name), f" {unit(name)}")
    return f"±{_within(within)}{sign} instead of ±{_within(now)}{sign}"


def _within(value: float | None) -> str:
    assert value is not None
    return f"{value:.2f}" if value >= 0.01 else f"{value:.1g}"


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
