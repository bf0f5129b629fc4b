"""File to fit: where a cut end stands proud, by how much, and the proof that filing closes it.

An end that is pushed on by some distance would stand in its mates here and there; that metal is
what the file has to take. The least push is sought whose filing brings the worst gap to a share
of the limit, and the filed end is seated and measured again.
"""

from dataclasses import dataclass

import numpy as np

from frame3d.check.gap import clock
from frame3d.surfaces.cope import Cope
from frame3d.surfaces.surface import Array
from frame3d.tolerance.displaced_cut import Cut, met, seated

GOAL = 0.8  # of the limit: a file does not stop on a hair; own choice
MOST_PUSH_MM = 3.0  # beyond it the end is cut again, not filed; own choice
HALVINGS = 24
WORTH_MM = 0.02  # a file takes no less; own choice


@dataclass(frozen=True)
class Zone:
    """A stretch around the end to file. first, last, most: radians; depth: mm off, square to the
    surface, at the most; edge: "outer", "inner" or "whole" wall."""

    first: float
    last: float
    most: float
    depth: float
    edge: str


@dataclass(frozen=True, eq=False)
class Filing:
    """before, after: worst gap, mm; take: (T, D) metal to take off along the axis, mm, and square:
    the same square to the mate's surface; push: how much further the tube then goes in, mm."""

    cut: Cut
    before: float
    after: float
    push: float
    take: Array
    square: Array
    zones: tuple[Zone, ...]


def filing(cut: Cut, limit: float) -> Filing | None:
    """What to file on a single set-up so that its gap comes within the limit.

    Nothing to take where it already does. None where no push up to MOST_PUSH_MM does.
    """
    before = float(cut.gap()[0])
    touch = met(cut.target, cut.setups)
    shape = (len(cut.target.theta), len(cut.target.depth))
    if before <= limit:
        nothing = np.zeros(shape)
        return Filing(cut, before, before, 0.0, nothing, nothing, ())

    def taken(push: float) -> Array:
        return np.maximum(cut.stop + cut.seat[:, None] + push - touch, 0.0)

    def after(push: float) -> float:
        return float(filed(cut, taken(push)).gap()[0])

    if after(MOST_PUSH_MM) > GOAL * limit:
        return None
    low, high = 0.0, MOST_PUSH_MM
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        low, high = (low, middle) if after(middle) <= GOAL * limit else (middle, high)
    take = np.where(np.isfinite(taken(high)), taken(high), 0.0)
    square = _square(cut, take).reshape(shape)
    return Filing(cut, before, after(high), high, take.reshape(shape), square, _zones(cut, square))


def filed(cut: Cut, take: Array) -> Cut:
    """The end with `take` (1, T * D), mm along the axis, off it, seated anew."""
    return seated(cut.target, cut.setups, cut.stop - take)


def words(found: Filing | None, limit: float) -> list[str]:
    """The filing in words, with clock positions seen from the tube's outer end."""
    if found is None:
        return [f"no filing up to {MOST_PUSH_MM:g} mm closes it: cut the end again"]
    if not found.zones:
        return [f"nothing to file: {found.before:.3f} mm is within {limit:.3f} mm"]
    cope = found.cut.target.cope
    text = [
        f"file {zone.depth:.2f} mm off the {zone.edge} from {' to '.join(_clockwise(zone, cope))} "
        f"o'clock, most at {clock(cope, zone.most)}, less to both sides"
        for zone in found.zones
    ]
    text.append(
        f"then it goes {found.push:.2f} mm further in (its other end must have that much to "
        f"spare), and the gap falls from {found.before:.3f} to {found.after:.3f} mm "
        f"(limit {limit:.3f})"
    )
    return text


def _clockwise(zone: Zone, cope: Cope) -> tuple[str, str]:
    first, last = clock(cope, zone.first), clock(cope, zone.last)
    return (first, last) if cope.end == "start" else (last, first)


def _square(cut: Cut, take: Array) -> Array:
    """Metal along the axis as depth square to the mate: how far the filed face lies inside it."""
    target = cut.target
    z = cut.stop[0] + cut.seat[0] - take[0]
    points = target.lines.at(z, cut.setups.tube[0])
    slopes = [mate.steepest(target.lines, points)[1] for mate in target.mates]
    return np.asarray(take[0] * np.max([abs(slope[:, 2]) for slope in slopes], axis=0))


def _zones(cut: Cut, square: Array) -> tuple[Zone, ...]:
    theta = cut.target.theta
    most = square.max(axis=1)
    on = most > WORTH_MM
    if not on.any():
        return ()
    if on.all():
        return (_zone(theta, square, list(range(len(theta)))),)
    first = int(np.flatnonzero(~on)[0])
    order = (np.arange(len(theta)) + first) % len(theta)
    zones: list[Zone] = []
    run: list[int] = []
    for at in order:
        if on[at]:
            run.append(int(at))
        elif run:
            zones.append(_zone(theta, square, run))
            run = []
    if run:
        zones.append(_zone(theta, square, run))
    return tuple(zones)


def _zone(theta: Array, square: Array, run: list[int]) -> Zone:
    own = square[run]
    peak = int(own.max(axis=1).argmax())
    inner, outer = float(own[:, 0].max()), float(own[:, -1].max())
    edge = "whole wall"
    if inner < outer / 3:
        edge = "outer edge"
    elif outer < inner / 3:
        edge = "inner edge"
    return Zone(
        float(theta[run[0]]),
        float(theta[run[-1]]),
        float(theta[run[peak]]),
        float(own.max()),
        edge,
    )
