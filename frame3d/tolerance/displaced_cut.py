"""Ends cut by displaced tools, thousands at a time, seated on the nominal axis and measured."""

from dataclasses import dataclass

import numpy as np

from frame3d.surfaces.surface import Array
from frame3d.tolerance.mate_shape import Motion
from frame3d.tolerance.peaks import peaks
from frame3d.tolerance.target import Target


@dataclass(frozen=True, eq=False)
class Setups:
    """N displaced set-ups of a joint with K mates.

    turn:   (N, K, 3) how each tool is turned about its pivot, radians, in the end's frame
    shift:  (N, K, 3) how far it is moved, mm
    tool:   (N, K) growth of the tool's radius, mm
    mate:   (N, K) growth of the mate's radius, mm
    tube:   (N,) growth of the tube's radius, mm; its wall stays
    ripple: (N, T) metal left proud along the axis by angle, mm, or None
    """

    turn: Array
    shift: Array
    tool: Array
    mate: Array
    tube: Array
    ripple: Array | None = None

    def __len__(self) -> int:
        return len(self.tube)

    def part(self, which: slice) -> "Setups":
        ripple = None if self.ripple is None else self.ripple[which]
        return Setups(
            self.turn[which],
            self.shift[which],
            self.tool[which],
            self.mate[which],
            self.tube[which],
            ripple,
        )


@dataclass(frozen=True, eq=False)
class Cut:
    """N cut ends. stop: (N, G) where each line's metal stops, mm along z, at the nominal setting.
    seat: (N,) the slide, beyond the nominal one, to the first touch."""

    target: Target
    setups: Setups
    stop: Array
    seat: Array

    def gap(self, short: Array | float = 0.0) -> Array:
        """Widest gap (N,), mm, of the ends seated, and then drawn back by `short` (N,), mm."""
        return _peak(self.gaps(short), self.target)

    def gaps(self, short: Array | float = 0.0) -> Array:
        """The same at every line: (N, G), mm."""
        z = self.stop + (self.seat - short)[:, None]
        widest: Array | None = None
        for k, mate in enumerate(self.target.mates):
            grown = self.setups.mate[:, k]
            widest = _least(widest, mate.away(self.target.lines, self.setups.tube, z, grown))
        assert widest is not None
        return widest


def cut(target: Target, setups: Setups, touch: Array | None = None) -> Cut:
    """Cut and seat N ends; `touch` is what `met` says of them, where it is known."""
    stop: Array | None = None
    for k, tool in enumerate(target.tools):
        motion, bore = motion_of(target, setups, k), outside_at(target, setups, k)
        stop = _least(stop, tool.entry(target.lines, bore, setups.tool[:, k], motion))
    assert stop is not None
    if setups.ripple is not None:
        stop += np.repeat(setups.ripple, len(target.depth), axis=1)
    return seated(target, setups, stop, touch)


def seated(target: Target, setups: Setups, stop: Array, touch: Array | None = None) -> Cut:
    """Ends of any shape `stop` (N, G), slid along the axis to their first touch."""
    touch = met(target, setups) if touch is None else touch
    return Cut(target, setups, stop, -_peak(stop - touch, target))


def met(target: Target, setups: Setups) -> Array:
    """Where each line would first touch a mate: (N, G), mm along z; inf where it misses them."""
    found: Array | None = None
    for k, mate in enumerate(target.mates):
        grown = setups.mate[:, k]
        found = _least(found, mate.entry(target.lines, setups.tube, grown, misses=np.inf))
    assert found is not None
    return found


def outside_at(target: Target, setups: Setups, k: int) -> Array:
    """Growth (N,) of the tube's radius, mm, as tool k sees it: a guide that is clamped brings the
    same lines of its face to whatever outside the tube has."""
    return setups.tube if target.sawn[k] else np.zeros(len(setups))


def motion_of(target: Target, setups: Setups, k: int) -> Motion:
    """How tool k is displaced: turned about its pivot, then moved."""
    return Motion(setups.turn[:, k], setups.shift[:, k], target.pivots[k])


def _least(so_far: Array | None, new: Array) -> Array:
    return new if so_far is None else np.minimum(so_far, new, out=so_far)


def _peak(values: Array, target: Target) -> Array:
    return peaks(values, target.theta, len(target.mates) > 1)
