"""Filler volumes by hand and by Pappus; the angle between surfaces by the dihedral relation.

Dihedral relation for tubular connections (AWS D1.1, annex on local dihedral angle, and textbooks
on tubular joints; from memory, here derived once more for a branch of radius r on a chord of
radius R at the angle t): with w around the branch from the crown's toe,
cos of the angle between the outward normals = cos t cos w cos h + sin w sin h, sin h = r sin w / R
for a branch direction that leans towards w = 0.
"""

from dataclasses import replace

import numpy as np
import pytest
from scipy import integrate, special

from frame3d.check.filler import gap_volume
from frame3d.check.vents import vent_advice
from frame3d.model import Dome, Frame, Joint, Limits, Oval, Profile, Shop, Tube
from frame3d.surfaces.cope import Cope, cope_of
from frame3d.surfaces.fillet import corner_of, fillet_of


def joint_frame(angle: float, od: float, mate: float, saw: float | None = None) -> Frame:
    a = np.radians(angle)
    post = Tube("post", (0, 0, -900), (0, 0, 900), Profile.constant(mate), Profile.constant(1.2))
    far = tuple(900 * np.array([np.sin(a), 0.0, np.cos(a)]))
    rail = Tube("rail", (0.0, 0.0, 0.0), far, Profile.constant(od), Profile.constant(0.9))
    made = Joint("rail", "start", ("post",), (saw,))
    return Frame("t", "fillet-braze", (post, rail), (made,), Limits(3, 10, 0.02, 1), Shop())


def joint(angle: float, od: float, mate: float, saw: float | None = None) -> Cope:
    frame = joint_frame(angle, od, mate, saw)
    return cope_of(frame, frame.joints[0])


def plate_joint(od: float) -> Cope:
    """A tube square on a mate so large that it is flat where they meet."""
    big = 1e6
    plate = Tube(
        "plate", (-big, 0, -900), (-big, 0, 900), Profile.constant(2 * big), Profile.constant(1.2)
    )
    rail = Tube("rail", (-50, 0, 0), (300, 0, 0), Profile.constant(od), Profile.constant(0.9))
    made = Joint("rail", "start", ("plate",), (None,))
    frame = Frame("t", "fillet-braze", (plate, rail), (made,), Limits(3, 10, 0.02, 1), Shop())
    return cope_of(frame, made)


def test_torus_fillet_by_pappus() -> None:
    """A post of radius 15 square on a flat plate: section times the way of its centroid. The
    centroid of a square's corner less a quarter circle is at R (10 - 3 pi) / (12 - 3 pi) from
    either face (handbook value, from memory; found once more here by quadrature)."""
    radius, r = 6.0, 15.0
    area = integrate.quad(lambda x: radius - np.sqrt(radius**2 - (radius - x) ** 2), 0, radius)[0]
    moment = integrate.quad(
        lambda x: x * (radius - np.sqrt(radius**2 - (radius - x) ** 2)), 0, radius
    )[0]
    assert moment / area == pytest.approx(radius * (10 - 3 * np.pi) / (12 - 3 * np.pi), rel=1e-6)
    cope = plate_joint(2 * r)
    assert fillet_of(cope, corner_of(cope), radius).volume == pytest.approx(
        2 * np.pi * (r + moment / area) * area, rel=1e-4
    )


def test_line_of_a_square_joint_on_a_plate_is_a_circle() -> None:
    assert corner_of(plate_joint(30.0)).length == pytest.approx(30 * np.pi, rel=1e-5)


@pytest.mark.parametrize(("angle", "od", "mate"), [(73, 28.6, 36), (45, 20, 44), (90, 25.4, 31.8)])
def test_line_of_a_joint_is_as_long_as_the_quadrature_of_its_curve(
    angle: float, od: float, mate: float
) -> None:
    r, big, a = od / 2, mate / 2, np.radians(angle)

    def speed(w: float) -> float:
        root = np.sqrt(big**2 - (r * np.sin(w)) ** 2)
        slope = (r * np.sin(w) * np.cos(a) + r**2 * np.sin(w) * np.cos(w) / root) / np.sin(a)
        return float(np.hypot(r, slope))

    wanted = integrate.quad(speed, 0, 2 * np.pi, epsabs=1e-10, limit=200)[0]
    assert corner_of(joint(angle, od, mate)).length == pytest.approx(wanted, rel=1e-5)


@pytest.mark.parametrize(("angle", "od", "mate"), [(73, 28.6, 36), (45, 20, 44), (60, 16, 28.6)])
def test_angle_around_a_joint_follows_the_dihedral_relation(
    angle: float, od: float, mate: float
) -> None:
    line = corner_of(joint(angle, od, mate))
    toe = int(line.angle.argmin())
    w = line.theta - line.theta[toe]
    h = np.arcsin(od * np.sin(w) / mate)
    t = np.radians(angle)
    cosine = -np.cos(t) * np.cos(w) * np.cos(h) + np.sin(w) * np.sin(h)
    assert line.angle == pytest.approx(np.pi - np.arccos(cosine), abs=1e-4)
    assert np.degrees(line.angle.min()) == pytest.approx(angle, abs=1e-3)
    assert np.degrees(line.angle.max()) >= 180 - angle - 1e-3  # the heel's, or more at the sides


def test_volume_of_an_even_gap_by_hand() -> None:
    """A tube cut along its mate and drawn back by 0.2 mm: 0.2 mm times the wall's section."""
    cope = joint(80.0, 28.6, 36.0)
    section = np.pi * (14.3**2 - 13.4**2)
    assert gap_volume(replace(cope, seat=-0.2)) == pytest.approx(0.2 * section, rel=1e-4)
    assert gap_volume(cope) == pytest.approx(0.0, abs=1e-6)


def test_an_oval_tube_square_on_a_flat_has_square_corners_and_its_own_section() -> None:
    """The tube's own normal counts, not the direction from its axis. An even wall w square to an
    outline of length p has the section p w - pi w^2 (Steiner's formula for parallel curves)."""
    round_one = plate_joint(28.6)
    tube = replace(round_one.tube, oval=Oval(Profile.constant(18.0), 25.0))
    cope = replace(round_one, tube=tube)
    line = corner_of(cope)
    assert np.degrees(line.angle) == pytest.approx(90.0, abs=0.01)
    a, b = 14.3, 9.0
    outline = 4 * a * special.ellipe(1 - (b / a) ** 2)
    section = 0.9 * outline - np.pi * 0.9**2
    assert gap_volume(replace(cope, seat=-0.2)) == pytest.approx(0.2 * section, rel=1e-4)


def test_a_capped_tube_is_told_where_to_vent_it() -> None:
    frame = joint_frame(80.0, 28.6, 36.0)
    assert not vent_advice(frame, {("rail", "start"): cope_of(frame, frame.joints[0])})
    capped = replace(frame, ends=(Dome("rail", "end", 14.3),))
    (advice,) = vent_advice(capped, {("rail", "start"): cope_of(capped, capped.joints[0])})
    assert "rail is closed (capped)" in advice.words
    # The axis meets the post's outside 18 mm from its middle, at 80 degrees.
    assert f"into post {900 + 18 / np.tan(np.radians(80)):.1f} mm" in advice.words
