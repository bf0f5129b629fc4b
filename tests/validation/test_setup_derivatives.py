"""Small set-up errors against derivatives taken by sympy from the two cylinders' equations.

The equations are written here once more, from elementary geometry: a tube of radius r along z, a
cylinder of radius R about an axis through the origin at the angle a to z in the x-z plane. The
common-practice figures are an independent calculation without source.
"""

from functools import cache

import numpy as np
import pytest
import sympy as sp

from frame3d.model import Frame, Joint, Limits, Profile, Shop, Tube
from frame3d.surfaces.cope import cope_of
from frame3d.tolerance.displaced_cut import cut
from frame3d.tolerance.setup_errors import setups_of
from frame3d.tolerance.target import target_of

THETA = np.linspace(0.0, 2 * np.pi, 7201)


def saw_on_post(angle: float, od: float, mate: float) -> Frame:
    """A saw as large as the mate, so that all of the gap comes from the errors."""
    a = np.radians(angle)
    post = Tube("post", (0, 0, -300), (0, 0, 300), Profile.constant(mate), Profile.constant(1.2))
    far = tuple(400 * np.array([np.sin(a), 0.0, np.cos(a)]))
    rail = Tube("rail", (0.0, 0.0, 0.0), far, Profile.constant(od), Profile.constant(0.9))
    joint = Joint("rail", "start", ("post",), (mate,))
    return Frame("t", "fillet-braze", (post, rail), (joint,), Limits(3, 10, 0.02, 1), Shop())


@cache
def rates() -> dict[str, object]:
    """d(stop)/d(error) and d(distance)/dz on the line at theta, as functions (theta, r, R, a)."""
    theta, r, mate, a, e, z = sp.symbols("theta r R a e z", real=True)
    x, y = r * sp.cos(theta), r * sp.sin(theta)

    def stop(shift: sp.Expr, angle: sp.Expr, radius: sp.Expr) -> sp.Expr:
        # The lesser root of (x cos a - z sin a)^2 + (y - shift)^2 = radius^2.
        root = sp.sqrt(radius**2 - (y - shift) ** 2)
        return (x * sp.cos(angle) - root) / sp.sin(angle)

    moved = {
        "centring": stop(e, a, mate),
        "tilt": stop(sp.S.Zero, a + e, mate),
        "saw": stop(sp.S.Zero, a, mate + e / 2),
    }
    distance = sp.sqrt((x * sp.cos(a) - z * sp.sin(a)) ** 2 + y**2) - mate
    closing = sp.diff(distance, z).subs(z, stop(sp.S.Zero, a, mate))
    names = (theta, r, mate, a)
    found = {
        name: sp.lambdify(names, sp.diff(position, e).subs(e, 0), "numpy")
        for name, position in moved.items()
    }
    return {**found, "closing": sp.lambdify(names, closing, "numpy")}


def gap_rate(name: str, sign: int, angle: float, od: float, wall: float, mate: float) -> float:
    """Gap per unit of a small error: every line moves at its rate, the end slides until the one
    that stands most proud touches, and the rest is open by its share square to the surface."""
    rate, closing = rates()[name], rates()["closing"]
    moves, closes = [], []
    for r in (od / 2, od / 2 - wall / 2, od / 2 - wall):
        args = (THETA, r, mate / 2, np.radians(angle))
        moves.append(sign * rate(*args) * np.ones_like(THETA))  # type: ignore[operator]
        closes.append(closing(*args) * np.ones_like(THETA))  # type: ignore[operator]
    move, close = np.array(moves), np.array(closes)
    return float((close * (move - move.max())).max())


@pytest.mark.parametrize("angle", [90.0, 73.0, 60.0, 45.0])
@pytest.mark.parametrize(("od", "mate"), [(28.6, 36.0), (16.0, 28.6), (31.8, 44.0)])
@pytest.mark.parametrize(
    ("name", "small", "scale"),
    [("centring", 1e-4, 1.0), ("tilt", 1e-3, np.radians(1.0)), ("saw", 1e-4, 1.0)],
)
@pytest.mark.parametrize("sign", [-1, 1])
def test_small_errors_open_the_gap_at_the_analytic_rate(
    name: str, small: float, scale: float, sign: int, angle: float, od: float, mate: float
) -> None:
    frame = saw_on_post(angle, od, mate)
    target = target_of(cope_of(frame, frame.joints[0]))
    values = {name: np.array([[sign * small]])}
    gap = cut(target, setups_of(target, values, 1)).gap()[0]
    # The post's axis stands at 180 degrees less `angle` from the rail's outward direction.
    turned = -sign if name == "tilt" else sign
    wanted = gap_rate(name, turned, angle, od, 0.9, mate) * small * scale
    assert gap == pytest.approx(wanted, rel=0.01, abs=1e-7)


def test_common_practice_quarter_millimetre_of_centring_opens_0_42_mm() -> None:
    assert _alone("centring", 0.25) == pytest.approx(0.42, abs=0.005)


def test_common_practice_fifth_of_a_degree_of_tilt_opens_0_10_mm() -> None:
    assert _alone("tilt", 0.2) == pytest.approx(0.10, abs=0.005)


def _alone(name: str, size: float) -> float:
    frame = saw_on_post(73.0, 28.6, 36.0)
    target = target_of(cope_of(frame, frame.joints[0]))
    return float(cut(target, setups_of(target, {name: np.array([[size]])}, 1)).gap()[0])
