"""E. W. Weisstein, "Cylinder-Cylinder Intersection", MathWorld.

Cylinders x^2 + y^2 = a^2 and y^2 + z^2 = b^2 with a <= b, square to each other: they meet in

    x = a cos t,  y = a sin t,  z = +- sqrt(b^2 - a^2 sin^2 t)

and share V = (8/3) b [(a^2 + b^2) E(a/b) - (b^2 - a^2) K(a/b)], of modulus a/b.
"""

import numpy as np
import pytest
from reference.frames import frame, tube
from scipy.special import ellipe, ellipk

from frame3d.solids.finished_tube import finished_tube
from frame3d.surfaces.cope import copes_of

PAIRS = [(9.525, 15.9), (14.3, 18.0), (14.3, 14.3), (1.0, 25.0)]


def tee(a: float, b: float):
    """A rail up the z axis from a beam along the x axis, and the rail's cope."""
    beam = tube("beam", (-80, 0, 0), (80, 0, 0), 2 * b, 1.0)
    rail = tube("rail", (0, 0, 0), (0, 0, 100), 2 * a, 0.25 * a)
    made = frame("tee", [beam, rail], [("rail", "start", {"beam": None})])
    return made, copes_of(made)["rail", "start"]


@pytest.mark.parametrize(("a", "b"), PAIRS)
def test_the_cope_is_the_intersection_curve(a, b):
    _, cope = tee(a, b)
    t = np.linspace(0, 2 * np.pi, 1000)  # the datum of an upright tube faces +x, as t = 0 does
    x, y, z = cope.points(t, np.ones_like(t)).T
    assert np.abs(x - a * np.cos(t)).max() < 1e-9
    assert np.abs(y - a * np.sin(t)).max() < 1e-9
    # A tangent line is let in within 1e-7 mm, whose root is the largest deviation there.
    assert np.abs(z - np.sqrt(np.maximum(b**2 - a**2 * np.sin(t) ** 2, 0))).max() < 1e-6


@pytest.mark.parametrize(("a", "b"), PAIRS)
def test_the_solids_coped_edge_runs_along_the_intersection_curve(a, b):
    made, cope = tee(a, b)
    solid = finished_tube(made.tube("rail"), {"start": cope}).solid
    x, y, z = np.array(solid.to_mesh64().vert_properties[:, :3]).T
    edge = (np.abs(np.hypot(x, y) - a) < 1e-3) & (z < 99)
    assert edge.sum() > 80
    on_curve = np.sqrt(np.maximum(b**2 - y[edge] ** 2, 0))
    assert np.abs(z[edge] - on_curve).max() < 1e-3


@pytest.mark.parametrize(("a", "b"), PAIRS)
def test_the_shared_volume_is_what_two_copes_remove(a, b):
    made, cope = tee(a, b)
    finished = finished_tube(made.tube("rail"), {"start": cope}).volume

    def shared(r):
        m = (r / b) ** 2
        second = (b**2 - r**2) * ellipk(m) if r < b else 0.0
        return 8 / 3 * b * ((r**2 + b**2) * ellipe(m) - second)

    square = np.pi * (a**2 - (0.75 * a) ** 2) * 100
    removed = (shared(a) - shared(0.75 * a)) / 2
    assert square - finished == pytest.approx(removed, abs=2e-5 * finished)
