"""A tube held by hand finds the least worst gap within its freedom."""

import numpy as np
import pytest

from frame3d.fit.budget.cut import cut
from frame3d.fit.budget.errors import setups_of, shop_spreads
from frame3d.fit.budget.hand_fit import hand_fit, hand_gaps
from frame3d.fit.budget.simulate import drawn, targets_of
from frame3d.fit.budget.target import target_of
from frame3d.model import Frame, Joint, Limits, Profile, Shop, Tube
from frame3d.surfaces.cope import cope_of, copes_of


def hand_cut() -> Frame:
    post = Tube("post", (0, 0, -300), (0, 0, 300), Profile.constant(36.0), Profile.constant(1.2))
    rail = Tube("rail", (0, 0, 0), (400, 0, 120), Profile.constant(28.6), Profile.constant(0.9))
    joint = Joint("rail", "start", ("post",), (36.0,))
    return Frame("t", "fillet-braze", (post, rail), (joint,), Limits(3, 10, 0.02, 1), Shop())


@pytest.mark.parametrize("error", [0.1, -0.3])
def test_a_centring_error_is_taken_up_by_moving_the_tube_sideways(error: float) -> None:
    frame = hand_cut()
    target = target_of(cope_of(frame, frame.joints[0]))
    done = cut(target, setups_of(target, {"centring": np.array([[error]])}, 1))
    fit = hand_fit(done, 0)
    assert done.gap()[0] > 0.1
    assert fit.gap == pytest.approx(0.0, abs=2e-3)
    assert fit.motion[:2] @ target.normals[0, :2] == pytest.approx(-error, abs=5e-3)


def test_an_error_beyond_the_freedom_stays_open() -> None:
    frame = hand_cut()
    target = target_of(cope_of(frame, frame.joints[0]))
    done = cut(target, setups_of(target, {"centring": np.array([[1.5]])}, 1))
    fit = hand_fit(done, 0)
    assert fit.gap > 0.5
    assert abs(fit.motion[:2]).max() <= 0.5 + 1e-9


def test_a_hand_held_tube_never_fits_worse_than_on_its_axis() -> None:
    frame = hand_cut()
    targets = targets_of(copes_of(frame))
    values = drawn(frame, targets, shop_spreads(), 12, 4)["rail", "start"]
    target = targets["rail", "start"]
    on_axis = cut(target, setups_of(target, values, 12)).gap()
    assert (hand_gaps(target, values, 12) <= on_axis + 1e-9).all()
