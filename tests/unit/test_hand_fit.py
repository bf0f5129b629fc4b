"""A tube moved by hand is one body: it closes what a motion of the whole tube can close, and no
more."""

from dataclasses import replace
from statistics import NormalDist

import numpy as np
import pytest

from frame3d.model import Frame, Joint, Limits, Profile, Shop, Tube
from frame3d.surfaces.cope import copes_of
from frame3d.tolerance.budget import error_budget
from frame3d.tolerance.displaced_cut import cut
from frame3d.tolerance.hand_fit import HandFit, hand_fit
from frame3d.tolerance.setup_errors import setups_of, shop_spreads
from frame3d.tolerance.simulate import Key, gaps, shared_phase, targets_of

START: Key = ("rail", "start")
END: Key = ("rail", "end")
LENGTH, RISE = 400.0, 120.0


def frame_of(*, both: bool, rise: float = 0.0, limit: float = 0.1) -> Frame:
    """A rail on one post, or between two."""

    def post(name: str, x: float) -> Tube:
        return Tube(name, (x, 0, -300), (x, 0, 300), Profile.constant(36.0), Profile.constant(1.2))

    tube = Tube("rail", (0, 0, 0), (LENGTH, 0, rise), Profile.constant(28.6), Profile.constant(0.9))
    joints = [Joint("rail", "start", ("post",), (36.0,))]
    joints += [Joint("rail", "end", ("seat",), (36.0,))] if both else []
    tubes = (post("post", 0.0), post("seat", LENGTH), tube)
    limits = replace(Limits(3, 10, 0.02, 1), gap_mm=limit)
    return Frame("t", "fillet-braze", tubes, tuple(joints), limits, Shop())


def moved(frame: Frame, limit: float, **errors: dict[str, float]) -> tuple[HandFit, list[float]]:
    """A set-up, with errors by end, moved by hand; and its gaps in the jig, mm."""
    targets = targets_of(copes_of(frame))
    values = {
        key: {name: np.array([[size]]) for name, size in errors.get(key[1], {}).items()}
        for key in targets
    }
    shared = shared_phase(targets, values)
    cuts = [cut(target, setups_of(target, shared[key], 1)) for key, target in targets.items()]
    jig = [float(gap[0]) for gap in gaps(targets, values).values()]
    return hand_fit(cuts, [limit] * len(cuts), 0), jig


@pytest.mark.parametrize("error", [0.1, -0.3])
def test_a_centring_error_is_taken_up_by_moving_the_tube_sideways(error: float) -> None:
    fit, jig = moved(frame_of(both=False, rise=RISE), 0.01, start={"centring": error})
    assert jig[0] > 0.1
    assert fit.closes
    assert fit.sideways[0] == pytest.approx(abs(error), abs=0.01)
    assert fit.turned == pytest.approx(0.0, abs=0.01)


def test_an_error_beyond_the_room_stays_open() -> None:
    fit, _ = moved(frame_of(both=False), 0.1, start={"centring": 1.5})
    assert not fit.closes
    assert fit.gaps[0] > 0.5
    assert fit.sideways[0] <= 0.5 + 1e-9


def test_a_square_tube_too_short_cannot_be_closed_by_hand() -> None:
    """Pushed on at one end it opens at the other: half of what is missing is the least."""
    fit, jig = moved(frame_of(both=True), 0.2, start={"length": -0.5})
    assert jig == pytest.approx([0.25, 0.25], abs=1e-3)
    assert not fit.closes
    assert fit.gaps.max() > 0.245
    longer, _ = moved(frame_of(both=True), 0.2, start={"length": 0.5})
    assert longer.closes  # eased in or filed


def test_a_sloping_tube_reaches_further_by_as_much_as_its_lean_tells() -> None:
    """Its span grows by L sin(slope) a turn, here 120 mm a radian, and both ends share it; what
    the lean itself opens at an end is less than the tube's width times the turn."""
    limit = 0.1
    fit, jig = moved(frame_of(both=True, rise=RISE), limit, start={"length": -0.28})
    assert jig[0] == pytest.approx(jig[1], abs=1e-6)
    assert jig[0] > limit
    assert fit.closes
    turn = np.radians(fit.turned)
    left = jig[0] - RISE * turn / 2
    assert limit - 28.6 * turn < left < limit


def test_the_ends_of_a_tube_share_their_phase_by_hand_as_in_the_jig() -> None:
    errors = {"start": {"phase": 1.0}, "end": {"phase": 1.0}}
    fit, jig = moved(frame_of(both=True), 0.05, **errors)
    assert max(jig) < 1e-6
    assert fit.closes
    assert fit.rolled == pytest.approx(0.0, abs=1e-6)


def test_ends_off_to_either_side_need_the_tube_to_lean() -> None:
    for sense in (1.0, -1.0):
        errors = {"start": {"centring": 0.3}, "end": {"centring": 0.3 * sense}}
        fit, jig = moved(frame_of(both=True), 0.05, **errors)
        assert min(jig) > 0.4
        assert fit.closes
        assert fit.sideways == pytest.approx([0.28, 0.28], abs=0.02)
        across = 0.0 if fit.turned < 0.01 else fit.sideways.sum()
        assert np.radians(fit.turned) * LENGTH == pytest.approx(across, abs=0.02)


def only(name: str, within: float) -> dict[str, float]:
    return dict.fromkeys(shop_spreads(), 0.0) | {name: within}


def test_a_tube_cut_to_a_scattering_length_closes_as_often_by_hand_as_in_the_jig() -> None:
    """Of length alone the chance is known: half of what both cuts miss is within the limit."""
    frame = frame_of(both=True, limit=0.15)
    spreads = shop_spreads(only("length", 0.5))
    budget = error_budget(frame, copes_of(frame), spreads, 4000, 1, with_care=False)
    wanted = NormalDist(0.0, 2**0.5 * spreads["length"].deviation).cdf(2 * 0.15)
    assert budget.by_hand is not None
    for one in (budget.whole.chance, budget.by_hand.chance):
        assert abs(one.value - wanted) < 4 * one.error
    assert 0.6 < wanted < 0.95


def test_what_the_jig_leaves_open_and_a_hand_closes_is_told_with_how_far_it_moves() -> None:
    frame = frame_of(both=True, limit=0.3)
    spreads = shop_spreads(only("centring", 0.4))
    budget = error_budget(frame, copes_of(frame), spreads, 2000, 1, with_care=False)
    assert budget.whole.chance.value < 0.7
    assert budget.by_hand is not None
    assert budget.by_hand.chance.value > 0.97
    assert budget.by_hand.moved.sideways is not None
    assert 0.0 < budget.by_hand.moved.sideways <= 0.5
    assert budget.passes
