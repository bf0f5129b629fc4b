"""A frame's whole error budget, as data, as words and as JSON."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from frame3d.fit.budget.alone import Alone, all_alone
from frame3d.fit.budget.care import Care, care_for
from frame3d.fit.budget.chance import Estimate, FrameChance, JointChance, frame_chance
from frame3d.fit.budget.errors import Spreads, unit
from frame3d.fit.budget.hand_fit import hand_gaps
from frame3d.fit.budget.simulate import Key, drawn, gaps, targets_of
from frame3d.model import Frame
from frame3d.surfaces.cope import Copes

FORMAT = "frame3d-errors/1"
WANTED = 0.95
JOINT_WORK = 20_000  # set-ups that shares and care of a joint come to, for the progress bar
HELD = 200  # set-ups seated by hand: each is an optimisation


@dataclass(frozen=True, eq=False)
class JointBudget:
    """nominal: gap without any error, mm; errors: largest share first; by_hand: over fewer frames,
    with each tube held by hand and moved to its best seat."""

    nominal: float
    chance: JointChance
    errors: tuple[Alone, ...]
    care: Care | None
    by_hand: JointChance | None


@dataclass(frozen=True, eq=False)
class Budget:
    """left_out: joints whose shapes are not round, or which touch nothing."""

    frame: Frame
    seed: int
    wanted: float
    whole: FrameChance
    joints: dict[Key, JointBudget]
    left_out: tuple[Key, ...]

    @property
    def passes(self) -> bool:
        """Whether every joint closes with the wanted chance."""
        chances = [joint.chance.chance.value for joint in self.joints.values()]
        return not self.left_out and all(chance >= self.wanted for chance in chances)


def error_budget(
    frame: Frame,
    copes: Copes,
    spreads: Spreads,
    samples: int,
    seed: int,
    wanted: float = WANTED,
    with_care: bool = True,
    with_hand_fit: bool = False,
    done: Callable[[int], None] = lambda count: None,
) -> Budget:
    """Chance, shares and care of every joint. `done` hears how many set-ups are measured.

    Raises ValueError where the frame has no joint that can be drawn at random.
    """
    targets = targets_of(copes)
    ends = [(joint.tube, joint.end) for joint in frame.joints]
    if not targets:
        raise ValueError("no joint between round tubes that touch: there is nothing to draw")
    whole = frame_chance(frame, targets, spreads, samples, seed, done)
    alone = all_alone(frame, targets, spreads, seed)
    nominal = gaps(targets, {})
    values = drawn(frame, targets, spreads, HELD, seed)
    joints = {}
    for key, errors in alone.items():
        care = None
        if with_care:
            care = care_for(frame, targets, spreads, key, wanted, seed, errors[0].name)
        chance = whole.joints[key]
        by_hand = None
        if with_hand_fit:
            held = hand_gaps(targets[key], values[key], HELD)
            by_hand = JointChance(held, chance.limit)
        done(JOINT_WORK)
        joints[key] = JointBudget(float(nominal[key][0]), chance, errors, care, by_hand)
    left_out = tuple(key for key in ends if key not in targets)
    return Budget(frame, seed, wanted, whole, joints, left_out)


def words(key: Key, joint: JointBudget, wanted: float) -> Iterator[str]:
    """What a builder should know of one joint, in sentences."""
    chance = joint.chance.chance
    first = joint.errors[0]
    if joint.nominal > joint.chance.limit:
        yield (
            f"even a perfect set-up leaves {joint.nominal:.3f} mm, over the limit of "
            f"{joint.chance.limit:.3f} mm: choose another saw first"
        )
        return
    if first.opening == 0.0:
        yield "none of the errors told has any size: only the nominal gap is left"
        return
    yield f"{first.name} is {100 * first.share:.0f} % of this joint's budget"
    if joint.by_hand is not None:
        held = joint.by_hand
        yield (
            f"held by hand and moved to its best seat, {out_of_twenty(held.chance)} close; "
            f"the middle one at {held.quantile(0.5).value:.3f} mm"
        )
    if joint.care is None:
        return
    if chance.value < wanted and joint.care.halved is not None:
        yield f"halve it and {out_of_twenty(joint.care.halved)} close, instead of " + out_of_twenty(
            chance
        )
    yield from _care_words(joint.care, wanted)


def _care_words(care: Care, wanted: float) -> Iterator[str]:
    for allowed in (care.tilt, care.centring):
        if allowed is None:
            continue
        if allowed.size is None:
            yield f"no care with {allowed.name} alone brings {wanted:.0%}"
        elif allowed.size == float("inf"):
            yield f"{allowed.name} hardly matters for {wanted:.0%}"
        else:
            yield (
                f"for {wanted:.0%} keep {allowed.name} within ±{2 * allowed.size:.2f} "
                f"{unit(allowed.name)} (two deviations), all else as it is"
            )


def out_of_twenty(chance: Estimate) -> str:
    """A chance as a builder counts: "19 of 20"; near certain or near never in plainer words."""
    if chance.value >= 0.995:
        return "199 of 200 or more"
    return f"{round(20 * chance.value)} of 20"


def as_json(budget: Budget) -> dict[str, object]:
    whole = budget.whole
    return {
        "format": FORMAT,
        "job": budget.frame.name,
        "samples": whole.count,
        "seed": budget.seed,
        "wanted": budget.wanted,
        "settled": whole.settled,
        "chance": _estimate(whole.chance),
        "reworks": _estimate(whole.reworks),
        "joints": [_joint(key, joint, budget.wanted) for key, joint in budget.joints.items()],
        "left_out": [{"tube": tube, "end": end} for tube, end in budget.left_out],
    }


def _joint(key: Key, joint: JointBudget, wanted: float) -> dict[str, object]:
    return {
        "tube": key[0],
        "end": key[1],
        "nominal_mm": round(joint.nominal, 6),
        "limit_mm": round(joint.chance.limit, 6),
        "median_mm": _estimate(joint.chance.quantile(0.5)),
        "p95_mm": _estimate(joint.chance.quantile(0.95)),
        "chance": _estimate(joint.chance.chance),
        "by_hand": joint.by_hand
        and {
            "median_mm": _estimate(joint.by_hand.quantile(0.5)),
            "p95_mm": _estimate(joint.by_hand.quantile(0.95)),
            "chance": _estimate(joint.by_hand.chance),
        },
        "errors": [
            {
                "name": error.name,
                "size": error.size,
                "unit": unit(error.name),
                "opening_mm": round(error.opening, 6),
                "share": round(error.share, 6),
                "curve": [
                    [round(float(a), 6), round(float(g), 6)]
                    for a, g in zip(error.at, error.gap, strict=True)
                ],
            }
            for error in joint.errors
        ],
        "care": joint.care and _care(joint.care),
        "words": list(words(key, joint, wanted)),
    }


def _care(care: Care) -> dict[str, object]:
    def size(value: float | None) -> float | str | None:
        return "free" if value == float("inf") else value

    return {
        "tilt_deg": care.tilt and size(care.tilt.size),
        "centring_mm": care.centring and size(care.centring.size),
        "both_factor": size(care.both),
        "halved": care.halved and _estimate(care.halved),
    }


def _estimate(estimate: Estimate) -> dict[str, float]:
    return {"value": round(estimate.value, 6), "error": round(estimate.error, 6)}
