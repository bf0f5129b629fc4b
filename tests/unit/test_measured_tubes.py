"""Measured tubes: what was measured acts on the gap as the same error in a set-up does."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner

import frame3d
from frame3d.check.gap import gap_of
from frame3d.jobs import JobError
from frame3d.model import Frame, Joint, Limits, Measured, Profile, Saw, Shop, Tube
from frame3d.surfaces.cope import cope_of, copes_of
from frame3d.tolerance.displaced_cut import cut
from frame3d.tolerance.measured_fit import measured_fit
from frame3d.tolerance.setup_errors import setups_of
from frame3d.tolerance.simulate import targets_of
from frame3d_cli.main import main


def frame_of(angle: float = 73.0, saw: float = 37.0) -> Frame:
    a = np.radians(angle)
    post = Tube("post", (0, 0, -300), (0, 0, 300), Profile.constant(36.0), Profile.constant(1.2))
    far = tuple(400 * np.array([np.sin(a), 0.0, np.cos(a)]))
    rail = Tube("rail", (0.0, 0.0, 0.0), far, Profile.constant(28.6), Profile.constant(0.9))
    joint = Joint("rail", "start", ("post",), (saw,))
    return Frame("t", "fillet-braze", (post, rail), (joint,), Limits(3, 10, 0.02, 1), Shop())


def fit(frame: Frame, measured: Measured):  # type: ignore[no-untyped-def]
    copes = copes_of(frame)
    return measured_fit(frame, copes, targets_of(copes), measured)


def test_a_tube_measured_as_drawn_has_the_nominal_gap() -> None:
    frame = frame_of()
    found = fit(frame, Measured("rail", "start", od=28.6, saw=37.0, angle=73.0))
    assert found.gap == pytest.approx(
        gap_of(cope_of(frame, frame.joints[0])).widest.value, abs=1e-5
    )
    assert found.passes


def test_another_saw_is_the_joint_with_that_saw() -> None:
    wanted = gap_of(cope_of(frame_of(saw=37.4), frame_of(saw=37.4).joints[0])).widest.value
    found = fit(frame_of(), Measured("rail", "start", saw=37.4))
    assert found.gap == pytest.approx(wanted, abs=1e-4)


def test_a_steeper_cut_is_a_tilted_set_up() -> None:
    frame = frame_of()
    target = targets_of(copes_of(frame))["rail", "start"]
    both = cut(target, setups_of(target, {"tilt": np.array([[0.4], [-0.4]])}, 2)).gap()
    found = fit(frame, Measured("rail", "start", angle=73.4))
    assert min(abs(both - found.gap)) < 1e-9
    assert found.tilt == pytest.approx(0.4)


def test_a_measured_angle_counts_on_an_end_cut_by_hand_too() -> None:
    frame = frame_of()
    by_hand = replace(frame, joints=(Joint("rail", "start", ("post",), (None,)),))
    same_size = replace(frame, joints=(Joint("rail", "start", ("post",), (36.0,)),))
    measured = Measured("rail", "start", angle=73.6)
    assert fit(by_hand, measured).gap == pytest.approx(fit(same_size, measured).gap, abs=1e-6)
    assert fit(by_hand, measured).gap > 0.1


def test_only_a_phase_between_two_cuts_counts_and_the_ends_share_it() -> None:
    base = frame_of(90.0, 36.0)
    alone = fit(base, Measured("rail", "start", phase=2.0))
    assert alone.gap == pytest.approx(0.0, abs=1e-6)
    assert any("no other cut" in note for note in alone.notes)
    seat = Tube("seat", (400, 0, -300), (400, 0, 300), Profile.constant(36.0), Profile.constant(1))
    joints = (*base.joints, Joint("rail", "end", ("seat",), (36.0,)))
    both = replace(base, tubes=(*base.tubes, seat), joints=joints)
    target = targets_of(copes_of(both))["rail", "start"]
    half = cut(target, setups_of(target, {"phase": np.array([[1.0]])}, 1)).gap()[0]
    assert fit(both, Measured("rail", "start", phase=2.0)).gap == pytest.approx(half, abs=1e-9)


def test_lengths_that_no_cut_could_have_are_refused_with_what_is_expected() -> None:
    with pytest.raises(ValueError, match=r"expected them about 8\.7 mm apart"):
        fit(frame_of(), Measured("rail", "start", long=300.0, short=100.0))


@pytest.mark.parametrize("cut_at", [72.2, 73.0, 74.1])
def test_two_lengths_tell_the_angle(cut_at: float) -> None:
    """Long less short of one cope is the outside diameter over the tangent of the angle."""
    difference = 28.6 / np.tan(np.radians(cut_at))
    found = fit(frame_of(), Measured("rail", "start", long=410.0, short=410.0 - difference))
    assert 73.0 + found.tilt == pytest.approx(cut_at, abs=1e-3)


@pytest.mark.parametrize("beside", [0.1, 0.35])
def test_lengths_to_the_left_and_right_tell_how_far_the_saw_was_beside_the_axis(
    beside: float,
) -> None:
    """Closed form: a line at y of a square cope stops at sqrt(R^2 - (y - e)^2) from the axis."""
    r, mate = 28.6 / 2, 18.0
    apart = np.sqrt(mate**2 - (r - beside) ** 2) - np.sqrt(mate**2 - (r + beside) ** 2)
    frame = frame_of(90.0, 36.0)
    found = fit(frame, Measured("rail", "start", left=400.0 + apart, right=400.0))
    assert found.centring == pytest.approx(beside, abs=1e-4)
    by_key = fit(frame, Measured("rail", "start", centring=beside))
    target = targets_of(copes_of(frame))["rail", "start"]
    set_up = cut(target, setups_of(target, {"centring": np.array([[beside]])}, 1)).gap()[0]
    assert by_key.gap == pytest.approx(set_up, abs=1e-6)
    assert found.gap == pytest.approx(by_key.gap, abs=1e-3)


def test_each_failure_has_a_remedy_that_closes_it() -> None:
    """Where to file and how much; and the shop's saw that a new cut needs."""
    frame = frame_of(73.0, 40.0)
    frame = replace(
        frame,
        shop=Shop("s", (Saw(37.0), Saw(40.0))),
        limits=replace(frame.limits, gap_mm=0.4),
    )
    found = fit(frame, Measured("rail", "start", saw=40.0))
    assert not found.passes
    (*file, again) = found.remedies
    assert any(text.startswith("file ") and "o'clock" in text for text in file)
    assert "by the 37 mm saw" in again
    gap = float(again.split("the gap is ")[1].split(" mm")[0])
    right = replace(frame, joints=(replace(frame.joints[0], saws=(37.0,)),))
    wanted = gap_of(cope_of(right, right.joints[0])).widest.value
    assert gap == pytest.approx(wanted, abs=1e-3)
    assert wanted < 0.4
    assert fit(right, Measured("rail", "start")).remedies == ()


def test_a_tube_too_short_is_not_told_to_be_filed() -> None:
    base = frame_of(90.0, 36.0)
    seat = Tube("seat", (400, 0, -300), (400, 0, 300), Profile.constant(36.0), Profile.constant(1))
    joints = (*base.joints, Joint("rail", "end", ("seat",), (36.0,)))
    frame = replace(base, tubes=(*base.tubes, seat), joints=joints)
    found = fit(frame, Measured("rail", "start", long=362.0, short=362.0))
    assert not found.passes
    (text,) = found.remedies
    assert "2.00 mm too short" in text
    assert "no file mends" in text


def test_a_tube_beyond_its_class_is_remarked_on() -> None:
    notes = fit(frame_of(), Measured("rail", "start", od=30.0)).notes
    assert any("1.40 mm over the job's 28.6, beyond its class of ±0.08" in note for note in notes)
    assert not any(
        "another tube" in n for n in fit(frame_of(), Measured("rail", "start", od=28.66)).notes
    )
    mates = fit(frame_of(), Measured("rail", "start", mates=(("post", 36.4),))).notes
    assert any(note.startswith("post: 36.4 mm is 0.40 mm over") for note in mates)


def test_lengths_that_contradict_the_angle_are_told() -> None:
    difference = 28.6 / np.tan(np.radians(75.0))
    found = fit(
        frame_of(), Measured("rail", "start", angle=73.0, long=410.0, short=410.0 - difference)
    )
    assert any("disagree by 2.00" in note for note in found.notes)


def test_a_tube_too_short_between_two_joints_opens_both() -> None:
    base = frame_of(90.0, 36.0)
    other = Tube("seat", (400, 0, -300), (400, 0, 300), Profile.constant(36.0), Profile.constant(1))
    frame = replace(
        base,
        tubes=(*base.tubes, other),
        joints=(*base.joints, Joint("rail", "end", ("seat",), (36.0,))),
    )
    full = 400.0 - 36.0  # on the lines in the plane of the axes the mates stand that far apart
    found = fit(frame, Measured("rail", "start", long=full - 0.5, short=full - 0.5))
    assert found.gap == pytest.approx(0.25, abs=1e-3)


def test_a_measured_end_without_joint_is_refused_with_its_place(tmp_path: Path) -> None:
    text = (Path("examples/two-tubes/job.toml").read_text()).replace('shop = "../shop.toml"', "")
    text = "\n".join(line for line in text.splitlines() if not line.startswith("shop"))
    job = tmp_path / "job.toml"
    job.write_text(text + '\n[[measured]]\ntube = "rail"\nend = "end"\nod = 28.5\n')
    with pytest.raises(JobError, match=r"measured.*rail.*which no joint shapes"):
        frame3d.open(job)


@pytest.mark.parametrize(
    ("keys", "message"),
    [
        ("od = 50.0", "expected near the 28.575 mm"),
        ("saw = 12.0", "expected near the 37 mm of the joint: is it another saw"),
        ("angle = 40.0", "expected near the 76.50 degrees"),
        ("angle = 13.5", "looks like the angle from square"),
        ("long = 250.0", "found long without short"),
        ("short = 250.0", "found short without long"),
        ("left = 250.0", "found left without right, expected both: one alone tells no centring"),
        ("left = 250.0\nright = 250.0\ncentring = 0.1", "expected one of them"),
        ("centring = 9.0", "centring"),
        ("long = 250.0\nshort = 260.0", "no more than the long line"),
        ("mates = { ghost = 36.0 }", "does not meet"),
        ("mates = { post = 90.0 }", "post: found 90 mm, expected near the 36 mm"),
        ("phase = 45.0", "phase"),
        ('[[measured]]\ntube = "rail"\nend = "start"', "second table for this end"),
    ],
)
def test_impossible_numbers_are_refused_with_what_is_expected(
    keys: str, message: str, tmp_path: Path
) -> None:
    text = Path("examples/two-tubes/job.toml").read_text()
    text = "\n".join(line for line in text.splitlines() if not line.startswith("shop"))
    job = tmp_path / "job.toml"
    job.write_text(f'{text}\n[[measured]]\ntube = "rail"\nend = "start"\n{keys}\n')
    with pytest.raises(JobError, match=message):
        frame3d.open(job)


def job_with(tmp_path: Path, measured: str) -> Path:
    text = Path("examples/two-tubes/job.toml").read_text()
    text = "\n".join(line for line in text.splitlines() if not line.startswith("shop"))
    job = tmp_path / "job.toml"
    job.write_text(f"{text}\n[[measured]]\n{measured}\n")
    return job


@pytest.mark.parametrize(
    ("tube", "end", "advice"),
    [
        ("rail", "end", 'did you mean "rail", start?'),
        ("rails", "start", 'did you mean "rail", start?'),
        ("post", "end", 'expected one of "rail" start'),
        ("nail", "sideways", 'found "sideways", expected "start" or "end"'),
    ],
)
def test_an_end_is_suggested_only_where_it_is_likely_meant(
    tube: str, end: str, advice: str, tmp_path: Path
) -> None:
    job = job_with(tmp_path, f'tube = "{tube}"\nend = "{end}"\nod = 28.5')
    with pytest.raises(JobError) as refused:
        frame3d.open(job)
    assert refused.value.problem.endswith(advice)


def test_a_cut_as_drawn_is_told_without_a_minus(tmp_path: Path) -> None:
    job = job_with(tmp_path, 'tube = "rail"\nend = "start"\nangle = 76.50000001')
    told = CliRunner().invoke(main, ["measured", str(job)])
    assert "cut +0.00 degrees off" in told.stdout
    job = job_with(tmp_path, 'tube = "rail"\nend = "start"\nangle = 76.49999999')
    told = CliRunner().invoke(main, ["measured", str(job)])
    assert "cut +0.00 degrees off" in told.stdout


def bicycle_with_shop_saws(tmp_path: Path, saw: float) -> Path:
    CliRunner().invoke(main, ["new", str(tmp_path / "bike"), "--bicycle"], catch_exceptions=False)
    job = tmp_path / "bike" / "job.toml"
    text = job.read_text()
    table = f'[[measured]]\ntube = "top tube"\nend = "end"\nsaw = {saw}\n'
    job.write_text(f"{text}\n{table}")
    return job


def test_the_shops_saw_that_cuts_a_bicycles_joint_can_be_measured(tmp_path: Path) -> None:
    frame = frame3d.open(bicycle_with_shop_saws(tmp_path, 37.1)).frame
    joint = frame.joint_at("top tube", "end")
    assert joint is not None
    assert joint.saws == (37.0,)
    found = fit(frame, frame.measured[0])
    as_drawn = fit(frame, replace(frame.measured[0], saw=37.0))
    assert found.gap != pytest.approx(as_drawn.gap, abs=1e-3)
    (tmp_path / "other").mkdir()
    with pytest.raises(JobError, match=r"expected near the 37 mm of the joint"):
        frame3d.open(bicycle_with_shop_saws(tmp_path / "other", 12.0))
