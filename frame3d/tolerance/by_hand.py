"""How many more joints close when their tubes are moved by hand, and how far out of line they are
then."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from frame3d.surfaces.surface import Array
from frame3d.tolerance.chance import Estimate, FrameChance, share_of
from frame3d.tolerance.displaced_cut import cut
from frame3d.tolerance.setup_errors import setups_of
from frame3d.tolerance.simulate import Errors, Key, Targets, shared_phase
from frame3d.tolerance.worker_pool import Crew

if TYPE_CHECKING:
    from frame3d.tolerance.hand_fit import HandFit

FRAMES = 100  # whose open tubes are moved: each is an optimisation
MOST = 0.95  # what is told of how far out of line: 19 of 20 are less


@dataclass(frozen=True)
class Moved:
    """How far tubes are moved by hand: 19 of 20 of them no further. sideways: out of place at their
    ends, mm; turned: out of line, degrees; both None where none had to be moved, or none closed."""

    sideways: float | None
    turned: float | None


@dataclass(frozen=True)
class ByHand:
    """chance: that it closes, tubes moved by hand where the jig leaves them open."""

    chance: Estimate
    moved: Moved


@dataclass(frozen=True)
class FrameByHand(ByHand):
    """The same of a whole frame: that all its joints close."""

    joints: dict[Key, ByHand]


def by_hand(targets: Targets, errors: Errors, jig: FrameChance, crew: Crew) -> FrameByHand:
    """Move by hand what the jig leaves open of the first frames of `jig`; `errors` are theirs."""
    from frame3d.tolerance.hand_fit import hand_fit  # scipy.optimize loads slowly

    count = min(FRAMES, jig.count)
    closed = {key: joint.closes[:count].copy() for key, joint in jig.joints.items()}
    moved: dict[Key, list[tuple[float, float]]] = {key: [] for key in targets}

    def hold(key: Key) -> list[tuple[int, "HandFit"]]:
        ends = {one: target for one, target in targets.items() if one[0] == key[0]}
        own = shared_phase(ends, {one: errors[one] for one in ends})
        still = np.flatnonzero(~np.all([closed[one] for one in ends], axis=0))
        if not len(still):
            return []
        opened = {one: {n: v[:count][still] for n, v in own[one].items()} for one in ends}
        cuts = [cut(ends[one], setups_of(ends[one], opened[one], len(still))) for one in ends]
        limits = [jig.joints[one].limit for one in ends]
        return [(int(at), hand_fit(cuts, limits, i)) for i, at in enumerate(still)]

    firsts = {key[0]: key for key in reversed(targets)}
    for tube, fits in zip(firsts, crew.each(hold, firsts.values()).values(), strict=True):
        ends = [key for key in targets if key[0] == tube]
        for at, fit in fits:
            if fit.closes:
                for key, sideways in zip(ends, fit.sideways, strict=True):
                    closed[key][at] = True
                    moved[key].append((float(sideways), fit.turned))
    joints = {}
    for key, joint in jig.joints.items():
        open_in_jig = np.logical_not(joint.closes[:count])
        chance = _saved(joint.chance, closed[key][open_in_jig])
        joints[key] = ByHand(chance, _most(moved[key]))
    whole = np.all(list(closed.values()), axis=0)
    open_frames = np.logical_not(
        np.all([joint.closes[:count] for joint in jig.joints.values()], axis=0)
    )
    every = [one for own in moved.values() for one in own]
    return FrameByHand(_saved(jig.chance, whole[open_frames]), _most(every), joints)


def _most(moved: list[tuple[float, float]]) -> Moved:
    if not moved:
        return Moved(None, None)
    sideways, turned = np.quantile(moved, MOST, axis=0)
    return Moved(float(sideways), float(turned))


def _saved(jig: Estimate, saved: Array) -> Estimate:
    """The chance where those that the jig leaves open are moved, `saved` (N,) of them with
    success: the many draws tell how often the jig leaves one open, the few how often that helps."""
    if not len(saved):
        return jig
    share = share_of(saved)
    left = 1 - jig.value
    error = np.hypot((1 - share.value) * jig.error, left * share.error)
    return Estimate(jig.value + left * share.value, float(error))
