"""Which joints the error budget takes on, and that it leaves out what it cannot tell."""

from dataclasses import replace

import numpy as np
import pytest

from frame3d.check.gap import gap_of
from frame3d.model import Frame, Joint, Limits, Profile, Shop, Tube
from frame3d.surfaces.cope import copes_of
from frame3d.tolerance.budget import error_budget
from frame3d.tolerance.care import largest_factor
from frame3d.tolerance.setup_errors import errors_of, shop_spreads
from frame3d.tolerance.simulate import drawn, gaps, target_or_reason, targets_of
from frame3d.tolerance.single_error import _alone, errors_alone
from frame3d.tolerance.target import ANGLES_CURVE, Target, target_of

KEY = ("rail", "start")


def onto(mate_od: Profile, od: Profile) -> Frame:
    post = Tube("post", (0, 0, -200), (0, 0, 200), mate_od, Profile.constant(1.2))
    rail = Tube("rail", (0, 0, 0), (400, 0, 100), od, Profile.constant(0.8))
    joint = Joint("rail", "start", ("post",), (37.0,))
    return Frame("t", "fillet-braze", (post, rail), (joint,), Limits(3, 10, 0.02, 1), Shop())


@pytest.mark.parametrize(
    ("mate", "od"),
    [
        (Profile.constant(36.0), Profile.through([(0, 22.0), (200, 28.6)])),
        (Profile.through([(0, 35.9), (400, 36.1)]), Profile.constant(28.6)),
    ],
    ids=["tapered tube", "slightly tapered mate"],
)
def test_a_taper_that_can_be_told_has_its_exact_nominal_gap(mate: Profile, od: Profile) -> None:
    copes = copes_of(onto(mate, od))
    found = gaps(targets_of(copes), {})[KEY][0]  # type: ignore[index]
    assert found == pytest.approx(gap_of(copes[KEY]).widest.value, abs=0.03)  # type: ignore[index]


def test_a_steeply_tapered_mate_is_in_the_budget_with_its_exact_gap() -> None:
    copes = copes_of(onto(Profile.through([(0, 30.0), (400, 42.0)]), Profile.constant(28.6)))
    found = gaps(targets_of(copes), {})[KEY][0]  # type: ignore[index]
    assert found == pytest.approx(gap_of(copes[KEY]).widest.value, abs=1e-3)  # type: ignore[index]


@pytest.mark.parametrize(("saw", "error"), [(29.0, "centring"), (None, "wobble")])
def test_lines_that_a_tool_misses_stop_alike_on_a_round_mate_and_on_all_but_a_round_one(
    saw: float | None, error: str
) -> None:
    """A tube as wide as its mate, cut far off centre: at one side the tool passes its lines by."""
    tube = Profile.constant(28.6)
    joint = Joint("rail", "start", ("post",), (saw,))
    off = np.random.default_rng(3).uniform(-4.0, 4.0, (200, 1 if saw else 4))
    round_, other = (
        gaps(targets_of(copes_of(replace(onto(mate, tube), joints=(joint,)))), {KEY: {error: off}})
        for mate in (tube, Profile.through([(0, 28.6), (400, 28.6002)]))
    )
    assert round_[KEY].max() > 3.0
    np.testing.assert_allclose(other[KEY], round_[KEY], atol=0.02)


def test_an_end_that_touches_nothing_is_left_out_and_said_so() -> None:
    frame = onto(Profile.constant(36.0), Profile.constant(28.6))
    post, rail = frame.tubes
    beside = replace(post, start=(0, 60, -200), end=(0, 60, 200))
    frame = replace(frame, tubes=(beside, rail))
    copes = copes_of(frame)
    assert isinstance(target_or_reason(copes[KEY]), str)  # type: ignore[index]
    with pytest.raises(ValueError, match="nothing to draw"):
        error_budget(frame, copes, shop_spreads(), 100, 1)


@pytest.mark.parametrize("root", [0.03, 0.4, 1.0, 2.7, 7.5])
def test_the_largest_factor_is_found_on_a_rising_curve(root: float) -> None:
    found = largest_factor(lambda factor: factor**3 + 0.2 * factor - root**3 - 0.2 * root)
    assert found is not None
    assert found <= root + 1e-9
    assert found == pytest.approx(root, rel=0.05)


def test_what_is_never_or_always_enough_is_said_so() -> None:
    assert largest_factor(lambda factor: factor + 0.1) is None
    assert largest_factor(lambda factor: factor - 100.0) == float("inf")


def test_a_saw_that_may_run_out_beside_the_tube_has_lines_enough_for_its_chance() -> None:
    """Lines that graze the saw make the gap jump; four times as many tell the same chance to
    within the 0.008 that is the largest standard error of 4,000 frames."""
    frame = onto(Profile.constant(28.6), Profile.constant(28.6))
    limit = 0.4
    (joint,) = frame.joints
    frame = replace(frame, joints=(replace(joint, saws=(28.7,)),))
    cope = copes_of(frame)[KEY]  # type: ignore[index]
    target = target_or_reason(cope)
    assert isinstance(target, Target)
    assert target.as_wide
    few, fine = target_of(cope), target_of(cope, 4 * len(target.theta))
    spreads = shop_spreads()
    errors = drawn(frame, {KEY: target}, spreads, 4000, 2)  # type: ignore[dict-item]
    chances = [
        np.mean(gaps({KEY: one}, errors)[KEY] <= limit)  # type: ignore[dict-item, index]
        for one in (few, target, fine)
    ]
    assert 0.05 < chances[2] < 0.95
    assert abs(chances[1] - chances[2]) < 0.008
    assert abs(chances[1] - chances[2]) < abs(chances[0] - chances[2]) / 2


@pytest.mark.parametrize(("saw", "name"), [(28.9, "centring"), (None, "wobble")])
def test_a_curve_climbs_without_stairs_where_a_cut_runs_out_beside_its_mate(
    saw: float | None, name: str
) -> None:
    """Lines stand so close that four times as many tell the same curve; as many as the chance is
    drawn with would not."""
    frame = onto(Profile.constant(28.6), Profile.constant(28.6))
    frame = replace(frame, joints=(replace(frame.joints[0], saws=(saw,)),))
    targets = targets_of(copes_of(frame))
    target = targets[KEY]  # type: ignore[index]

    def curve(lines: int) -> np.ndarray:
        smooth, numbers = target_of(target.cope, lines), errors_of(target)[name]
        return _alone(frame, targets, smooth, KEY, spreads, name, numbers, 0.0, 1).gap  # type: ignore[arg-type]

    spreads = shop_spreads()
    told = {one.name: one.gap for one in errors_alone(frame, targets, spreads, KEY, 0.0, 1)}  # type: ignore[arg-type]
    fine = curve(4 * ANGLES_CURVE)
    assert np.ptp(fine) > 0.5
    assert abs(told[name] - fine).max() < 0.03
    assert abs(curve(len(target.theta)) - fine).max() > 0.06


def test_a_cut_by_hand_as_wide_as_its_mate_has_lines_enough_for_its_gaps() -> None:
    frame = onto(Profile.constant(28.6), Profile.constant(28.6))
    frame = replace(frame, joints=(replace(frame.joints[0], saws=(None,)),))
    target = targets_of(copes_of(frame))[KEY]  # type: ignore[index]
    errors = drawn(frame, {KEY: target}, shop_spreads(), 2000, 1)  # type: ignore[dict-item]
    middle = [
        np.median(gaps({KEY: one}, errors)[KEY])  # type: ignore[dict-item, index]
        for one in (target_of(target.cope), target, target_of(target.cope, 1440))
    ]
    assert abs(middle[1] - middle[2]) < abs(middle[0] - middle[2]) / 2
    assert abs(middle[1] - middle[2]) < 0.05 * middle[2]


def test_a_clamped_guide_brings_the_same_lines_to_a_tube_that_is_not_its_drawn_size() -> None:
    """28.6 mm square onto 36 mm, the tube 0.2 mm larger: the cut's heights are those of a tube as
    drawn, sqrt(R^2 - (r sin t)^2) before the mate's axis, and its gap follows from their distances
    to the mate. A saw, which finds the tube as it is, leaves none."""
    more, radius = 0.1, 18.0
    theta = np.radians(np.arange(0.0, 360.0, 5.0))
    drawn = np.repeat([13.4, 13.85, 14.3], len(theta))
    across = np.tile(np.sin(theta), 3)
    height = np.sqrt(radius**2 - (drawn * across) ** 2)
    touch = np.sqrt(radius**2 - ((drawn + more) * across) ** 2)
    seated = height + (touch - height).max()
    gap = (np.hypot(seated, (drawn + more) * across) - radius).max()
    assert gap > 0.07
    leaning = onto(Profile.constant(36.0), Profile.constant(28.6))
    square = replace(leaning, tubes=(leaning.tubes[0], replace(leaning.tubes[1], end=(400, 0, 0))))
    for saw, widest in ((None, gap), (36.0, 0.0)):
        joint = Joint("rail", "start", ("post",), (saw,))
        targets = targets_of(copes_of(replace(square, joints=(joint,))))
        found = gaps(targets, {KEY: {"tube od": np.full((1, 1), 2 * more)}})[KEY][0]  # type: ignore[index]
        assert found == pytest.approx(widest, abs=0.003)
