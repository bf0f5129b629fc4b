"""Mass and its centre, against closed forms."""

import math
from dataclasses import replace

import numpy as np
import pytest

from frame3d.build import Build
from frame3d.model import Frame, Limits, Profile, Tube
from frame3d.solids.centroid import centroid
from frame3d.solids.frame_solids import frame_solids

LIMITS = Limits(end_margin_mm=3.0, least_angle_deg=10.0, feather_mm=0.02, clash_mm3=1.0)
PLAIN = Tube(
    "plain", (900, 40, 10), (1100, 40, 10), Profile.constant(28.6), Profile.constant(0.9), "steel"
)


def test_a_straight_tube_has_its_centre_in_its_middle_and_the_mass_of_its_ring() -> None:
    frame = Frame("one", "tig", (PLAIN,), (), LIMITS)
    report = Build(frame).report
    assert report.centre == pytest.approx((1000, 40, 10), abs=1e-7)
    assert report.mass == pytest.approx(math.pi * 0.9 * 27.7 * 200 * 7.85e-3, rel=2e-5)


def test_a_butt_draws_the_centre_to_its_side() -> None:
    """Two rings end to end: each side's area times its length, at its own middle."""
    wall = Profile.through([(0, 1.0), (50, 1.0), (50, 0.5)])
    frame = Frame("butt", "tig", (replace(PLAIN, wall=wall),), (), LIMITS)
    report = Build(frame).report
    thick, thin = 1.0 * 27.6 * 50, 0.5 * 28.1 * 150
    x = (thick * 925 + thin * 1025) / (thick + thin)
    assert report.centre == pytest.approx((x, 40, 10), abs=1e-3)


def test_a_cone_has_its_centre_a_quarter_up() -> None:
    """A nearly solid cone: bore all but nothing, so a full frustum's centre by its closed form."""
    tube = Tube("cone", (0, 0, 0), (0, 0, 100), Profile.through([(0, 40), (100, 20)]),
                Profile.through([(0, 19.99), (100, 9.99)]))  # fmt: skip
    frame = Frame("cone", "tig", (tube,), (), LIMITS)
    body = frame_solids(frame, {}).tubes["cone"].solid
    big, small = 20.0, 10.0
    height = (
        100 * (big**2 + 2 * big * small + 3 * small**2) / (4 * (big**2 + big * small + small**2))
    )
    assert centroid(body) == pytest.approx([0, 0, height], abs=1e-3)


def test_frames_of_two_materials_lean_to_the_heavier() -> None:
    light = replace(PLAIN, name="light", start=(900, -40, 10), end=(1100, -40, 10))
    frame = Frame("two", "tig", (PLAIN, replace(light, material="aluminium")), (), LIMITS)
    report = Build(frame).report
    y = 40 * (7.85 - 2.70) / (7.85 + 2.70)
    assert report.centre == pytest.approx((1000, y, 10), abs=1e-6)
    assert report.as_json()["centre_mm"] == pytest.approx([1000, y, 10], abs=1e-5)
    assert np.isfinite(report.mass)
