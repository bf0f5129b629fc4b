"""Which saws a frame takes: those that a search through all of them finds."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from test_laws import LAWS, joints

import frame3d.check.saw_choice
from frame3d.check.saw_choice import options_for, predicted, shop_choices, with_shop_saws
from frame3d.model import CutMethod, Saw, Shop

SIZES = (-1.5, -0.6, 0.3, 0.9, 1.7, 3.1)  # about each mate's


def in_a_shop(made):
    """A random joint that wants a saw, in a shop with some near its mates."""
    (joint,) = made.joints
    mates = [made.tube(name).od.value[0] for name in joint.onto]
    saws = tuple(Saw(round(od + by, 2)) for od in mates for by in SIZES)
    wanting = replace(joint, saws=(None,) * len(mates), method=CutMethod("saw", "job"))
    return replace(made, joints=(wanting,), shop=Shop("s", saws)), wanting


@LAWS
@given(joints(sawn=True))
def test_the_choices_come_in_the_order_that_working_all_of_them_out_gives(made) -> None:
    frame, joint = in_a_shop(made)
    ways = options_for(frame, joint)[::3]
    gaps = sorted(predicted(frame, joint, saws).gap for saws in ways)
    assert [choice.gap for choice in shop_choices(frame, joint, ways)] == gaps


@LAWS
@given(joints(sawn=True))
def test_the_frame_takes_the_smallest_gap_or_says_why_not(made) -> None:
    frame, joint = in_a_shop(made)
    (taken,) = with_shop_saws(frame).joints
    ways = options_for(frame, joint)[:6]
    gaps = [predicted(frame, joint, saws).gap for saws in ways]
    if any(taken.saws):
        own = predicted(frame, taken, taken.saws).gap
        assert own <= min(gaps) + 1e-9
        assert (taken.cut_by, taken.method.note) == ("saw", "")
    else:
        assert min(gaps) > 0.4 or not np.isfinite(min(gaps))
        assert taken.cut_by == "hand"
        assert taken.method.note


def test_a_saw_of_the_tubes_own_size_is_never_taken() -> None:
    """Equal tubes: the saw of that size leaves no gap, and grazes the tube's sides."""
    from reference.frames import frame, tube

    rail = tube("rail", (0, 0, 0), (300, 0, 80), 28.6, 0.9)
    post = tube("post", (0, 0, -200), (0, 0, 200), 28.6, 0.9)
    made = frame("x", [post, rail], [("rail", "start", {"post": None})])
    shop = Shop("s", (Saw(28.575), Saw(28.6), Saw(28.9)))
    wanting = replace(made.joints[0], method=CutMethod("saw", "job"))
    (taken,) = with_shop_saws(replace(made, joints=(wanting,), shop=shop)).joints
    assert taken.saws == (28.9,)
    only = replace(shop, saws=shop.saws[:2])
    (left,) = with_shop_saws(replace(made, joints=(wanting,), shop=only)).joints
    assert left.saws == (None,) and "28.575 mm saw is of the tube's own size" in left.method.note


def test_few_ways_are_worked_out_beyond_the_coarse_grid(monkeypatch: pytest.MonkeyPatch) -> None:
    from reference.frames import frame, tube

    made = frame(
        "x",
        [
            tube("post", (0, 0, -200), (0, 0, 200), 36.0, 1.2),
            tube("rail", (0, 0, 0), (300, 0, 80), 28.6, 0.9),
        ],
        [("rail", "start", {"post": None})],
    )
    given_frame, joint = in_a_shop(made)
    asked = []
    monkeypatch.setattr(
        frame3d.check.saw_choice, "predicted", lambda *args: asked.append(args) or predicted(*args)
    )
    ways = options_for(given_frame, joint)
    next(shop_choices(given_frame, joint, ways))
    assert len(ways) >= 5
    assert len(asked) <= 2
