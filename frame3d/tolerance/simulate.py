"""Whole tubes drawn at random, cut, seated and measured: gaps of every joint of a frame.

Some things tie the joints together. A tube has one outside diameter, as have its mates; a saw is
off by the same in all that it cuts, and what the shop's zeros are off is in every cut. Only the
difference in phase between the cuts of one tube counts: the builder turns the tube to share it.
And a tube whose two ends cannot both touch is short: the builder lets each end have half of that.
A tube that is too long is eased in or filed, and opens nothing.
"""

import os
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor

import numpy as np

from frame3d.check.gap import gap_of
from frame3d.model import End, Frame
from frame3d.surfaces.cope import Cope, Copes
from frame3d.surfaces.surface import Array
from frame3d.tolerance.displaced_cut import Cut, Setups, cut
from frame3d.tolerance.exact import exact_gap, trial_setups
from frame3d.tolerance.patch import Patched
from frame3d.tolerance.setup_errors import (
    BY_SAW,
    IN_COMMON,
    Spreads,
    Values,
    errors_of,
    phases_shared,
    setups_of,
    sizes_at,
    stream,
)
from frame3d.tolerance.target import ANGLES_WIDE, Target, target_of

NOMINAL_MM = 0.03  # own choice: small beside what errors open
AT_ONCE = 192 * 216  # set-ups times lines: so many numbers of an array stay in a core's cache

PHASES = ("phase", "guide phase")  # errors that a tube's two ends share

Key = tuple[str, End]
Targets = dict[Key, Target]
Errors = dict[Key, dict[str, Array]]  # by end and error: (N, numbers), in the errors' own units


def targets_of(copes: Copes) -> Targets:
    """Every end that can be drawn at random."""
    found = {key: target_or_reason(cope) for key, cope in copes.items()}
    return {key: target for key, target in found.items() if isinstance(target, Target)}


def target_or_reason(cope: Cope) -> Target | str:
    """An end laid out for many set-ups, or in words why it cannot be.

    The fast arithmetic must agree with the exact surfaces: at the nominal set-up, and where a mate
    is not a round cylinder also at displaced ones.
    """
    if not np.isfinite(cope.seat) or not np.isfinite(cope.face_stop).all():
        return "a part of the end is not shaped, or it touches nothing: see frame3d check"
    target = target_of(cope)
    if target.as_wide:
        target = target_of(cope, ANGLES_WIDE)
    off = abs(cut(target, setups_of(target, {}, 1)).gap()[0] - gap_of(cope).widest.value)
    if off <= NOMINAL_MM and any(isinstance(shape, Patched) for shape in target.mates):
        trials = trial_setups(target)
        gap = cut(target, trials).gap()
        exact = np.array([exact_gap(target, trials, i) for i in range(len(trials))])
        told = np.isfinite(exact)
        off = abs(gap - exact)[told].max() if told.any() else np.inf
    if off <= NOMINAL_MM:
        return target
    return "a step or a sharp change of the mate lies right under the end"


def drawn(
    frame: Frame,
    targets: Targets,
    spreads: Spreads,
    count: int,
    seed: int,
    first: int = 0,
    called: Mapping[str, str] | None = None,
) -> Errors:
    """Errors of `count` frames drawn at random; `first` tells batches of one seed apart, and
    `called` draws tubes and ends as if they had other names."""
    errors: Errors = {}
    called = called or {}
    for (tube, end), target in targets.items():
        own: dict[str, Array] = {}
        for name, numbers in errors_of(target).items():
            streams = [
                stream(seed, *(called.get(one, one) for one in whose), str(first))
                for whose in _whose(frame, target, name)
            ]
            each = numbers // len(streams)
            numbers_ = [spreads[name].standard(rng, (count, each)) for rng in streams]
            own[name] = sizes_at(frame, target, spreads, name) * np.concatenate(numbers_, axis=1)
        errors[tube, end] = own
    return errors


def _whose(frame: Frame, target: Target, name: str) -> list[tuple[str, ...]]:
    """What an error's random numbers are told apart by, for each of its streams: joints with the
    same tube, saw or shop share what that is off."""
    tube, end = target.cope.tube.name, target.cope.end
    if name == "tube od":
        return [("od", tube)]
    if name == "mate od":
        joint = frame.joint_at(tube, end)
        assert joint is not None
        return [("od", mate) for mate in joint.onto]
    if name in BY_SAW:
        return [(name, f"{od:g}") for od in target.saws]
    if name in IN_COMMON:
        return [(name,)]
    return [(name, tube) if name == "straightness" else (name, tube, end)]


def gaps(
    targets: Targets,
    errors: Errors,
    done: Callable[[int], None] = lambda count: None,
    workers: int | None = None,
    touch: Mapping[Key, Array] | None = None,
) -> dict[Key, Array]:
    """Widest gap (N,), mm, of every joint under these errors; `done` hears of ends finished, and
    `touch` is what cut.met says of every end's set-ups, where it is known."""
    result = {}
    jobs: list[tuple[dict[Key, tuple[Target, Setups]], slice]] = []
    for tube in dict.fromkeys(tube for tube, _ in targets):
        ends = {key: targets[key] for key in targets if key[0] == tube}
        own = shared_phase(ends, {key: errors.get(key, {}) for key in ends})
        count = max((len(v) for e in own.values() for v in e.values()), default=1)
        ready = {key: (one, setups_of(one, own[key], count)) for key, one in ends.items()}
        for key in ends:
            result[key] = np.empty(count)
        chunk = chunk_of(ends.values())
        jobs += [(ready, slice(at, min(at + chunk, count))) for at in range(0, count, chunk)]

    def work(job: tuple[dict[Key, tuple[Target, Setups]], slice]) -> None:
        ready, part = job
        known = {key: None if touch is None else touch[key][part] for key in ready}
        cuts = {key: cut(one, s.part(part), known[key]) for key, (one, s) in ready.items()}
        for key, gap in _tube_gaps(cuts):
            result[key][part] = gap
            done(part.stop - part.start)

    with ThreadPoolExecutor(workers or os.cpu_count()) as pool:
        list(pool.map(work, jobs))
    return result


def _tube_gaps(cuts: dict[Key, Cut]) -> Iterator[tuple[Key, Array]]:
    """Gaps of one tube's ends, which share what it is too short."""
    short: Array | float = 0.0
    if len(cuts) == 2:
        short = np.maximum(sum(one.seat for one in cuts.values()), 0.0) / 2
    for key, one in cuts.items():
        yield key, one.gap(short)


def end_gaps(
    target: Target,
    values: Values,
    count: int,
    others: Sequence[Array],
    touch: Array | None = None,
) -> Array:
    """Widest gap (N,), mm, of one end; `others` are the seats (N,) of the tube's other end, if a
    joint shapes it, and `touch` what cut.met says of these set-ups, where it is known."""
    setups = setups_of(target, values, count)
    found = np.empty(count)
    chunk = chunk_of([target])
    for at in range(0, count, chunk):
        part = slice(at, min(at + chunk, count))
        done = cut(target, setups.part(part), None if touch is None else touch[part])
        short = sum((np.maximum(done.seat + other[part], 0.0) / 2 for other in others), 0.0)
        found[part] = done.gap(short)
    return found


def chunk_of(targets: Iterable[Target]) -> int:
    """How many set-ups of these ends to take at a time."""
    return max(16, AT_ONCE // max(len(target.lines.stop) for target in targets))


def shared_phase(targets: Targets, errors: Errors) -> Errors:
    """The errors of one tube after it is turned in the jig to share its phase errors."""
    needed = {
        (key, name): numbers
        for key, target in targets.items()
        for name in PHASES
        if (numbers := errors_of(target).get(name, 0))
    }
    given = [own[name] for own in errors.values() for name in PHASES if name in own]
    if not given:
        return errors
    count = len(given[0])
    phases = [
        errors.get(key, {}).get(name, np.zeros((count, numbers)))
        for (key, name), numbers in needed.items()
    ]
    parts = np.cumsum(list(needed.values()))[:-1]
    shared = {key: dict(errors.get(key, {})) for key in targets}
    together = phases_shared(np.concatenate(phases, axis=1))
    for (key, name), own in zip(needed, np.split(together, parts, axis=1), strict=True):
        shared[key][name] = own
    return shared
