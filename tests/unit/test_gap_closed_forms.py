"""Gaps and seats against closed forms, derived here.

Saw (radius s) and mate (radius m) stand about one axis, so all can be measured square to it, in the
mate's cross-section. Let u be the distance of a point of the tube, sideways, from the plane that
holds the tube's direction and the mate's axis; the tube meets that section in |u| <= r, its outer
radius (u shifted by the offset of the axes, if any). The saw leaves the metal at the height
sqrt(s^2 - u^2) over the mate's axis, and the mate lets it go down to sqrt(m^2 - u^2).

Pushing the tube along its axis by `seat` lowers it by seat sin b, b the angle between the axes,
until the two heights first meet: at u = 0 for a saw larger than the mate, at the greatest |u| for a
smaller one. Then a point's gap is its distance to the mate's axis less m.
"""

import numpy as np
import pytest
from reference.frames import pair

from frame3d.check.gap import gap_of
from frame3d.surfaces.cope import copes_of

MICROMETRE = 1e-3


def lowered(u, saw, mate):
    """By how much the end comes down in the section until it touches, mm, for |u| over `u`."""
    return np.min(np.sqrt(saw**2 - u**2) - np.sqrt(mate**2 - u**2))


def closed_form(od, wall, mate_od, angle, saw_od, offset=0.0):
    """(seat, max, outer max, inner max) in mm."""
    s, m, r = saw_od / 2, mate_od / 2, od / 2
    u = np.linspace(-r, r, 200001) + offset
    down = lowered(u, s, m)

    def widest(reach):
        across = np.linspace(-reach, reach, 200001) + offset
        height = np.sqrt(s**2 - across**2) - down
        return np.max(np.hypot(across, height)) - m

    widest_outer, widest_inner = widest(r), widest(r - wall)
    return (
        down / np.sin(np.radians(angle)),
        max(widest_outer, widest_inner),
        widest_outer,
        widest_inner,
    )


def product(*args, **kwargs):
    cope = copes_of(pair(*args, **kwargs))["rail", "start"]
    gap = gap_of(cope)
    return cope.seat, gap.widest.value, gap.outer.value, gap.inner.value, gap.mean


def test_section_of_the_issues_joint_by_hand():
    """28.6 on 36.0 with a 37.0 saw: u = 14.3 at the sides, heights from Pythagoras."""
    height = np.sqrt(18.5**2 - 14.3**2) - 0.5
    expected = np.hypot(14.3, height) - 18.0
    seat, widest, outer, *_ = product(28.6, 0.9, 36.0, 73.0, saw=37.0)
    assert seat == pytest.approx(0.5 / np.sin(np.radians(73.0)), abs=1e-6)
    assert widest == outer == pytest.approx(expected, abs=1e-6)


@pytest.mark.parametrize("angle", [20.0, 45.0, 73.0, 90.0])
@pytest.mark.parametrize(
    ("od", "wall", "mate_od", "saw_od"),
    [
        (28.6, 0.9, 36.0, 37.0),
        (28.6, 0.9, 36.0, 35.0),
        (28.6, 0.9, 28.6, 29.0),
        (16.0, 0.8, 28.6, 29.0),
        (31.8, 0.9, 40.0, 44.0),
        (25.4, 3.0, 25.4, 25.9),
        (12.0, 5.0, 40.0, 38.0),
    ],
)
def test_seat_and_gap_are_those_of_the_cross_section(od, wall, mate_od, angle, saw_od):
    seat, widest, outer, inner, mean = product(od, wall, mate_od, angle, saw=saw_od)
    expected = closed_form(od, wall, mate_od, angle, saw_od)
    assert (seat, widest, outer, inner) == pytest.approx(expected, abs=MICROMETRE)
    assert 0 <= mean <= widest


@pytest.mark.parametrize("offset", [1.5, 6.0])
@pytest.mark.parametrize("saw_od", [39.0, 41.0, 46.0])
def test_skew_axes_only_shift_the_cross_section(offset, saw_od):
    """The mate stands `offset` aside, so that u runs from offset - r to offset + r."""
    seat, widest, outer, inner, _ = product(22.2, 0.8, 40.0, 65.0, saw=saw_od, offset=offset)
    expected = closed_form(22.2, 0.8, 40.0, 65.0, saw_od, offset)
    # The inner edge does not reach as far aside as the outer one, where a small saw touches.
    assert (seat, widest, outer, inner) == pytest.approx(expected, abs=MICROMETRE)


def test_mean_gap_is_over_equal_steps_of_angle_and_radius():
    """The section's gap at u = r sin(angle), averaged over the angle and through the wall."""
    *_, mean = product(28.6, 0.9, 36.0, 73.0, saw=37.0)
    angle = np.linspace(0, 2 * np.pi, 7200, endpoint=False)
    radius = np.linspace(13.4, 14.3, 401)[:, None]
    u = radius * np.sin(angle)
    gap = np.hypot(u, np.sqrt(18.5**2 - u**2) - 0.5) - 18.0
    assert mean == pytest.approx(gap.mean(), abs=MICROMETRE)


@pytest.mark.parametrize(
    ("saw_od", "seat", "widest", "mean"),
    [(37.0, 0.523, 0.187, 0.082), (None, 0.0, 0.0, 0.0), (35.0, -0.883, 0.344, None)],
)
def test_figures_of_an_independent_calculation(saw_od, seat, widest, mean):
    """28.6 x 0.9 on 36.0 at 73 degrees, to the three decimals that calculation gives."""
    found = product(28.6, 0.9, 36.0, 73.0, saw=saw_od)
    assert found[0] == pytest.approx(seat, abs=6e-4)
    assert found[1] == pytest.approx(widest, abs=6e-4)
    if mean is not None:
        assert found[4] == pytest.approx(mean, abs=6e-4)


FINGERNAIL_MM = 0.4


@pytest.mark.parametrize("angle", [60.0, 71.0, 73.0, 90.0])
@pytest.mark.parametrize(
    ("od", "mate_od", "saw_od"), [(28.6, 36.0, 37.0), (31.8, 36.0, 37.0), (28.6, 28.6, 29.0)]
)
def test_usual_saws_stay_below_a_fingernail(od, mate_od, saw_od, angle):
    """Common practice, no source: a 37 mm saw for a 36 mm head tube and a 29 mm saw for a 28.6 mm
    seat tube, both a little large, still make good joints."""
    _, widest, *_ = product(od, 0.9, mate_od, angle, saw=saw_od)
    assert 0 < widest < FINGERNAIL_MM
