"""The chance that a joint closes, and that a whole frame does, by Monte Carlo (JCGM 101)."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass

import numpy as np

from frame3d.check.gap_limit import gap_limit
from frame3d.check.joint_reasons import GAP_ROUNDING_MM
from frame3d.model import Frame
from frame3d.surfaces.surface import Array
from frame3d.tolerance.setup_errors import Spreads
from frame3d.tolerance.simulate import Key, Targets, drawn, gaps

BATCH = 2000
SAMPLES = 4000  # usual: no chance has then a standard error above 0.8 %
SETTLED = 0.01  # a chance is settled when its standard error is below one in a hundred


@dataclass(frozen=True)
class Estimate:
    """A figure and its standard error."""

    value: float
    error: float


@dataclass(frozen=True, eq=False)
class JointChance:
    """gaps: (N,) of one joint, mm; limit: mm."""

    gaps: Array
    limit: float

    @property
    def closes(self) -> Array:
        return np.asarray(self.gaps <= self.limit + GAP_ROUNDING_MM)

    @property
    def chance(self) -> Estimate:
        return share_of(self.closes)

    def quantile(self, at: float) -> Estimate:
        return quantile_of(self.gaps, at)


@dataclass(frozen=True, eq=False)
class FrameChance:
    """All joints over the same N frames."""

    joints: dict[Key, JointChance]

    @property
    def count(self) -> int:
        return len(next(iter(self.joints.values())).gaps)

    def pooled(self, keys: Iterable[Key]) -> Array:
        """All gaps (N times joints,), mm, of some joints."""
        return np.concatenate([self.joints[key].gaps for key in keys])

    @property
    def chance(self) -> Estimate:
        """That every joint closes at the first attempt."""
        return share_of(np.all([joint.closes for joint in self.joints.values()], axis=0))

    @property
    def reworks(self) -> Estimate:
        """Expected number of joints that have to be worked again."""
        failing = np.sum([np.logical_not(j.closes) for j in self.joints.values()], axis=0)
        return Estimate(float(failing.mean()), float(failing.std(ddof=1) / self.count**0.5))

    @property
    def settled(self) -> bool:
        """Whether every chance is known to one in a hundred."""
        chances = [self.chance, *(joint.chance for joint in self.joints.values())]
        return all(chance.error <= SETTLED for chance in chances)


def frame_chance(
    frame: Frame,
    targets: Targets,
    spreads: Spreads,
    samples: int,
    seed: int,
    done: Callable[[int], None] = lambda count: None,
) -> FrameChance:
    """Draw, cut and measure `samples` frames, in batches, so that memory stays small."""
    parts: dict[Key, list[Array]] = {key: [] for key in targets}
    for first in range(0, samples, BATCH):
        count = min(BATCH, samples - first)
        batch = gaps(targets, drawn(frame, targets, spreads, count, seed, first), done)
        for key, gap in batch.items():
            parts[key].append(gap)
    return FrameChance(
        {
            key: JointChance(np.concatenate(part), limit_at(frame, key))
            for key, part in parts.items()
        }
    )


def limit_at(frame: Frame, key: Key) -> float:
    joint = frame.joint_at(*key)
    assert joint is not None
    return gap_limit(frame, joint)


def share_of(hits: Array) -> Estimate:
    """Share of hits and its standard error, binomial, at (hits + 1) / (N + 2) so that none or all
    of a finite sample does not pass for certainty (Laplace's rule of succession)."""
    count = len(hits)
    likely = (hits.sum() + 1) / (count + 2)
    return Estimate(float(hits.mean()), float(np.sqrt(likely * (1 - likely) / count)))


def quantile_of(values: Array, at: float) -> Estimate:
    """A quantile, and its standard error from the order statistics one binomial deviation to
    either side."""
    count = len(values)
    spread = np.sqrt(at * (1 - at) / count)
    low, value, high = np.quantile(values, np.clip([at - spread, at, at + spread], 0, 1))
    return Estimate(float(value), float((high - low) / 2))
