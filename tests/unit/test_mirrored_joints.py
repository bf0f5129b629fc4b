"""What is told of a joint by itself is told the same of its mirror image."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

import frame3d
from frame3d.model import Frame, Joint, Limits, Profile, Shop, Tube
from frame3d.surfaces.cope import copes_of
from frame3d.tolerance.budget import error_budget
from frame3d.tolerance.care import alike, care_for, trial_of
from frame3d.tolerance.mirror import both_hands, drawn_alike
from frame3d.tolerance.round_mate import turns
from frame3d.tolerance.setup_errors import errors_of, shop_spreads
from frame3d.tolerance.simulate import Key, end_gaps, gaps, targets_of

DIAMOND = Path(__file__).parents[2] / "examples" / "diamond" / "job.toml"
LEFT: Key = ("left", "start")
RIGHT: Key = ("right", "start")
FLIPPED: Key = ("flipped", "end")  # the left one's image with its ends told the other way round


def pair(saw: float | None) -> Frame:
    """A tube beside the middle, off its mate's axis, and its images in the middle plane; what it
    meets is told in either sense."""
    wall = Profile.constant(0.9)
    own, mate = Profile.constant(25.4), Profile.constant(32.0)

    def post(name: str, y: float, *, upward: bool) -> Tube:
        low, high = (-20.0, y, -150.0), (20.0, y, 150.0)
        return Tube(name, *((low, high) if upward else (high, low)), mate, wall)

    ends = [((3.0, y, 0.0), (60.0, 6 * y, 25.0)) for y in (50.0, -50.0)]
    tubes = (
        post("left post", 50.0, upward=True),
        post("right post", -50.0, upward=False),
        Tube("left", *ends[0], own, wall),
        Tube("right", *ends[1], own, wall),
        Tube("flipped", ends[1][1], ends[1][0], own, wall),
    )
    joints = tuple(
        Joint(tube, end, (mate_name,), (saw,))
        for (tube, end), mate_name in (
            (LEFT, "left post"), (RIGHT, "right post"), (FLIPPED, "right post")
        )
    )  # fmt: skip
    limits = replace(Limits(3, 10, 0.02, 1), gap_mm=0.6)
    return Frame("t", "fillet-braze", tubes, joints, limits, Shop())


@pytest.mark.parametrize("saw", [33.0, None])
def test_each_draw_has_its_image_among_the_mirrored_joints_draws(saw: float | None) -> None:
    frame = pair(saw)
    targets = targets_of(copes_of(frame))
    answers = []
    for key in (LEFT, RIGHT, FLIPPED):
        tube = {key: targets[key]}
        answers.append(gaps(tube, drawn_alike(frame, tube, key, shop_spreads(), 200, 3))[key])
    for answer in answers[1:]:
        assert np.sort(answer) == pytest.approx(np.sort(answers[0]), abs=1e-9)
    assert answers[0].std() > 0.01


@pytest.mark.parametrize("saw", [33.0, None])
def test_every_error_by_itself_is_mirrored_as_it_acts(saw: float | None) -> None:
    """Draw by draw: the image of an error opens the image of the joint as far, and what has no
    image of its own is not symmetric by chance."""
    frame = pair(saw)
    targets = targets_of(copes_of(frame))
    spreads = shop_spreads()
    uneven = set()
    for name, numbers in errors_of(targets[LEFT]).items():
        drawn = spreads[name].standard(np.random.default_rng(5), (20, numbers)) / 4
        opened = {}
        for key in (LEFT, RIGHT, FLIPPED):
            both = both_hands(targets[key], name, drawn)
            opened[key] = end_gaps(targets[key], {name: both}, len(both), [])
        as_drawn, in_mirror = opened[LEFT].reshape(-1, 2).T
        swapped = np.stack([in_mirror, as_drawn], axis=1).ravel()
        assert opened[RIGHT] == pytest.approx(swapped, abs=1e-9), name
        # Told from its other end a tube's side direction is turned over once more.
        assert opened[FLIPPED] == pytest.approx(opened[LEFT], abs=1e-9), name
        if abs(as_drawn - in_mirror).max() > 1e-6:
            uneven.add(name)
    assert uneven >= ({"centring", "phase"} if saw else {"wobble", "filing", "guide phase"})


@pytest.mark.parametrize("saw", [33.0, None])
def test_mirror_images_are_told_the_same_care(saw: float | None) -> None:
    frame = pair(saw)
    targets = targets_of(copes_of(frame))
    left, right = (
        care_for(frame, targets, shop_spreads(), key, 0.7, 1, samples=500) for key in (LEFT, RIGHT)
    )
    assert left.alone.keys() == right.alone.keys() != set()
    for name, one in left.alone.items():
        assert one.within is not None
        assert one.within == pytest.approx(right.alone[name].within, rel=1e-9)


def test_joints_are_alike_only_where_tube_error_and_limit_are() -> None:
    frame = pair(None)
    targets = targets_of(copes_of(frame))
    trials = {key: trial_of(frame, targets, shop_spreads(), key, 1, 200) for key in targets}
    assert alike(trials) == [[LEFT, RIGHT, FLIPPED]]
    stricter = {**trials, RIGHT: replace(trials[RIGHT], limit=0.2)}
    assert alike(stricter) == [[LEFT, FLIPPED], [RIGHT]]
    thicker = replace(
        frame,
        tubes=tuple(replace(t, od=Profile.constant(25.5)) if t.name == "right" else t
                    for t in frame.tubes),
    )  # fmt: skip
    others = targets_of(copes_of(thicker))
    trials = {key: trial_of(thicker, others, shop_spreads(), key, 1, 200) for key in others}
    assert alike(trials) == [[LEFT, FLIPPED], [RIGHT]]


def test_a_diamond_frames_left_and_right_have_the_same_shares_and_care() -> None:
    frame = frame3d.open(DIAMOND).frame
    spreads = shop_spreads(dict(frame.shop.errors))
    budget = error_budget(frame, copes_of(frame), spreads, 500, 1)
    left = {key: joint for key, joint in budget.joints.items() if key[0].startswith("left ")}
    assert left
    for (tube, end), joint in left.items():
        image = budget.joints[tube.replace("left", "right"), end]
        assert joint.care == image.care
        assert joint.halved == image.halved
        shares, others = ({e.name: e.share for e in one.errors} for one in (joint, image))
        assert shares == pytest.approx(others, abs=1e-4)


def test_care_agrees_with_the_chance_of_the_many_draws() -> None:
    """With just the chance that it has wanted of it, a joint's care is what its errors are."""
    frame = pair(None)
    copes = copes_of(frame)
    first = error_budget(frame, copes, shop_spreads(), 4000, 3, with_care=False)
    many = np.concatenate([joint.chance.gaps for joint in first.joints.values()])
    for more, enough in ((0.001, True), (-0.001, False)):
        limit = float(np.quantile(many, 0.9)) + more
        near = replace(frame, limits=replace(frame.limits, gap_mm=limit))
        budget = error_budget(near, copes_of(near), shop_spreads(), 4000, 3, wanted=0.9)
        for joint in budget.joints.values():
            assert joint.care is not None
            assert joint.care.enough == enough
            for allowed in joint.care.alone.values():
                assert allowed.within is not None
                own = shop_spreads()[allowed.name].size
                assert (allowed.within >= own) == enough
                assert allowed.within == pytest.approx(own, rel=0.2)


def test_turns_are_those_of_another_program() -> None:
    """scipy.spatial.transform."""
    vectors = np.random.default_rng(2).normal(size=(50, 3))
    vectors[0] = 0.0
    assert turns(vectors) == pytest.approx(Rotation.from_rotvec(vectors).as_matrix(), abs=1e-12)
