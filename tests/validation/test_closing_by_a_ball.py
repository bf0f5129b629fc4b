"""Fillets against the morphological closing of the joint by a ball (Serra, Image Analysis and
Mathematical Morphology, 1982, from memory), found by points scattered over it.

A point is filled where no ball that stands clear of tube and mates holds it. The nearest place for
the middle of such a ball is on a surface's offset by the radius, straight out from the point, or on
a line where two offsets cross. These lines are found by Newton's steps from points at random, so
that nothing here follows the way in which the fillet is built. Points are scattered evenly over all
small cells around the joint, which tells the volume to about 0.5 %.
"""

from collections.abc import Sequence
from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest
from scipy.spatial import cKDTree

from frame3d.model import Bend, Frame, Joint, Limits, Oval, Profile, Shop, Tube
from frame3d.surfaces.cope import Cope, cope_of
from frame3d.surfaces.fillet import Fillet, corner_of, fillet_of
from frame3d.surfaces.outer import outer_surface
from frame3d.surfaces.surface import Array, Surface

FINE, EACH = 12, 16  # cells to a radius; points in each cell

POST = Tube("post", (0, 0, -900), (0, 0, 900), Profile.constant(36), Profile.constant(1.2))


def leaning(angle: float, od: float, off: float = 0.0) -> Tube:
    a = np.radians(angle)
    far = (900 * np.sin(a), off, 900 * np.cos(a))
    return Tube("rail", (0.0, off, 0.0), far, Profile.constant(od), Profile.constant(0.9))


def end_of(rail: Tube, *mates: Tube) -> Cope:
    made = Joint("rail", "start", tuple(m.name for m in mates), (None,) * len(mates))
    limits = Limits(3, 10, 0.02, 1)
    return cope_of(Frame("t", "fillet-braze", (*mates, rail), (made,), limits, Shop()), made)


def slope(surface: Surface, points: Array) -> Array:
    steps = 1e-4 * np.eye(3)
    found = [surface.distance(points + s) - surface.distance(points - s) for s in steps]
    return np.stack(found, axis=1) / 2e-4


def crossing(one: Surface, other: Surface, radius: float, start: Array) -> Array:
    """Points where the offsets of two surfaces cross."""
    for _ in range(12):
        left = np.stack([one.distance(start), other.distance(start)], axis=1) - radius
        rows = np.stack([slope(one, start), slope(other, start)], axis=1)
        start = start - np.einsum("nij,nj->ni", np.linalg.pinv(rows), left)
    good = np.abs([one.distance(start) - radius, other.distance(start) - radius]).max(axis=0) < 1e-6
    return start[good]


def filled(surfaces: Sequence[Surface], radius: float, points: Array, seeds: Array) -> Array:
    """Whether points outside all surfaces are held by no free ball."""

    def clear(centres: Array) -> Array:
        return np.min([s.distance(centres) for s in surfaces], axis=0) >= radius - 1e-6

    shut = ~clear(points)
    for surface in surfaces:
        off = surface.distance(points)
        foot = points + (radius - off)[:, None] * slope(surface, points)
        shut &= ~((off < radius) & clear(foot))
    edges = [crossing(a, b, radius, seeds) for a, b in combinations(surfaces, 2)]
    lines = np.concatenate([line[clear(line)] for line in edges])
    found = np.zeros(len(points), bool)
    found[shut] = cKDTree(lines).query(points[shut])[0] > radius
    return found


def closed(cope: Cope, fillet: Fillet, radius: float) -> float:
    """Volume, mm3, that the closing adds to tube and mates, on this side of the joint, less what it
    adds between the mates themselves."""
    tube = outer_surface(cope.tube)
    behind = np.concatenate([fillet.on_tube[:, ::-1], fillet.on_mate[:, -2::-1]], axis=1)
    between = [behind + share * (fillet.arc - behind) for share in np.linspace(0, 1, 9)]
    skin = np.stack(between)[:, ::3].reshape(-1, 3)
    cell = radius / FINE
    low, high = skin.min(axis=0) - 3 * cell, skin.max(axis=0) + 3 * cell
    grid = np.meshgrid(*(np.arange(a, b, cell) for a, b in zip(low, high, strict=True)))
    cells = np.stack(grid, axis=-1).reshape(-1, 3)
    # A fillet ends in points that coincide, which make a tree slow: each place once.
    skin = np.unique(skin.round(1), axis=0)
    cells = cells[cKDTree(skin).query(cells + cell / 2, distance_upper_bound=2 * cell)[0] < np.inf]
    spread = np.random.default_rng(2).random((EACH, *cells.shape))
    points = (cells + cell * spread).reshape(-1, 3)
    all_ = (tube, *cope.mates)
    out = np.min([s.distance(points) for s in all_], axis=0) > 0
    points = points[out & ((points - cope.frame.origin) @ cope.frame.out < 0)]
    seeds = low - radius + (high - low + 2 * radius) * np.random.default_rng(1).random((4000, 3))
    seeds = seeds[(seeds - cope.frame.origin) @ cope.frame.out < 0]
    count = filled(all_, radius, points, seeds)
    if len(cope.mates) > 1:
        count &= ~filled(cope.mates, radius, points, seeds)
    return float(cell**3 * count.sum() / EACH)


@pytest.mark.parametrize(
    ("rail", "mate", "radius"),
    [
        (leaning(73, 28.6), 36.0, 6.0),
        (leaning(50, 31.8), 36.0, 6.0),
        (leaning(55, 12.7, 7.1), 28.6, 6.0),
        (leaning(90, 36), 36.0, 6.0),
        (leaning(30, 28.6), 36.0, 6.0),
        (leaning(60, 16, 5.0), 40.0, 2.0),
        (leaning(30, 12), 36.0, 10.0),
    ],
    ids=["73", "50", "off", "alike", "30", "small", "large ball"],
)
def test_a_fillet_is_what_a_ball_leaves_out(rail: Tube, mate: float, radius: float) -> None:
    cope = end_of(rail, replace(POST, od=Profile.constant(mate)))
    fillet = fillet_of(cope, corner_of(cope), radius)
    assert fillet.volume == pytest.approx(closed(cope, fillet, radius), rel=0.01)


def test_a_fillet_of_shaped_tubes_is_what_a_ball_leaves_out() -> None:
    """A tapered oval tube on a bent mate."""
    taper = Profile.through([(0, 22), (80, 30)])
    rail = replace(leaning(65, 25), od=taper, oval=Oval(Profile.through([(0, 16), (80, 20)]), 30.0))
    bent = replace(POST, bends=(Bend((0.0, 0.0, 0.0), 150.0),), end=(-300.0, 0.0, 850.0))
    cope = end_of(rail, bent)
    fillet = fillet_of(cope, corner_of(cope), 5.0)
    assert fillet.volume == pytest.approx(closed(cope, fillet, 5.0), rel=0.015)


def test_a_fillet_onto_two_mates_fills_the_corner_between_them() -> None:
    """What the mates' own fillet holds already is counted with theirs; near the corner it is in
    both, so this one is the larger by some of it."""
    second = Tube("top", (0, 0, 0), (700, 0, -80), Profile.constant(28.6), Profile.constant(0.9))
    cope = end_of(leaning(50, 16), POST, second)
    fillet = fillet_of(cope, corner_of(cope), 4.0)
    assert fillet.volume == pytest.approx(closed(cope, fillet, 4.0), rel=0.02)
