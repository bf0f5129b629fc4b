"""What to halve first is told by what it does to the chance."""

from dataclasses import replace

import numpy as np
import pytest

from frame3d.model import Frame, Joint, Limits, Profile, Shop, Tube
from frame3d.surfaces.cope import copes_of
from frame3d.tolerance.budget import Budget, error_budget
from frame3d.tolerance.budget_text import words
from frame3d.tolerance.chance import frame_chance
from frame3d.tolerance.setup_errors import shop_spreads
from frame3d.tolerance.simulate import Key

KEY: Key = ("rail", "start")


def joint_with(limit: float, saw: float | None = 37.0) -> Frame:
    post = Tube("post", (0, 0, -200), (0, 0, 200), Profile.constant(36.0), Profile.constant(1.2))
    rail = Tube("rail", (0, 0, 0), (400, 0, 100), Profile.constant(28.6), Profile.constant(0.8))
    limits = replace(Limits(3, 10, 0.02, 1), gap_mm=limit)
    joint = Joint("rail", "start", ("post",), (saw,))
    return Frame("t", "tig", (post, rail), (joint,), limits, Shop())


def budget_of(frame: Frame, **sizes: float) -> Budget:
    own = {name.replace("_", " "): size for name, size in sizes.items()}
    return error_budget(
        frame, copes_of(frame), shop_spreads(own), 4000, 1, with_hand_fit=False, with_curves=False
    )


@pytest.mark.parametrize("name", ["centring", "mate od", "tilt"])
def test_halving_an_error_is_told_as_a_shop_with_half_of_it_finds_it(name: str) -> None:
    """The whole way once more, with other draws."""
    frame = joint_with(0.3)
    sizes = {"centring": 0.2, "mate od": 0.3, "tilt": 0.6}
    budget = budget_of(frame, **{n.replace(" ", "_"): s for n, s in sizes.items()})
    told = {one.name: one for one in budget.joints[KEY].halved}[name]
    better = shop_spreads({**sizes, name: sizes[name] / 2})
    found = frame_chance(frame, budget.targets, better, 10_000, 9).chance
    assert abs(told.chance.value - found.value) < 4 * np.hypot(told.chance.error, found.error)
    assert {one.name: one for one in budget.halved}[name].chance.value == pytest.approx(
        told.chance.value
    )


def test_what_helps_the_chance_most_is_advised_and_not_what_moves_the_gap_most() -> None:
    """A saw that is too small for its mate: run-out makes it larger, and the joint better. It moves
    the gap more than all else does, and halving it would be the wrong advice."""
    frame = joint_with(0.35, 35.4)
    budget = budget_of(frame, **{"run-out": 0.8}, centring=0.1)
    joint = budget.joints[KEY]
    run_out = {one.name: one for one in joint.halved}["run-out"]
    assert run_out.gain.value < -0.05
    assert not run_out.worth
    told = " ".join(words(joint, 0.999))
    assert "run-out" not in told
    assert [one.gain.value for one in joint.halved] == sorted(
        (one.gain.value for one in joint.halved), reverse=True
    )


def test_care_covers_the_length_of_a_cut_and_the_place_of_a_guide() -> None:
    frame = joint_with(0.3)
    seat = Tube("seat", (400, 0, -100), (400, 0, 300), Profile.constant(36.0), Profile.constant(1))
    both = (*frame.joints, Joint("rail", "end", ("seat",), (None,)))
    frame = replace(frame, tubes=(*frame.tubes, seat), joints=both)
    budget = budget_of(frame)
    for end, name in (("start", "length"), ("end", "guide place")):
        care = budget.joints["rail", end].care  # type: ignore[index]
        assert care is not None
        assert name in care.alone
