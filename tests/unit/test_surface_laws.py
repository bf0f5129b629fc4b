"""What holds for every outer surface, whatever its shape."""

from dataclasses import replace

import numpy as np
import pytest
from draws import draws
from hypothesis import given
from hypothesis import strategies as st
from shaped_tubes import TUBES

from frame3d.model import Tube
from frame3d.model.tube_section import lateral
from frame3d.surfaces.outer import outer_surface

seeds = st.integers(0, 2**32 - 1)
shapes = pytest.mark.parametrize("shape", TUBES)
SURFACES = {name: outer_surface(tube) for name, tube in TUBES.items()}


def outside_points(tube: Tube, rng: np.random.Generator, count: int) -> np.ndarray:
    """On the outside, from the model alone."""
    station = rng.uniform(-60, tube.length + 60, count)
    origin, ahead, datum = tube.centreline.at(station)
    across = lateral(tube, station, rng.uniform(0, 2 * np.pi, count), 1.0)
    return origin + across[:, :1] * datum + across[:, 1:] * np.cross(ahead, datum)


def unit(rng: np.random.Generator) -> np.ndarray:
    vector = rng.normal(size=3)
    return vector / np.linalg.norm(vector)


def near_points(tube: Tube, rng: np.random.Generator, count: int) -> np.ndarray:
    return outside_points(tube, rng, count) + rng.normal(size=(count, 3)) * rng.choice(
        [0.01, 1, 30]
    )


@shapes
@given(seed=seeds)
@draws(few=10, many=50)
def test_points_of_the_model_outside_have_no_distance(shape, seed):
    points = outside_points(TUBES[shape], np.random.default_rng(seed), 200)
    np.testing.assert_allclose(SURFACES[shape].distance(points), 0.0, atol=1e-9)


@shapes
@given(seed=seeds)
@draws(few=10, many=50)
def test_distance_grows_no_faster_than_one_moves(shape, seed):
    rng = np.random.default_rng(seed)
    p = near_points(TUBES[shape], rng, 200)
    q = p + rng.normal(size=p.shape) * 10.0 ** rng.uniform(-6, 1.5, (len(p), 1))
    change = np.abs(SURFACES[shape].distance(p) - SURFACES[shape].distance(q))
    assert np.all(change <= np.linalg.norm(p - q, axis=1) + 1e-9)


@shapes
@given(seed=seeds)
@draws(few=10, many=50)
def test_no_sample_of_the_outside_is_nearer_than_the_distance(shape, seed):
    rng = np.random.default_rng(seed)
    points = near_points(TUBES[shape], rng, 50)
    samples = outside_points(TUBES[shape], rng, 4000)
    nearest = np.linalg.norm(points[:, None] - samples[None], axis=2).min(axis=1)
    assert np.all(np.abs(SURFACES[shape].distance(points)) <= nearest + 1e-9)


@shapes
@given(seed=seeds)
@draws(few=20, many=100)
def test_entry_is_on_the_surface_and_nothing_before_it_is_inside(shape, seed):
    rng = np.random.default_rng(seed)
    surface, tube = SURFACES[shape], TUBES[shape]
    direction = unit(rng)
    if rng.random() < 0.3:  # nearly along the axis: long grazing ways
        near = tube.centreline.at(rng.uniform(0, tube.length))[1][0]
        direction = near + 10.0 ** rng.uniform(-6, -1) * direction
        direction /= np.linalg.norm(direction)
    origins = near_points(tube, rng, 40) - direction * rng.uniform(0, 300, 40)[:, None]
    entry = surface.entry(origins, direction)
    inside = surface.distance(origins) < -1e-9
    assert np.all(entry[inside] == 0.0)
    met = np.isfinite(entry) & (entry > 0)
    there = origins[met] + entry[met, None] * direction
    assert np.all(np.abs(surface.distance(there)) < 1e-6)
    way = np.where(np.isfinite(entry), entry, 800.0)[~inside, None] * np.linspace(0, 1, 300)
    before = origins[~inside, None] + way[..., None] * direction
    assert surface.distance(before.reshape(-1, 3)).min(initial=0.0) > -1e-6


@shapes
@given(seed=seeds)
@draws(few=10, many=50)
def test_lines_at_points_inside_enter_before_them(shape, seed):
    rng = np.random.default_rng(seed)
    surface, tube = SURFACES[shape], TUBES[shape]
    points = tube.centreline.at(rng.uniform(-40, tube.length + 40, 40))[0]
    points = points + rng.uniform(-3, 3, points.shape)  # the thinnest half width is 5.5 mm
    direction, back = unit(rng), 400.0
    assert np.all(surface.entry(points - back * direction, direction) < back)


@shapes
@given(seed=seeds)
@draws(few=10, many=50)
def test_turning_about_the_vertical_and_shifting_everything_changes_nothing(shape, seed):
    rng = np.random.default_rng(seed)
    tube, angle, shift = TUBES[shape], rng.uniform(0, 2 * np.pi), rng.normal(size=3) * 100
    cos, sin = np.cos(angle), np.sin(angle)
    turn = np.array(
        [[cos, -sin, 0], [sin, cos, 0], [0, 0, 1]]
    )  # the datum faces +z before and after

    def moved(points: np.ndarray) -> np.ndarray:
        return np.asarray(points) @ turn.T + shift

    elsewhere = outer_surface(
        replace(
            tube,
            start=tuple(moved(tube.start)),
            end=tuple(moved(tube.end)),
            bends=tuple(replace(b, corner=tuple(moved(b.corner))) for b in tube.bends),
        )
    )
    points = near_points(tube, rng, 100)
    here = SURFACES[shape]
    np.testing.assert_allclose(elsewhere.distance(moved(points)), here.distance(points), atol=1e-9)
    direction = unit(rng)
    origins = points - 200 * direction
    entry = here.entry(origins, direction)
    again = elsewhere.entry(moved(origins), turn @ direction)
    there = origins + np.where(np.isfinite(entry), entry, 0)[:, None] * direction
    # A line that only just touches may enter or miss by rounding, and its entry is ill-defined.
    clear = np.abs(here.distance(there + 1e-3 * direction)) > 1e-5
    np.testing.assert_allclose(again[clear], entry[clear], atol=1e-6)


@shapes
@given(seed=seeds)
@draws(few=20, many=100)
def test_what_a_bundle_of_lines_meets_is_entered_where_the_whole_surface_is(shape, seed):
    """Copes and tools ask the part of a mate that their lines meet, which is quicker."""
    rng = np.random.default_rng(seed)
    tube, whole = TUBES[shape], SURFACES[shape]
    place, ahead, _ = tube.centreline.at(rng.uniform(-30, tube.length + 30))
    direction = unit(rng) if rng.random() < 0.8 else ahead[0]
    spread = 10.0 ** rng.uniform(-1, 1.5)
    middle = place[0] + rng.normal(size=3) * 10
    part = whole.met_by(middle, direction, spread)
    off = rng.normal(size=(200, 3))
    off -= np.outer(off @ direction, direction)
    off *= (spread * rng.random(200) / np.linalg.norm(off, axis=1))[:, None]
    origins = middle + off - direction * rng.uniform(-300, 300, 200)[:, None]
    here, there = whole.entry(origins, direction), part.entry(origins, direction)
    # A line that only just touches may enter or miss by rounding.
    sure = np.isfinite(here) & np.isfinite(there)
    np.testing.assert_allclose(there[sure], here[sure], atol=1e-6)
    met = np.where(np.isfinite(here), here, np.where(np.isfinite(there), there, np.nan))
    at = origins + met[:, None] * direction
    grazes = np.abs(whole.distance(at[~sure & np.isfinite(at).all(axis=1)] + 1e-3 * direction))
    assert np.all(grazes < 1e-5)
