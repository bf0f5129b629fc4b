"""Tubes moved by hand: the least motion of a whole tube that closes every joint of it.

A tube is one body. From its place in the jig it is pushed sideways, leant and turned until all its
ends close, within the room of tables/hand_fit.csv; pushed along its axis it opens at one end what
it closes at the other. With the distances d of its ends' points to their mates, and their slopes J
against its freedoms x,

    least sum of m + DEAR e   with   0 <= d + J x <= limit + e,   |x| <= m room,   0 <= m <= 1

is a linear programme: each m is how much of a freedom's room is used, e what stays open. A few
rounds, each about the place that the last one found, settle it. The mates stay where they are
drawn.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import linprog

from frame3d.check.joint_reasons import GAP_ROUNDING_MM
from frame3d.surfaces.surface import Array
from frame3d.tolerance.displaced_cut import Cut
from frame3d.tolerance.hand_fit_limits import Room, room_by_hand
from frame3d.tolerance.peaks import peaks
from frame3d.tolerance.round_mate import turns

ROUNDS = 4
SETTLED_MM = 1e-4
LINES = 40  # of an end in a linear programme; those that it left open join in the next round
DEAR = 1000.0  # of a millimetre left open, against all of the room
CLEAR_MM = 0.001  # within the limit is aimed at, for what is curved
FREE_MM = 10.0  # along the axis a tube may go as far as it needs


@dataclass(frozen=True, eq=False)
class HandFit:
    """gaps: worst gap of each end, mm, and sideways: how far it is out of place, mm; turned: how
    far the tube is out of line, degrees, and rolled: about its own axis."""

    closes: bool
    gaps: Array
    sideways: Array
    turned: float
    rolled: float


def hand_fit(ends: Sequence[Cut], limits: Sequence[float], which: int) -> HandFit:
    """Set-up `which` of a tube, given by all its shaped ends (one or two), moved as little as
    closes them to `limits`, mm."""
    tube = _Held([_End(cut, which) for cut in ends], np.array(limits), room_by_hand())
    motion = np.zeros(tube.freedoms)
    here = tube.at(motion)
    gaps = tube.gaps(here)
    lines = [len(place.distance) for place in here]
    picks = [np.arange(0, count, max(1, count // LINES)) for count in lines]
    for _ in range(ROUNDS):
        between = gaps - [float(place.distance.max()) for place in here]
        aims = np.maximum(tube.limits - between - CLEAR_MM, tube.limits / 2)
        before, motion = motion, tube.step(motion, here, picks, aims)
        motion = tube.slid_out(motion)
        here = tube.at(motion)
        picks = [
            np.union1d(pick, np.flatnonzero(place.distance > limit - SETTLED_MM)[:LINES])
            for pick, place, limit in zip(picks, here, limits, strict=True)
        ]
        gaps = tube.gaps(here)
        closes = bool((gaps <= tube.limits + GAP_ROUNDING_MM).all())
        if closes or abs(motion - before).max() < SETTLED_MM:
            break
    lean, roll = np.hypot(*motion[2:4]) * tube.room.turn, abs(motion[4]) * tube.room.roll
    return HandFit(closes, gaps, tube.sideways(motion), float(lean), float(roll))


class _End:
    """One cut end where the jig has it."""

    def __init__(self, cut: Cut, which: int) -> None:
        target = cut.target
        frame = target.cope.frame
        self.target, self.seat = target, float(cut.seat[which])
        self.grown = cut.setups.mate[which]
        self.axes = np.stack([frame.datum, frame.side, frame.out])
        self.origin = frame.origin
        z = cut.stop[which] + self.seat
        self.points = self.world(target.lines.at(z, float(cut.setups.tube[which])))

    def world(self, points: Array) -> Array:
        return np.asarray(self.origin + points @ self.axes)

    def distances(self, points: Array) -> tuple[Array, Array]:
        """Distance (G,) of points of the world to the nearest mate, and its slope (G, 3)."""
        inside = (points - self.origin) @ self.axes.T
        nearest, normal = np.full(len(points), np.inf), np.zeros_like(points)
        for mate, grown in zip(self.target.mates, self.grown, strict=True):
            away, slope = mate.steepest(self.target.lines, inside)
            away -= grown
            nearer = away < nearest
            nearest = np.where(nearer, away, nearest)
            normal = np.where(nearer[:, None], slope, normal)
        return nearest, normal @ self.axes


@dataclass(frozen=True, eq=False)
class _Place:
    """An end somewhere. points: (G, 3) of its face in the world; distance: (G,), mm, to the nearest
    mate; normal: (G, 3) along which it grows."""

    points: Array
    distance: Array
    normal: Array


@dataclass(frozen=True, eq=False)
class _Held:
    """A tube's freedoms: sideways two ways, leant two ways, rolled, all as shares of the room and
    about its first end; then each end's way back along the axis, mm. A tube that is too long is
    filed, so that both ends may go back; none grows."""

    ends: list[_End]
    limits: Array
    room: Room

    @property
    def freedoms(self) -> int:
        return 5 + len(self.ends)

    @cached_property
    def start(self) -> Array:
        """Each end's way back in the jig, from its own seat, mm: half of what the tube is short."""
        seats = [end.seat for end in self.ends]
        short = max(sum(seats), 0.0) / 2 if len(seats) == 2 else 0.0
        return np.full(len(seats), short)

    @cached_property
    def least_back(self) -> float:
        """The least sum of all ends' ways back from the jig's place, mm."""
        spare = sum(end.seat for end in self.ends) - self.start.sum()
        return min(float(spare), 0.0) if len(self.ends) == 2 else -2 * FREE_MM

    @cached_property
    def shifts(self) -> Array:
        """The motions (2, 3), mm, of the sideways freedoms."""
        return self.room.shift * self.ends[0].axes[:2]

    @cached_property
    def turns(self) -> Array:
        """The rotation vectors (3, 3), radians, of leaning and rolling."""
        room = self.room
        return np.radians([room.turn, room.turn, room.roll])[:, None] * self.ends[0].axes

    @cached_property
    def within(self) -> Array:
        """What stays within the room, as rows of the first five freedoms: these themselves, and
        how the other end moves sideways by them."""
        pivot = self.ends[0].origin
        levers = [
            np.concatenate([self.shifts, np.cross(self.turns, end.origin - pivot)])
            @ end.axes[:2].T
            / self.room.shift
            for end in self.ends[1:]
        ]
        return np.concatenate([np.eye(5), *(lever.T for lever in levers)])

    def moved(self, points: Array, motion: Array, end: int) -> Array:
        pivot = self.ends[0].origin
        (matrix,) = turns((motion[2:5] @ self.turns)[None])
        back = self.start[end] + motion[5 + end]
        shift = motion[:2] @ self.shifts - back * self.ends[end].axes[2]
        return np.asarray((points - pivot) @ matrix.T + pivot + shift)

    def at(self, motion: Array) -> list["_Place"]:
        found = []
        for i, end in enumerate(self.ends):
            points = self.moved(end.points, motion, i)
            found.append(_Place(points, *end.distances(points)))
        return found

    def slopes(self, place: "_Place", i: int, pick: NDArray[np.intp]) -> Array:
        """Of the distances at end i against the tube's freedoms: (picked, freedoms)."""
        normal, arm = place.normal[pick], place.points[pick] - self.ends[0].origin
        slopes = np.zeros((len(pick), self.freedoms))
        slopes[:, :2] = normal @ self.shifts.T
        slopes[:, 2:5] = np.cross(arm, normal) @ self.turns.T
        slopes[:, 5 + i] = -normal @ self.ends[i].axes[2]
        return slopes

    def sideways(self, motion: Array) -> Array:
        """(ends,), mm."""
        across = np.delete(self.within, [2, 3, 4], axis=0) @ motion[:5]
        return np.asarray(self.room.shift * np.hypot(*across.reshape(-1, 2).T))

    def step(
        self,
        motion: Array,
        here: list["_Place"],
        picks: list[NDArray[np.intp]],
        aims: Array,
    ) -> Array:
        """The motion that the linear programme finds about the last one, for gaps of `aims`, mm."""
        free, used = self.freedoms, len(self.within)
        rows, ends = [], []
        for i, (place, pick, aim) in enumerate(zip(here, picks, aims, strict=True)):
            slopes = self.slopes(place, i, pick)
            flat = place.distance[pick] - slopes @ motion
            none, one = np.zeros((len(pick), used)), np.ones((len(pick), 1))
            rows += [
                np.hstack([slopes, none, -one]),
                np.hstack([-slopes, none, 0 * one]),
            ]
            ends += [aim - flat, flat]
        for sign in (1.0, -1.0):
            held = np.zeros((used, free + used + 1))
            held[:, :5], held[:, free:-1] = sign * self.within, -np.eye(used)
            rows.append(held)
            ends.append(np.zeros(used))
        back = np.zeros((1, free + used + 1))
        back[0, 5:free] = -1.0
        bounds = [(-1, 1)] * 5 + [(-FREE_MM, FREE_MM)] * len(self.ends)
        found = linprog(
            np.concatenate([np.zeros(free), np.ones(used), [DEAR]]),
            A_ub=np.concatenate([*rows, back]),
            b_ub=np.concatenate([*ends, [-self.least_back]]),
            bounds=bounds + [(0, 1)] * used + [(0, None)],
            method="highs",
            options={"presolve": False},
        )
        return np.asarray(found.x[:free]) if found.status == 0 else motion

    def slid_out(self, motion: Array) -> Array:
        """The motion with each end back along its axis until it no longer stands in its mate."""
        motion = motion.copy()
        for i, end in enumerate(self.ends):
            for _ in range(4):
                distance, normal = end.distances(self.moved(end.points, motion, i))
                deep = distance < 0
                if not deep.any():
                    break
                slope = np.minimum(normal[deep] @ end.axes[2], -0.05)
                motion[5 + i] += float((distance[deep] / slope).max())
        return motion

    def gaps(self, here: list["_Place"]) -> Array:
        """Worst gap of each end, mm."""
        targets = [end.target for end in self.ends]
        return np.array(
            [
                float(peaks(place.distance[None], target.theta, len(target.mates) > 1)[0])
                for place, target in zip(here, targets, strict=True)
            ]
        )
