"""The care that a wanted chance asks for: how much tilt and centring, or a guide's play and the
file, may scatter."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass

import numpy as np

from frame3d.check.joint_reasons import GAP_ROUNDING_MM
from frame3d.model import Frame
from frame3d.surfaces.surface import Array
from frame3d.tolerance.chance import limit_at
from frame3d.tolerance.displaced_cut import cut, met
from frame3d.tolerance.mirror import drawn_alike
from frame3d.tolerance.setup_errors import DIAMETERS, Spreads, errors_of, setups_of
from frame3d.tolerance.simulate import Key, Targets, end_gaps, shared_phase
from frame3d.tolerance.worker_pool import Crew

TRIAL_WORK, CARE_WORK = 2_000, 6_000  # set-ups that take as long, for the progress bar
SAMPLES = 1000  # the same draws at every trial, so that trials differ by the care alone
MOST = 8.0  # times the shop's own spread; beyond that an error is told as free
ROUNDS, CLOSE = 10, 0.02  # a factor is known to a fiftieth
ALIKE_MM = 1e-4  # between answers of mirror images: rounding, and probing of shaped mates
# By care; the others by money or measuring.
LESSENED = ("tilt", "centring", "length", "wobble", "guide place", "filing")

PLACES = ("length", "guide place")


@dataclass(frozen=True)
class Allowed:
    """A spread that just gives the wanted chance while all else is as it is.

    within: its size, in the error's unit, as the shop file takes it; None where even none of this
    error does not reach the chance; inf where it may be MOST times what it is and more
    now: its size as it is
    """

    name: str
    within: float | None
    now: float


@dataclass(frozen=True)
class Care:
    """enough: whether the joint has the wanted chance as it is; alone: each error that care can
    lessen, by itself: tilt, centring and length of a saw's cut, play and place of a guide, filing;
    both: where none of them is enough, the factor on all together; None where even 0 does not
    do."""

    enough: bool
    alone: dict[str, Allowed]
    both: float | None


@dataclass(frozen=True, eq=False)
class Trial:
    """One joint, its draws laid by to be cut again with more care.

    acting: the errors that act on it, some of them by what `spreads` says of a size above 0
    with_factors: gaps (N,), mm, with some errors scaled by a factor
    as_it_is: the same with none scaled
    """

    acting: frozenset[str]
    spreads: Spreads
    limit: float
    with_factors: Callable[[dict[str, float]], Array]
    as_it_is: Array


def care_for(
    frame: Frame,
    targets: Targets,
    spreads: Spreads,
    key: Key,
    wanted: float,
    seed: int,
    samples: int = SAMPLES,
) -> Care:
    """The care for one joint to close with chance `wanted`, 0 to 1."""
    return care_of(trial_of(frame, targets, spreads, key, seed, samples), wanted)


def care_of(trial: Trial, wanted: float, many: Array | None = None) -> Care:
    """The same of a trial. `many` are the gaps (M,), mm, of many more draws as it is: the trial
    then only has to tell by how much more care betters them."""
    limit = trial.limit
    many = trial.as_it_is if many is None else many
    known = float(np.quantile(many, wanted))
    better_known = known - float(np.quantile(trial.as_it_is, wanted))

    def over(factors: dict[str, float]) -> float:
        """How far the gap that `wanted` of the joints stay below is above the limit."""
        return float(np.quantile(trial.with_factors(factors), wanted)) + better_known - limit

    def excess(*names: str) -> Callable[[float], float]:
        return lambda factor: over(dict.fromkeys(names, factor)) if factor != 1 else known - limit

    def allowed(name: str) -> Allowed:
        now, factor = trial.spreads[name], largest_factor(excess(name))
        if factor is None:
            return Allowed(name, None, now.size)
        return Allowed(name, factor * now.size, now.size)

    def acts(name: str) -> bool:
        """Whether it has a size, and a place along a tube with a free end matters at all."""
        if name not in trial.acting or trial.spreads[name].size == 0:
            return False
        if name not in PLACES:
            return True
        return bool(abs(trial.with_factors({name: 0.0}) - trial.as_it_is).max() > ALIKE_MM)

    names = [name for name in LESSENED if acts(name)]
    alone = {name: allowed(name) for name in names}
    needed = names and all(one.within is None for one in alone.values())
    both = largest_factor(excess(*names)) if needed else None
    return Care(known <= limit, alone, both)


def trial_of(
    frame: Frame, targets: Targets, spreads: Spreads, key: Key, seed: int, samples: int = SAMPLES
) -> Trial:
    """A joint's draws. The tube's other end is cut but once: it only has a say in what the tube is
    too short."""
    tube = {one: target for one, target in targets.items() if one[0] == key[0]}
    errors = shared_phase(tube, drawn_alike(frame, tube, key, spreads, samples, seed))
    others = [
        cut(target, setups_of(target, errors[one], samples)).seat
        for one, target in tube.items()
        if one != key
    ]
    touch = met(targets[key], setups_of(targets[key], errors[key], samples))

    def with_factors(factors: dict[str, float]) -> Array:
        scaled = {name: value * factors.get(name, 1.0) for name, value in errors[key].items()}
        known = touch if DIAMETERS.isdisjoint(factors) else None
        return end_gaps(targets[key], scaled, samples, others, known)

    limit = limit_at(frame, key) + GAP_ROUNDING_MM
    acting = frozenset(errors_of(targets[key]))
    return Trial(acting, spreads, limit, with_factors, with_factors({}))


def cares_of(
    frame: Frame,
    targets: Targets,
    spreads: Spreads,
    seed: int,
    wanted: float,
    keys: Iterable[Key],
    gaps: Callable[[list[Key]], Array],
    crew: Crew,
) -> tuple[dict[Key, Care], list[list[Key]]]:
    """Care of some joints, worked out once for those that are alike and held against `gaps` (M,),
    mm, of many draws of them; and the groups of those that are alike."""
    trials = crew.each(lambda key: trial_of(frame, targets, spreads, key, seed), keys, TRIAL_WORK)
    groups = {group[0]: group for group in alike(trials)}

    def care(first: Key) -> Care:
        many = gaps(groups[first])
        found = care_of(trials[first], wanted, many)
        crew.done(CARE_WORK * len(groups[first]))
        return found

    found = crew.each(care, groups)
    cares = {key: found[first] for first, group in groups.items() for key in group}
    return cares, list(groups.values())


def alike(trials: dict[Key, Trial]) -> list[list[Key]]:
    """Joints by groups that answer alike to the draws that they share: mirror images of equal
    tubes, cut and held to the same limit."""
    groups: list[list[Key]] = []
    answers = {key: np.sort(trial.as_it_is) for key, trial in trials.items()}
    for key, answer in answers.items():
        for group in groups:
            same = abs(answers[group[0]] - answer).max() < ALIKE_MM
            if same and trials[group[0]].limit == trials[key].limit:
                group.append(key)
                break
        else:
            groups.append([key])
    return groups


def largest_factor(excess: Callable[[float], float]) -> float | None:
    """The largest factor, 0 to MOST, at which the rising `excess` is not above 0; None where it is
    at 0, inf where it is not even at MOST. Closed in on by the Illinois rule of false position, in
    the factor's square, as which errors add up."""
    low, high = 0.0, 1.0
    below, above = excess(low), excess(high)
    if below > 0:
        return None
    if above <= 0:
        low, below, high = high, above, MOST**2
        above = excess(MOST)
        if above <= 0:
            return float("inf")
    side = 0
    for _ in range(ROUNDS):
        if high - low < 2 * CLOSE * high:
            break
        middle = low + (high - low) * below / (below - above) if below < 0 else (low + high) / 2
        value = excess(middle**0.5)
        if value <= 0:
            above *= 0.5 if side < 0 else 1.0
            low, below, side = middle, value, -1
        else:
            below *= 0.5 if side > 0 else 1.0
            high, above, side = middle, value, 1
    return float(low**0.5)
