"""Wraps of tapered, oval and bent tubes, against outside formulas and numerical development."""

import numpy as np
import pytest
from joints import LIMITS
from scipy.integrate import quad
from scipy.special import ellipe

from frame3d.mill.wraps import Unwrapped, Wrap, wraps
from frame3d.model import Bend, Frame, Joint, Mill, Oval, Profile, Shop, Tube
from frame3d.model.tube_section import lateral
from frame3d.surfaces.cope import Copes, copes_of


def wrapped(
    od: Profile,
    oval: Oval | None = None,
    bends: tuple[Bend, ...] = (),
    end: str = "end",
    paper: float = 0.0,
    mate: float = 40.0,
    lean: float = 0.3,
) -> tuple[list[Wrap], list[Unwrapped], Copes, Tube]:
    """A tube along x that meets a post at x = 300, or with its start there."""
    points = ((0, 0, 0), (300, 0, 0)) if end == "end" else ((300, 0, 0), (0, 0, 0))
    tube = Tube("rail", *points, od, Profile.constant(0.9), oval=oval, bends=bends)
    post = Tube(
        "post", (300 - 100 * lean, -100, 5), (300 + 100 * lean, 100, -5),
        Profile.constant(mate), Profile.constant(1.0),
    )  # fmt: skip
    joints = (Joint("rail", end, ("post",), (None,)),)
    shop = Shop(mill=Mill(paper_thickness=paper))
    frame = Frame("wrap", "tig", (tube, post), joints, LIMITS, shop)
    copes = copes_of(frame)
    made, without = wraps(frame, copes)
    return made, without, copes, tube


def steps(points: np.ndarray) -> np.ndarray:
    return np.linalg.norm(np.diff(points, axis=0), axis=1)


@pytest.mark.parametrize("end", ["start", "end"])
@pytest.mark.parametrize("slope", [-0.05, -0.02, 0.03])
def test_a_taper_unrolls_to_the_sector_of_its_cone(end: str, slope: float) -> None:
    """Closed form: a line at slant length L from the apex and angle theta lies at L and
    theta sin(half-angle); its distance from the line opposite the datum follows."""
    stations = [(0.0, 24.0 - 600 * slope), (300.0, 24.0)]
    if end == "start":
        stations = [(300.0 - at, od) for at, od in reversed(stations)]
    (wrap,), _, copes, _ = wrapped(Profile.through(stations), end=end)
    sine = slope / np.hypot(1.0, slope)
    theta = np.linspace(0.0, 2 * np.pi, len(wrap.curve))
    turn = theta if end == "end" else -theta
    stop = copes["rail", end].position(turn, np.ones_like(turn))
    slant = (12.0 + slope * stop) / sine
    foot = (12.0 + slope * wrap.foot) / sine
    spread = (theta - np.pi) * sine
    expected = np.stack([slant * np.sin(spread), slant * np.cos(spread) - foot], axis=1)
    assert np.abs(wrap.curve - expected).max() < 1e-3
    assert np.ptp(np.linalg.norm(wrap.curve - (0.0, -foot), axis=1) - np.abs(slant)) < 2e-3


@pytest.mark.parametrize("paper", [0.0, 0.2])
def test_the_perimeter_of_a_taper_is_right_at_every_station(paper: float) -> None:
    """2 pi times the radius there, and half the paper's thickness square to the slope."""
    slope = -0.04
    od = Profile.through([(0.0, 24.0 - 600 * slope), (300.0, 24.0)])
    (wrap,), _, _, tube = wrapped(od, paper=paper)
    lower = wrap.rim[1:-1]
    radius = float(tube.od(300.0 + wrap.foot)) / 2 + paper / 2 / np.hypot(1.0, slope)
    assert wrap.width == pytest.approx(2 * np.pi * radius, abs=1e-3)
    # Lines through the rim all point to the apex, so every station between is in proportion.
    (low, high) = wrap.lines[0][1]
    assert low[0] < 0
    apex = low + (low[0] / (low[0] - high[0])) * (high - low)
    assert np.ptp(np.linalg.norm(lower - apex, axis=1)) < 1e-3


@pytest.mark.parametrize("paper", [0.0, 0.2])
def test_once_around_an_oval_is_the_elliptic_integral(paper: float) -> None:
    """scipy.special.ellipe: 4 a E(m); a paper half its thickness outside adds 2 pi times that."""
    (wrap,), _, _, _ = wrapped(
        Profile.constant(30.0), Oval(Profile.constant(20.0), 25.0), paper=paper
    )
    around = 4 * 15.0 * ellipe(1 - (10.0 / 15.0) ** 2)
    assert wrap.width == pytest.approx(around + np.pi * paper, abs=1e-9)
    assert wrap.curve[-1, 0] == pytest.approx(wrap.width, abs=1e-9)


@pytest.mark.parametrize("end", ["start", "end"])
def test_a_point_of_an_ovals_cope_lies_its_arc_from_the_datum(end: str) -> None:
    """The arc by numerical quadrature of the tube's own outside, one direction and the other."""
    (wrap,), _, copes, tube = wrapped(
        Profile.constant(30.0), Oval(Profile.constant(20.0), 25.0), end=end
    )

    def speed(theta: float) -> float:
        at = np.full(2, 100.0)
        one, other = lateral(tube, at, np.array([theta - 1e-6, theta + 1e-6]), 1.0)
        return float(np.linalg.norm(other - one)) / 2e-6

    for k in (200, 700, 1100):
        theta = 2 * np.pi * k / (len(wrap.curve) - 1)
        turn = theta if end == "end" else -theta
        arc = quad(speed, min(turn, 0.0), max(turn, 0.0), limit=200, epsabs=1e-7)[0]
        stop = copes["rail", end].position(np.array([turn]), np.ones(1))[0]
        assert wrap.curve[k] == pytest.approx((arc, stop), abs=2e-4)


def test_a_changing_oval_keeps_lengths_on_the_paper() -> None:
    """Distances between near points of the cope are the same on tube and paper."""
    oval = Oval(Profile.through([(0.0, 30.0), (200.0, 30.0), (300.0, 24.0)]), 0.0)
    (wrap,), _, copes, _ = wrapped(Profile.constant(30.0), oval)
    assert 0.0 < wrap.warp < 0.05
    theta = np.linspace(0.0, 2 * np.pi, 1441)
    points = copes["rail", "end"].points(theta, np.ones_like(theta))
    assert steps(wrap.curve).sum() == pytest.approx(steps(points).sum(), abs=0.02)


@pytest.mark.parametrize("end", ["start", "end"])
@pytest.mark.parametrize("turn", [25.0, 60.0])
def test_the_datum_of_a_changing_oval_is_the_tubes_all_along(end: str, turn: float) -> None:
    """On the lower rim as far from the od's line as on the tube, and as long as there."""
    profile = Profile.through([(0.0, 30.0), (200.0, 30.0), (320.0, 24.0)])
    if end == "start":
        profile = Profile.through([(-20.0, 24.0), (100.0, 30.0), (300.0, 30.0)])
    oval = Oval(profile, turn)
    (wrap,), _, copes, tube = wrapped(Profile.constant(30.0), oval, end=end)
    station = 300.0 + wrap.foot if end == "end" else -wrap.foot
    way = 1.0 if end == "end" else -1.0

    def speed(theta: float) -> float:
        beside = np.array([theta - 1e-6, theta + 1e-6])
        one, other = lateral(tube, np.full(2, station), beside, 1.0)
        return float(np.linalg.norm(other - one)) / 2e-6

    (_, datum), _ = wrap.lines
    lower = wrap.rim[8:-8]
    count = round(turn * (len(wrap.curve) - 1) / 360)
    arc = quad(speed, 0.0, np.radians(turn), limit=200, epsabs=1e-7)[0]
    found = steps(lower[: count + 1]).sum() if way > 0 else steps(lower[-count - 1 :]).sum()
    assert found == pytest.approx(arc, abs=2e-3)
    assert datum[0] == pytest.approx(lower[0], abs=1e-9)
    edge = float(copes["rail", end].position(np.zeros(1), np.ones(1))[0])
    out = np.linspace(wrap.foot, edge, 2001)
    at = 300.0 + out if end == "end" else -out
    points = np.column_stack([lateral(tube, at, np.zeros(2001), 1.0), at])
    assert steps(datum).sum() == pytest.approx(steps(points).sum(), abs=1e-3)


def test_an_outside_that_twists_too_much_gets_a_reason() -> None:
    oval = Oval(Profile.through([(0.0, 30.0), (240.0, 30.0), (320.0, 6.0)]), 0.0)
    made, (without,), _, _ = wrapped(Profile.constant(30.0), oval)
    assert not made
    assert "no paper lies flat" in without.reason


def test_a_bent_tubes_straight_end_is_wrapped_like_a_straight_tube() -> None:
    bends = (Bend((150.0, 0.0, 0.0), 80.0),)
    straight = wrapped(Profile.constant(25.0))[0][0]
    points = (150 - 120, 0, -60), (300, 0, 0)
    tube = Tube("rail", *points, Profile.constant(25.0), Profile.constant(0.9), bends=bends)
    post = Tube("post", (270, -100, 5), (330, 100, -5), Profile.constant(40.0), Profile.constant(1))
    joints = (Joint("rail", "end", ("post",), (None,)),)
    shop = Shop(mill=Mill(paper_thickness=0.0))
    frame = Frame("w", "tig", (tube, post), joints, LIMITS, shop)
    (wrap,), _ = wraps(frame, copes_of(frame))
    assert wrap.rim_from == "end"
    gauge = np.interp(np.linspace(1, 78, 50), *wrap.curve.T)
    assert gauge == pytest.approx(np.interp(np.linspace(1, 78, 50), *straight.curve.T), abs=1e-4)


@pytest.mark.parametrize(
    ("corner", "words"), [((292.0, 0.0, 0.0), "into the bend"), ((270.0, 0.0, 0.0), "left behind")]
)
def test_a_cope_that_reaches_into_the_bend_says_so(corner: tuple, words: str) -> None:
    tube = Tube(
        "rail", (corner[0] - 250, 0, -200), (300, 0, 0), Profile.constant(25.0),
        Profile.constant(0.9), bends=(Bend(corner, 20.0),),
    )  # fmt: skip
    post = Tube("post", (300, -100, 0), (300, 100, 0), Profile.constant(40.0), Profile.constant(1))
    frame = Frame("w", "tig", (tube, post), (Joint("rail", "end", ("post",), (None,)),), LIMITS)
    made, (without,) = wraps(frame, copes_of(frame))
    assert not made
    assert words in without.reason


def test_a_cope_over_the_start_of_a_taper_says_so() -> None:
    made, (without,), _, _ = wrapped(Profile.through([(0.0, 30.0), (278.0, 30.0), (300.0, 25.0)]))
    assert not made
    assert "change of its outside 22.0 mm inward" in without.reason


def test_a_stepped_tube_is_wrapped_where_its_end_is_even() -> None:
    (wrap,), _, _, _ = wrapped(Profile.through([(0.0, 28.0), (240.0, 28.0), (240.0, 30.0)]))
    assert wrap.width == pytest.approx(np.pi * 30.0)
    assert wrap.foot >= -60.0
