"""What halving each error does to the chance of each joint, and of the whole frame."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from frame3d.surfaces.surface import Array
from frame3d.tolerance.chance import Estimate, FrameChance, JointChance
from frame3d.tolerance.displaced_cut import met
from frame3d.tolerance.setup_errors import DIAMETERS, errors_of, setups_of
from frame3d.tolerance.simulate import Errors, Key, Targets, gaps
from frame3d.tolerance.worker_pool import Crew

FRAMES = 600  # the same for each error, so that they differ by it alone
WORTH = 0.005  # of chance that halving must gain to be advised, and SURE times its own scatter
SURE = 2.0


@dataclass(frozen=True)
class Halved:
    """One error halved wherever it acts. chance: then, over all frames; gain: of chance, with its
    own standard error, which is less than those of both chances since the draws are the same;
    less: how much less the gap is that the wanted share stays below, mm."""

    name: str
    chance: Estimate
    gain: Estimate
    less: float

    @property
    def worth(self) -> bool:
        """Whether it betters the chance beyond doubt."""
        return self.gain.value > max(WORTH, SURE * self.gain.error)


def halved_gaps(
    targets: Targets, errors: Errors, now: FrameChance, crew: Crew
) -> dict[str, dict[Key, Array]]:
    """By error the gaps (N,), mm, of joints in N frames with it halved; `errors` are those of the
    first N frames of `now`. Tubes on which an error does not act have the gaps that they had."""
    count = min(FRAMES, now.count)
    still = {key: joint.gaps[:count] for key, joint in now.joints.items()}

    def of_tube(first: Key) -> dict[str, dict[Key, Array]]:
        ends = {key: target for key, target in targets.items() if key[0] == first[0]}
        own = {key: errors[key] for key in ends}
        touch = {key: met(one, setups_of(one, own[key], count)) for key, one in ends.items()}
        names = {name for one in own.values() for name, value in one.items() if value.any()}
        return {
            name: gaps(
                ends,
                {
                    key: {n: value / 2 if n == name else value for n, value in one.items()}
                    for key, one in own.items()
                },
                workers=1,
                touch=None if name in DIAMETERS else touch,
            )
            for name in names
        }

    tubes = crew.each(of_tube, {key[0]: key for key in targets}.values()).values()
    found = {}
    for name in dict.fromkeys(name for target in targets.values() for name in errors_of(target)):
        acting = [one[name] for one in tubes if name in one]
        if acting:
            found[name] = still | {key: gap for one in acting for key, gap in one.items()}
    return found


def joints_halved(
    halved: Mapping[str, Mapping[Key, Array]], now: FrameChance, keys: list[Key], wanted: float
) -> tuple[Halved, ...]:
    """Of joints that are alike, told together: most helpful first."""
    joint = JointChance(now.pooled(keys), now.joints[keys[0]].limit)
    count = min(FRAMES, now.count)
    before = np.concatenate([now.joints[key].gaps[:count] for key in keys])
    told = []
    for name, found in halved.items():
        after = np.concatenate([found[key] for key in keys])
        if (after == before).all():
            continue
        now_closes, then = (JointChance(gap, joint.limit).closes for gap in (before, after))
        less = np.quantile(before, wanted) - np.quantile(after, wanted)
        told.append(_halved(name, joint.chance, now_closes, then, float(less)))
    return _ranked(told)


def frame_halved(halved: Mapping[str, Mapping[Key, Array]], now: FrameChance) -> tuple[Halved, ...]:
    """Of the whole frame: most helpful first."""
    count = min(FRAMES, now.count)

    def closes(found: Mapping[Key, Array]) -> Array:
        every = [JointChance(found[k], one.limit).closes for k, one in now.joints.items()]
        return np.asarray(np.all(every, axis=0))

    before = closes({key: joint.gaps[:count] for key, joint in now.joints.items()})
    return _ranked(
        [_halved(name, now.chance, before, closes(found), 0.0) for name, found in halved.items()]
    )


def _halved(name: str, now: Estimate, before: Array, after: Array, less: float) -> Halved:
    change = after.astype(float) - before
    scatter = float(np.sqrt((change.var() + 1 / len(change)) / len(change)))
    gain = Estimate(float(change.mean()), scatter)
    value = float(np.clip(now.value + gain.value, 0.0, 1.0))
    return Halved(name, Estimate(value, float(np.hypot(now.error, scatter))), gain, less)


def _ranked(told: list[Halved]) -> tuple[Halved, ...]:
    return tuple(sorted(told, key=lambda one: (-one.gain.value, -one.less)))
