"""What joints have in common ties their chances together: a saw, the gauge's zero, the vise."""

from dataclasses import replace

import numpy as np
import pytest

from frame3d.model import Frame, Joint, Limits, Profile, Saw, Shop, Tube
from frame3d.surfaces.cope import copes_of
from frame3d.tolerance.chance import FrameChance, frame_chance
from frame3d.tolerance.setup_errors import errors_of, setups_of, shop_spreads, sizes_at
from frame3d.tolerance.simulate import Key, drawn, gaps, targets_of

ONE: Key = ("rail 1", "start")
TWO: Key = ("rail 2", "start")


def two_joints(saws: tuple[float, float] = (36.0, 36.0), mates: float = 36.0) -> Frame:
    wall = Profile.constant(1.0)
    tubes, joints = [], []
    for i, (y, saw) in enumerate(zip((0.0, 500.0), saws, strict=True), 1):
        post = ((0.0, y, -200.0), (0.0, y, 200.0))
        tubes.append(Tube(f"post {i}", *post, Profile.constant(mates), wall))
        rail = ((0.0, y, 0.0), (400.0, y, 100.0))
        tubes.append(Tube(f"rail {i}", *rail, Profile.constant(28.6), wall))
        joints.append(Joint(f"rail {i}", "start", (f"post {i}",), (saw,)))
    return Frame("t", "tig", tuple(tubes), tuple(joints), Limits(3, 10, 0.02, 1), Shop())


def chance_of(frame: Frame, **sizes: float) -> FrameChance:
    """Of just these errors, with a limit that half of the first joint's draws stay below."""
    spreads = shop_spreads(dict.fromkeys(shop_spreads(), 0.0) | sizes)
    targets = targets_of(copes_of(frame))
    middle = float(np.median(frame_chance(frame, targets, spreads, 4000, 1).joints[ONE].gaps))
    limited = replace(frame, limits=replace(frame.limits, gap_mm=middle))
    return frame_chance(limited, targets, spreads, 4000, 1)


@pytest.mark.parametrize("error", ["saw", "run-out"])
def test_two_joints_of_one_saw_close_together_and_of_two_saws_by_themselves(error: str) -> None:
    """Equal joints of one saw: the frame's chance is that of a joint. Two saws: its square."""
    together = chance_of(two_joints(), **{error: 0.2})
    assert together.joints[ONE].chance.value == pytest.approx(0.5, abs=0.001)
    assert together.chance.value == together.joints[ONE].chance.value
    apart = chance_of(two_joints((36.0, 36.001)), **{error: 0.2})
    assert apart.chance.value == pytest.approx(0.25, abs=4 * apart.chance.error)


@pytest.mark.parametrize("error", ["gauge zero", "vise zero"])
def test_what_set_ups_have_in_common_is_off_in_all_of_them_at_once(error: str) -> None:
    whole = chance_of(two_joints(), **{error: 0.5})
    assert whole.joints[ONE].gaps.std() > 0.01
    assert whole.chance.value == pytest.approx(0.5, abs=0.001)
    anew = {"gauge zero": "tilt", "vise zero": "centring"}[error]
    by_itself = chance_of(two_joints(), **{anew: 0.5})
    assert by_itself.chance.value == pytest.approx(0.25, abs=4 * by_itself.chance.error)
    alone, common = (np.sort(one.joints[ONE].gaps)[:3600:40] for one in (by_itself, whole))
    assert alone == pytest.approx(common, abs=0.05)


def test_a_gauge_off_zero_is_every_cut_that_much_steeper() -> None:
    """However the mate's axis is told, the angle between the axes grows."""
    frame = two_joints()
    turned = replace(
        frame,
        tubes=tuple(
            replace(t, start=t.end, end=t.start) if t.name == "post 2" else t for t in frame.tubes
        ),
    )
    targets = targets_of(copes_of(turned))
    off = {key: {"gauge zero": np.array([[0.4], [-0.4]])} for key in targets}
    found = gaps(targets, off)
    assert found[ONE] == pytest.approx(found[TWO], abs=1e-9)
    assert abs(found[ONE][0] - found[ONE][1]) > 1e-4


def test_a_joint_of_two_mates_cut_with_one_saw_has_its_error_once() -> None:
    frame = two_joints()
    beside = replace(frame.tube("post 1"), name="stub", start=(0, 0, 0), end=(-80, 0, 120))
    joint = Joint("rail 1", "start", ("post 1", "stub"), (36.0, 36.0))
    both = replace(frame, tubes=(*frame.tubes, beside), joints=(joint,))
    (target,) = targets_of(copes_of(both)).values()
    assert errors_of(target)["saw"] == 1
    assert errors_of(target)["tilt"] == 2
    tool = setups_of(target, {"saw": np.array([[0.2]])}, 1).tool
    assert tool == pytest.approx(np.array([[0.1, 0.1]]))


def test_run_out_and_deflection_are_those_of_the_kind_of_saw() -> None:
    frame = two_joints()
    stiff = replace(frame, shop=Shop("s", (Saw(36.0, kind="annular cutter"),)))
    for one, wanted in ((frame, 0.1), (stiff, 0.04)):
        targets = targets_of(copes_of(one))
        for name in ("run-out", "deflection"):
            assert sizes_at(one, targets[ONE], shop_spreads(), name) == pytest.approx(wanted)
            own = sizes_at(one, targets[ONE], shop_spreads({name: 0.3}), name)
            assert own == pytest.approx(0.3)
        values = drawn(one, targets, shop_spreads(), 4000, 1)[ONE]
        assert np.quantile(abs(values["deflection"]), 0.95) == pytest.approx(wanted, rel=0.1)
        assert values["run-out"].max() == pytest.approx(wanted, rel=0.01)
