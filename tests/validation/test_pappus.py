"""Volumes of bends by Pappus's centroid theorem: area of the section times the way of its centre.

Also frustums, h pi (R^2 + R r + r^2) / 3, and ovals between them. Elementary geometry; from memory.
"""

import numpy as np
import pytest
from scipy.integrate import quad
from shaped_tubes import bore, outside

from frame3d.model import Bend, Oval, Profile, Tube
from frame3d.model.tube_section import lateral
from frame3d.solids.raw_tube import Extent, raw_tube

CHORD = 0.005
LIMIT = 2e-5  # of the volume, at the default chord: what design.md asks of every tube

BENT = Tube(
    "bent",
    (0, 0, 0),
    (300, 150, 40),
    Profile.constant(24.0),
    Profile.constant(1.0),
    bends=(Bend((150, 0, 0), 120.0),),
)


def whole(tube: Tube) -> Extent:
    return Extent(0.0, tube.length)


def frustum(first: float, last: float, height: float) -> float:
    return np.pi * height / 3 * (first**2 + first * last + last**2)


def test_bent_tube_by_pappus():
    expected = np.pi * (12.0**2 - 11.0**2) * BENT.length
    assert raw_tube(BENT, whole(BENT), CHORD).volume() == pytest.approx(expected, rel=LIMIT)
    assert outside(BENT, whole(BENT), CHORD).volume() == pytest.approx(
        np.pi * 144.0 * BENT.length, rel=LIMIT
    )


def test_error_of_a_bend_shrinks_with_the_chord():
    expected = np.pi * (12.0**2 - 11.0**2) * BENT.length
    errors = [abs(raw_tube(BENT, whole(BENT), c).volume() / expected - 1) for c in (0.04, 0.01)]
    assert errors[1] < errors[0] / 3


def test_bent_oval_by_pappus_whichever_way_it_lies():
    for angle in (0.0, 35.0, 90.0):
        tube = Tube(
            "oval",
            BENT.start,
            BENT.end,
            Profile.constant(30.0),
            BENT.wall,
            oval=Oval(Profile.constant(16.0), angle),
            bends=BENT.bends,
        )
        expected = np.pi * 15.0 * 8.0 * tube.length
        assert outside(tube, whole(tube), CHORD).volume() == pytest.approx(expected, rel=LIMIT)


def test_tapered_tube_by_frustums():
    od = Profile.through([(50, 28.0), (150, 14.0)])
    tube = Tube("stay", (0, 0, 0), (100, 200, 50), od, Profile.constant(0.8))

    def expected(inward: float) -> float:
        thick, thin = 14.0 - inward, 7.0 - inward
        ends = 50 * np.pi * thick**2 + (tube.length - 150) * np.pi * thin**2
        return ends + frustum(thick, thin, 100)

    full, hole = outside(tube, whole(tube), CHORD), bore(tube, whole(tube), CHORD)
    assert full.volume() == pytest.approx(expected(0.0), rel=LIMIT)
    assert hole.volume() == pytest.approx(expected(0.8), rel=LIMIT)
    metal = raw_tube(tube, whole(tube), CHORD).volume()
    assert metal == pytest.approx(expected(0.0) - expected(0.8), rel=LIMIT)


def test_stepped_tube_by_cylinders():
    od = Profile.through([(50, 28.0), (50, 32.0)])
    tube = Tube("step", (0, 0, 0), (0, 0, 100), od, Profile.constant(1.0))
    expected = np.pi * 50 * (14.0**2 + 16.0**2)
    assert outside(tube, whole(tube), CHORD).volume() == pytest.approx(expected, rel=LIMIT)


def test_oval_changing_along_the_tube_by_quadrature():
    od = Profile.through([(0, 24.0), (100, 30.0), (260, 14.0)])
    across = Profile.through([(0, 24.0), (100, 16.0), (260, 14.0)])
    tube = Tube("oval", (0, 0, 0), (300, 30, 0), od, Profile.constant(1.0), oval=Oval(across, 20))
    parts = [
        quad(lambda s: np.pi * od(s) * across(s) / 4, *ends)[0] for ends in ((0, 100), (100, 260))
    ]
    expected = sum(parts) + np.pi * 49 * (tube.length - 260)
    assert outside(tube, whole(tube), CHORD).volume() == pytest.approx(expected, rel=LIMIT)

    def bore_area(station: float) -> float:
        theta = np.linspace(0, 2 * np.pi, 20001)
        x, y = lateral(tube, np.full(len(theta), station), theta, 0.0).T
        return float(np.sum(x[:-1] * y[1:] - x[1:] * y[:-1]) / 2)

    nodes, weights = np.polynomial.legendre.leggauss(12)
    inner = sum(
        (high - low) / 2 * w * bore_area((low + high) / 2 + (high - low) / 2 * n)
        for low, high in ((0, 100), (100, 260))
        for n, w in zip(nodes, weights, strict=True)
    )
    inner += np.pi * 36 * (tube.length - 260)
    assert bore(tube, whole(tube), CHORD).volume() == pytest.approx(inner, rel=LIMIT)
    metal = raw_tube(tube, whole(tube), CHORD).volume()
    assert metal == pytest.approx(expected - inner, rel=LIMIT)
