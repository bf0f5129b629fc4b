"""J. H. Hubbell, "Common Volume of Two Intersecting Cylinders", J. Res. NBS 69C (1965) 139.

Radii r1 <= r2, axes that cross at the angle b, k = r1 / r2:

    V = r2^3 v(k) / sin b,    v(k) = (8/3) [(1 + k^2) E(k) - (1 - k^2) K(k)]

with complete elliptic integrals of modulus k. scipy's functions take the parameter m = k^2.
"""

import numpy as np
import pytest
from reference.frames import pair
from scipy.integrate import quad
from scipy.special import ellipe, ellipkm1

from frame3d.solids.facets import facets
from frame3d.solids.finished_tube import finished_tube
from frame3d.solids.rings import prism
from frame3d.surfaces.cope import copes_of

RADIUS = 20.0
RATIOS = [0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 0.95, 1.0]
ANGLES = [20.0, 30.0, 45.0, 60.0, 73.0, 90.0]


def v(k: float) -> float:
    m = k**2
    # (1 - m) K(m) tends to 0 as m tends to 1, where K itself has no value.
    second = 0.0 if m == 1.0 else (1 - m) * ellipkm1(1 - m)
    return float(8.0 / 3.0 * ((1 + m) * ellipe(m) - second))


def common(r1: float, r2: float, angle: float) -> float:
    return r2**3 * v(r1 / r2) / np.sin(np.radians(angle))


def rod(radius: float, axis, half_length: float):
    """A capped rod about the origin, with the flats that the product gives such a circle."""
    axis = np.asarray(axis, float)
    x = np.cross(axis, [0.0, 1.0, 0.0])
    x /= np.linalg.norm(x)
    angle = np.arange(count := facets(radius)) * (2 * np.pi / count)
    ring = radius * (np.outer(np.cos(angle), x) + np.outer(np.sin(angle), np.cross(axis, x)))
    return prism(ring - half_length * axis, 2 * half_length * axis)


@pytest.mark.parametrize("k", RATIOS)
def test_the_formula_is_used_with_modulus_k_not_parameter(k):
    slices, _ = quad(lambda x: np.sqrt((k**2 - x**2) * (1 - x**2)), 0, k, epsabs=1e-12)
    assert v(k) == pytest.approx(8 * slices, rel=1e-8)


def test_equal_cylinders_share_sixteen_thirds():
    assert v(1.0) == pytest.approx(16 / 3, rel=1e-14)


@pytest.mark.parametrize("angle", ANGLES)
@pytest.mark.parametrize("k", RATIOS)
def test_solids_of_two_rods_share_hubbells_volume(k, angle):
    b = np.radians(angle)
    mate = rod(RADIUS, (0.0, 0.0, 1.0), 200.0)
    through = rod(k * RADIUS, (np.sin(b), 0.0, np.cos(b)), 200.0)
    # Both polygons stand inside their circles: by 1.5e-5 of their area each.
    assert (mate ^ through).volume() == pytest.approx(common(k * RADIUS, RADIUS, angle), rel=4e-5)


@pytest.mark.parametrize("angle", ANGLES)
@pytest.mark.parametrize("k", RATIOS)
def test_a_cope_removes_half_of_hubbells_volume(k, angle):
    """A tube that ends square in the mate's axis loses by its cope half of what its outside shares
    with the mate, less half of what its bore shares: both halves of the mate are alike."""
    radius, wall, length = k * RADIUS, 0.2 * k * RADIUS, 260.0
    frame = pair(2 * radius, wall, 2 * RADIUS, angle, length=length)
    cope = copes_of(frame)["rail", "start"]
    finished = finished_tube(frame.tube("rail"), {"start": cope}).volume
    square = np.pi * (radius**2 - (radius - wall) ** 2) * length
    removed = (common(radius, RADIUS, angle) - common(radius - wall, RADIUS, angle)) / 2
    assert square - finished == pytest.approx(removed, abs=2e-5 * finished)
