"""The fillet in the corner of a joint: what a ball rolled along it leaves out.

The ball stands outside and touches the tube and the nearest of its mates; what lies between them
and the ball, as it rolls around the joint, is filled. Where it touches two mates at once it turns
about the tube's point from one to the other. What it takes away at one place is left out at all
others too, so where tube and mate run on into each other the fillet ends. This is the morphological
closing of the joint by a ball (Serra, Image Analysis and Mathematical Morphology, 1982, from
memory). Both surfaces are the exact ones, and go on past the ends of the mates.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.optimize.elementwise import find_root
from scipy.spatial import cKDTree

from frame3d.model.tube_section import lateral
from frame3d.surfaces.cope import Cope
from frame3d.surfaces.surface import Array, Surface

COLUMNS = 720  # around a joint
ACROSS = 16  # steps on the tube, and on the mate, twice so many on the ball; see `Fillet.volume`
TURNED = 16  # columns while the ball turns from one mate to the next
HALVINGS = 24  # to find where it does
DOUBLINGS = 12  # of the radius, to find how far out the ball may touch
CLOSE_MM = 1e-9  # the ball's place is found so closely
HELD_MM = 1e-6  # a point so far inside the ball is taken away
STEP_MM = 1e-4  # for slopes


@dataclass(frozen=True, eq=False)
class Corner:
    """The line where the tube's outside meets its mates.

    theta: (T,) radians from the datum; station: (T,) mm along the tube; points: (T, 3) mm, world;
    angle: (T,) between the two surfaces through the air, radians
    """

    theta: Array
    station: Array
    points: Array
    angle: Array

    @property
    def length(self) -> float:
        """mm."""
        return float(np.linalg.norm(np.roll(self.points, -1, axis=0) - self.points, axis=1).sum())


@dataclass(frozen=True, eq=False)
class Fillet:
    """A fillet as columns of points around the joint; the last column is followed by the first.

    on_tube: (C, A + 1, 3) mm, world: on the tube's outside, from the corner to the ball's touch
    arc:     (C, 2 A + 1, 3) the free surface, from the ball's touch on the tube to that on the mate
    on_mate: (C, A + 1, 3) on the mates, from the ball's touch back to the corner
    """

    on_tube: Array
    arc: Array
    on_mate: Array

    @property
    def volume(self) -> float:
        """mm3, by the divergence theorem over its closed skin. What flat facets leave out across it
        goes with the square of their size, and is taken off by Richardson's extrapolation."""
        skin = np.concatenate(
            [self.on_tube[:, :-1], self.arc[:, :-1], self.on_mate[:, :-1]], axis=1
        )
        skin = skin - skin.mean(axis=(0, 1))
        return (4 * _enclosed(skin) - _enclosed(skin[:, ::2])) / 3


def corner_of(cope: Cope, columns: int = COLUMNS) -> Corner:
    """Where the outside of a joint's tube meets its mates, and at what angle.

    Raises ValueError where a line of the tube meets none.
    """
    theta = cope.theta[0] + np.arange(columns) * (2 * np.pi / columns)
    station = _stations(cope, theta)
    if not np.isfinite(station).all():
        raise ValueError(f"the {cope.end} of {cope.tube.name} does not meet its mates all around")
    points, outside = _outside(cope, station, theta)
    inside = normals(cope.mates, nearest(cope.mates, points), points)
    cosine = np.clip((outside * inside).sum(axis=1), -1.0, 1.0)
    return Corner(theta, station, points, np.asarray(np.pi - np.arccos(cosine)))


def fillet_of(cope: Cope, corner: Corner, radius: float) -> Fillet:
    """The fillet of `radius`, mm, in the corner of a joint.

    Raises ValueError where a ball of that radius finds no place along the tube.
    """
    ball = _roll(cope, corner.theta, corner.station, radius)
    after = np.roll(ball.mate, -1)
    turns = np.flatnonzero(ball.mate != after)
    columns = _columns(cope, ball, ball.mate)
    if not len(turns):
        return _freed(Fillet(*columns), ball.centre, radius)
    both = _where_it_turns(cope, corner, radius, turns)
    one, other = (_columns(cope, both, mate[turns]) for mate in (ball.mate, after))
    places = np.repeat(turns + 1, TURNED)
    whole = [
        np.insert(kept, places, made.reshape(-1, *kept.shape[1:]), axis=0)
        for kept, made in zip(columns, _turned(both, one, other), strict=True)
    ]
    return _freed(Fillet(*whole), np.concatenate([ball.centre, both.centre]), radius)


def nearest(surfaces: tuple[Surface, ...], points: Array) -> NDArray[np.intp]:
    """Which of the surfaces is nearest to each of the points (N, 3): (N,)."""
    return np.asarray(np.argmin([surface.distance(points) for surface in surfaces], axis=0))


def normals(surfaces: tuple[Surface, ...], which: NDArray[np.intp], points: Array) -> Array:
    """Outward unit normals (N, 3) of the surface `which` (N,) of `surfaces` at each of the points
    (N, 3), by central differences of the distance."""
    result = np.empty_like(points)
    for k, surface in enumerate(surfaces):
        on = which == k
        ahead, behind = (
            [surface.distance(points[on] + step) for step in by * np.eye(3)]
            for by in (STEP_MM, -STEP_MM)
        )
        slope = np.stack(ahead, axis=1) - np.stack(behind, axis=1)
        result[on] = slope / np.linalg.norm(slope, axis=1, keepdims=True)
    return result


@dataclass(frozen=True, eq=False)
class _Ball:
    """Places of the ball: where it touches the tube, `touch` (N,) mm along it, at `theta` (N,), and
    `corner` (N,) where the tube ends there; its `centre` (N, 3); the `mate` (N,) it touches."""

    radius: float
    theta: Array
    corner: Array
    touch: Array
    centre: Array
    mate: NDArray[np.intp]


def _roll(cope: Cope, theta: Array, corner: Array, radius: float) -> _Ball:
    """The ball where it touches the tube's lines at `theta` (N,), which end at `corner` (N,)."""
    way = -1.0 if cope.end == "end" else 1.0
    first, outward = _outside(cope, corner, theta)
    straight = cope.tube.is_uniform and not cope.tube.bends

    def centre(back: Array, line: NDArray[np.intp]) -> Array:
        if straight:  # then the line runs along the axis, and its normal stays
            behind = back[:, None] * cope.frame.out
            return np.asarray(first[line] + radius * outward[line] - behind)
        return _centre(cope, corner[line] + way * back, theta[line], radius)

    def room(back: Array, line: NDArray[np.intp]) -> Array:
        away = [mate.distance(centre(back, line)) for mate in cope.mates]
        return np.asarray(np.min(away, axis=0) - radius)

    every = np.arange(len(theta))
    back, far = np.zeros(len(theta)), np.full(len(theta), radius)
    for _ in range(DOUBLINGS):
        short = room(far, every) <= 0
        if not short.any():
            break
        far[short] *= 2
    # At a flank where tube and mate run on into each other the ball touches both in the corner.
    open_ = room(back, every) < 0
    found = find_root(
        room, (back[open_], far[open_]), args=(every[open_],), tolerances={"xatol": CLOSE_MM}
    )
    back[open_] = found.x
    if not np.all(found.success) or back.max() > cope.tube.length:
        raise ValueError(
            f"a fillet of radius {radius:g} mm finds no place at the {cope.end} of {cope.tube.name}"
        )
    touch = corner + way * back
    stands = centre(back, every)
    return _Ball(radius, theta, corner, touch, stands, nearest(cope.mates, stands))


def _where_it_turns(cope: Cope, corner: Corner, radius: float, turns: NDArray[np.intp]) -> _Ball:
    """The ball where it touches two mates, between columns `turns` (P,) and the ones after them."""
    low = corner.theta[turns]
    high = low + 2 * np.pi / len(corner.theta)
    before = _roll(cope, low, _stations(cope, low), radius).mate
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        same = _roll(cope, middle, _stations(cope, middle), radius).mate == before
        low, high = np.where(same, middle, low), np.where(same, high, middle)
    return _roll(cope, low, _stations(cope, low), radius)


def _columns(cope: Cope, ball: _Ball, mate: NDArray[np.intp]) -> tuple[Array, Array, Array]:
    """The three lines of points, (N, A, 3) each, where the ball touches `mate` (N,)."""
    share = np.linspace(0.0, 1.0, ACROSS + 1)
    count = len(ball.theta)
    station = ball.corner[:, None] + share * (ball.touch - ball.corner)[:, None]
    on_tube = _outside(cope, station.ravel(), np.repeat(ball.theta, ACROSS + 1))[0]
    on_tube = on_tube.reshape(count, -1, 3)
    to_mate = ball.centre - ball.radius * normals(cope.mates, mate, ball.centre)
    arc = _arcs(ball, on_tube[:, -1], to_mate)
    # The nearest point of a mate, from one near it: along the normal, by the distance.
    chord = to_mate[:, None] + share[:, None] * (on_tube[:, 0] - to_mate)[:, None]
    flat = chord.reshape(-1, 3)
    which = nearest(cope.mates, flat)
    off = np.min([surface.distance(flat) for surface in cope.mates], axis=0)
    on_mate = (flat - off[:, None] * normals(cope.mates, which, flat)).reshape(count, -1, 3)
    on_mate[:, 0], on_mate[:, -1] = to_mate, on_tube[:, 0]
    return on_tube, arc, on_mate


def _turned(
    ball: _Ball, one: tuple[Array, Array, Array], other: tuple[Array, Array, Array]
) -> tuple[Array, Array, Array]:
    """Columns, (P, TURNED, A, 3) of each line, while the ball turns from one mate to the other;
    under its way between them the fillet is closed off, for there the mates' own goes on."""
    tube, first, last = one[0], one[2], other[2]
    part = np.linspace(0.0, 1.0, TURNED)
    ways = _arcs(ball, first[:, 0], last[:, 0], TURNED)
    arcs = [_arcs(ball, tube[:, -1], ways[:, k]) for k in range(TURNED)]
    between = first[:, None] + part[:, None, None] * (last - first)[:, None]
    fades = np.linspace(1.0, 0.0, ACROSS + 1)[:, None]
    between = between + fades * (ways - between[:, :, 0])[:, :, None]
    return np.repeat(tube[:, None], TURNED, axis=1), np.stack(arcs, axis=1), between


def _freed(fillet: Fillet, centres: Array, radius: float) -> Fillet:
    """The fillet without what the ball takes away of it at other places, `centres` (N, 3): there
    its free surface is drawn in, straight towards tube and mate, until the ball just touches."""
    base = np.concatenate([fillet.on_tube[:, ::-1], fillet.on_mate[:, -2::-1]], axis=1)
    held = cKDTree(centres).query(fillet.arc)[0] < radius - HELD_MM
    if not held.any():
        return fillet
    start, way = base[held], fillet.arc[held] - base[held]
    square = (way**2).sum(axis=1)
    share = np.ones(len(start))
    for centre in centres:
        off = start - centre
        half = (off * way).sum(axis=1)
        root = half**2 - square * ((off**2).sum(axis=1) - radius**2)
        meets = (root > 0) & (half < 0)
        entry = (-half[meets] - np.sqrt(root[meets])) / square[meets]
        share[meets] = np.minimum(share[meets], np.maximum(entry, 0.0))
    arc = fillet.arc.copy()
    arc[held] = start + share[:, None] * way
    return replace(fillet, arc=arc)


def _arcs(ball: _Ball, start: Array, end: Array, count: int = 2 * ACROSS + 1) -> Array:
    """Points (N, count, 3) on the ball, on the shortest way from `start` to `end` (N, 3)."""
    one, other = (start - ball.centre) / ball.radius, (end - ball.centre) / ball.radius
    angle = 2 * np.arcsin(np.clip(np.linalg.norm(other - one, axis=1) / 2, 0.0, 1.0))[:, None]
    share = np.linspace(0.0, 1.0, count)
    # sinc(x) = sin(pi x) / (pi x): so an arc without length needs no case of its own.
    whole = np.sinc(angle / np.pi)
    weights = [s * np.sinc(s * angle / np.pi) / whole for s in (1 - share, share)]
    way = weights[0][:, :, None] * one[:, None] + weights[1][:, :, None] * other[:, None]
    return np.asarray(ball.centre[:, None] + ball.radius * way)


def _stations(cope: Cope, theta: Array) -> Array:
    """Where the tube's outside lines at `theta` (N,) enter the mates: (N,) mm along it, or nan."""
    stop = replace(cope, tools=cope.mates, seat=0.0).position(theta, np.ones(len(theta)))
    stop = np.where(np.isfinite(stop) & (stop > -cope.frame.run), stop, np.nan)
    return np.asarray(cope.tube.length + stop if cope.end == "end" else -stop)


def _centre(cope: Cope, station: Array, theta: Array, radius: float) -> Array:
    points, outward = _outside(cope, station, theta)
    return np.asarray(points + radius * outward)


def _outside(cope: Cope, station: Array, theta: Array) -> tuple[Array, Array]:
    """Points of the tube's outside and its outward unit normals there, (N, 3) each, world."""

    def at(station: Array, theta: Array) -> Array:
        point, tangent, datum = cope.tube.centreline.at(station)
        across = lateral(cope.tube, station, theta, 1.0)
        return np.asarray(point + across[:, :1] * datum + across[:, 1:] * np.cross(tangent, datum))

    points = at(station, theta)
    turn = STEP_MM / cope.tube.widest
    along = at(station + STEP_MM, theta) - at(station - STEP_MM, theta)
    around = at(station, theta + turn) - at(station, theta - turn)
    normal = np.cross(around, along)
    return points, np.asarray(normal / np.linalg.norm(normal, axis=1, keepdims=True))


def _enclosed(skin: Array) -> float:
    """Volume, mm3, inside a skin (C, A, 3) of points that closes both ways."""
    after, beside = np.roll(skin, -1, axis=0), np.roll(skin, -1, axis=1)
    opposite = np.roll(after, -1, axis=1)
    six = (np.cross(skin, after) * opposite).sum() + (np.cross(skin, opposite) * beside).sum()
    return abs(float(six)) / 6
