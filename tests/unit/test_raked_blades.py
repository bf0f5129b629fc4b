"""Raked fork blades: a bend brings the axle to where the geometry has it, or makes the rake."""

import math
from pathlib import Path

import numpy as np
import pytest

import frame3d
from frame3d.bicycle.fork import rake_from_bend, rake_of
from frame3d.build import Build
from frame3d.jobs import JobError
from frame3d.jobs.bicycle_tables import ForkLayout
from frame3d.model import Frame
from tests.unit.test_bicycle_jobs import NUMBERS, PICKED, load, numbers
from tests.unit.test_bicycle_jobs import job as written

FORK = """
[[tube]]
name = "steerer"
od = 28.6
wall = 1.6

[[tube]]
name = "crown"
od = 34.9
wall = 2.0

[[tube]]
name = "fork blade"
od = [[0, 24.0], [180, 24.0], [340, 13.0]]
wall = 1.0
"""
JOB = NUMBERS.replace('rear_hub = "130x10"', 'front_hub = "100x9"\nrear_hub = "130x10"')


def text(layout: str, old: str = "", new: str = "") -> str:
    assert not old or old in JOB
    return JOB.replace(old, new, 1) + f"\n[bicycle.fork]\n{layout}\n\n" + PICKED + FORK


def side_view(frame: Frame) -> tuple[np.ndarray, np.ndarray]:
    """Points along the left blade's axis, from the crown's: down the steering axis and ahead."""
    blade, steerer = frame.tube("left fork blade"), frame.tube("steerer")
    up = np.subtract(steerer.end, steerer.start) / steerer.length
    off = np.asarray(steerer.start) - blade.centreline.at(np.linspace(0, blade.length, 4001))[0]
    return off @ up, -off @ np.array([up[2], 0.0, -up[0]])


def test_a_bend_by_hand() -> None:
    """R = 100 mm, 30 degrees: it ends 50 mm down and 100 - 86.603 mm ahead of where it begins; from
    there 40 mm on to the axle."""
    along = 240 + 50 + 40 * math.cos(math.pi / 6)
    rake = 100 * (1 - math.cos(math.pi / 6)) + 40 * math.sin(math.pi / 6)
    found = rake_of(along, rake, ForkLayout(blade_bend_radius=100, blade_straight=240))
    assert found.straight == 240
    assert math.degrees(found.angle) == pytest.approx(30, abs=1e-9)
    assert found.tip == pytest.approx(40, abs=1e-9)
    open_ended = ForkLayout(blade_bend_radius=100, blade_setback=40)
    found = rake_of(along, rake, open_ended)
    assert found.straight == pytest.approx(240, abs=1e-9)
    assert math.degrees(found.angle) == pytest.approx(30, abs=1e-9)
    given = ForkLayout(blade_bend_radius=100, blade_straight=240, blade_bend_angle=30)
    length = math.hypot(along + 17.45, rake)
    assert rake_from_bend(given, length, 17.45) == pytest.approx(rake, abs=1e-9)


@pytest.mark.parametrize("straight", ["", "blade_straight = 230\n"])
def test_raked_blades_leave_along_the_steering_axis_and_point_at_the_axle(
    straight: str, tmp_path: Path
) -> None:
    frame = load(tmp_path, text(f"blade_bend_radius = 120\n{straight}"))
    down, ahead = side_view(frame)
    assert np.abs(ahead[down < 200]).max() < 1e-9
    tip = np.array([down[-1] - down[-2], ahead[-1] - ahead[-2]])
    axle = np.array([down[-1], ahead[-1]]) + 30 * tip / np.linalg.norm(tip)
    said = frame3d.open(tmp_path / "job.toml").facts.head_and_fork
    assert axle[1] == pytest.approx(45.0, abs=1e-3)  # type: ignore[index]
    assert axle[0] == pytest.approx(said.fork_along - 34.9 / 2, abs=1e-3)
    if straight:
        assert said.blade_straight == pytest.approx(230, abs=0.5)
    mirror = frame.tube("right fork blade").bends[0].corner
    assert mirror == pytest.approx(
        np.multiply(frame.tube("left fork blade").bends[0].corner, [1, -1, 1])
    )
    report = Build(frame).report
    assert all(joint.passes for joint in report.joints), [j.reasons for j in report.joints]
    assert not report.clashes


def test_the_rake_comes_out_of_the_bend(tmp_path: Path) -> None:
    bend = "blade_bend_radius = 120\nblade_straight = 230\n"
    asked = numbers(written(tmp_path, text(bend)))
    angle = asked["head_and_fork"]["blade_bend_angle_deg"]
    # In the side view; in space the blade leans out to the dropout as well.
    layout = ForkLayout(blade_bend_radius=120, blade_straight=230)
    flat = math.degrees(
        rake_of(asked["head_and_fork"]["fork_along_mm"] - 17.45, 45.0, layout).angle
    )
    assert angle == pytest.approx(flat, abs=0.2)
    given = text(f"{bend}blade_bend_angle = {flat!r}", "rake = 45\n")
    back = numbers(written(tmp_path, given))
    assert back["geometry"]["rake_mm"] == pytest.approx(45, abs=1e-6)
    assert back["geometry"]["trail_mm"] == pytest.approx(asked["geometry"]["trail_mm"], abs=1e-6)


@pytest.mark.parametrize(
    ("layout", "old", "new", "told"),
    [
        (
            "blade_bend_radius = 120\nblade_straight = 380",
            "",
            "",
            "does not bring the blade to the axle",
        ),
        ("blade_bend_angle = 30", "", "", "give all three, or leave out the angle"),
        (
            "blade_bend_radius = 120\nblade_straight = 230\nblade_bend_angle = 20",
            "",
            "",
            "rake is given as 45 mm, but the blades' bend in [bicycle.fork] makes it",
        ),
        (
            "blade_bend_radius = 120\nblade_straight = 300\nblade_bend_angle = 60",
            "rake = 45\n",
            "",
            "past the blade's end on a fork of 393 mm",
        ),
    ],
)
def test_a_bend_that_cannot_be_is_told(
    layout: str, old: str, new: str, told: str, tmp_path: Path
) -> None:
    with pytest.raises(JobError) as caught:
        load(tmp_path, text(layout, old, new))
    assert told in str(caught.value), str(caught.value)
    assert "line" in str(caught.value)
