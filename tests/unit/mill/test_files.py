"""Mill, blocks and holes in a builder's files: read, defaulted, refused in one clear line."""

from pathlib import Path

import pytest

import frame3d
from frame3d.jobs import JobError, read_shop
from frame3d.jobs.template import shop_text
from frame3d.model import Block, Hole, Mill
from frame3d.model.saw import USUAL_TOOTH_MM

JOB = """\
[job]
name = "x"
process = "tig"

[[tube]]
name = "post"
start = [0, 0, 0]
end = [0, 0, 300]
od = 36
wall = 1

[[hole]]
tube = "post"
at = 100
angle_deg = 90
diameter = "1/4 in"
kind = "stop"
"""


def shop(tmp_path: Path, text: str) -> Path:
    file = tmp_path / "shop.toml"
    file.write_text(text)
    return file


def test_every_value_may_be_left_out(tmp_path: Path) -> None:
    assert read_shop(shop(tmp_path, "[mill]\n")).mill == Mill()


def test_the_template_says_the_defaults(tmp_path: Path) -> None:
    assert read_shop(shop(tmp_path, shop_text())).mill == Mill()


def test_the_builders_own_values_are_taken_with_their_units(tmp_path: Path) -> None:
    text = (
        '[mill]\nedge_tip = "0.2 in"\ntravel_per_turn = 2.5\ncut_end = "low"\nunits = "inch"\n'
        'gauge_step_deg = 0.1\n\n[[block]]\nbore = "1 1/8 in"\nwidth = 60\n'
    )
    mill = read_shop(shop(tmp_path, text)).mill
    assert mill.edge_tip == pytest.approx(5.08)
    assert (mill.travel_per_turn, mill.cut_end, mill.units, mill.gauge_step) == (
        2.5,
        "low",
        "inch",
        0.1,
    )
    assert mill.blocks == (Block(28.575, 60.0, 38.1),)


def test_a_saws_teeth_are_read_by_their_thickness_or_the_diameter_within_them(tmp_path: Path):
    saws = "[[saw]]\nod = 30\ntooth = 1.5\n[[saw]]\nod = 30\ninside = '27 mm'\n[[saw]]\nod = 30\n"
    found = read_shop(shop(tmp_path, saws)).saws
    assert [saw.tooth for saw in found] == [(1.5, 1.5), (1.5, 1.5), USUAL_TOOTH_MM]


def test_holes_are_read(tmp_path: Path) -> None:
    job = tmp_path / "job.toml"
    job.write_text(JOB)
    assert frame3d.open(job).frame.holes == (
        Hole("post", 100.0, 90.0, pytest.approx(6.35), "stop"),
    )


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("[mill]\nedge_tip = 0\n", "line 2, mill, edge_tip: found 0"),
        ("[mill]\nspindle_rpm = 660\n", "line 2, mill, spindle_rpm: found 660"),
        ("[mill]\nspindle_rpm = [0]\n", "line 2, mill, spindle_rpm: found 0"),
        ("[mill]\nunits = 'cm'\n", "line 2, mill, units: found"),
        ("[mill]\nfeeds = 3\n", "line 2, mill, feeds: unknown key"),
        ("[mill]\nfeed_per_rev = []\n", "line 2, mill, feed_per_rev: found []"),
        ("[[block]]\nwidth = 50\n", "block number 1, bore: is missing"),
        ("[[saw]]\nod = 30\ntooth = 16\n", "line 3, saw number 1, tooth: found 16"),
        ("[[saw]]\nod = 30\nteeth = 24.5\n", "teeth: found 24.5, expected a whole number of teeth"),
        ("[[saw]]\nod = 30\nproved = [{ wall = 0.9, rpm = 0 }]\n", "rpm: found 0"),
        ("[[saw]]\nod = 30\ninside = 30\n", "line 3, saw number 1, inside: found 30"),
        (
            "[[saw]]\nod = 30\ntooth = 1.5\ninside = 27\n",
            "line 4, saw number 1, inside: found 27 beside tooth = 1.5, expected one of the two",
        ),
    ],
)
def test_a_bad_mill_is_refused_with_line_and_key(tmp_path: Path, text: str, expected: str) -> None:
    with pytest.raises(JobError) as caught:
        read_shop(shop(tmp_path, text))
    assert expected in str(caught.value)


@pytest.mark.parametrize(
    ("old", "new", "expected"),
    [
        ('tube = "post"', 'tube = "pots"', 'line 13, hole "pots", tube: found "pots"'),
        ("at = 100", "at = 400", 'line 14, hole "post", at: found 400 mm, expected 0 to 300'),
        ("at = 100", "at = -1", 'line 14, hole "post", at: found -1'),
        ('"1/4 in"', "36", 'line 16, hole "post", diameter: found 36 mm, expected less than'),
        ('"stop"', '"slot"', 'line 17, hole "post", kind: found'),
        ("angle_deg", "angle", 'hole "post", angle: unknown key, did you mean "angle_deg"'),
    ],
)
def test_a_bad_hole_is_refused_with_line_and_key(
    tmp_path: Path, old: str, new: str, expected: str
) -> None:
    job = tmp_path / "job.toml"
    job.write_text(JOB.replace(old, new))
    with pytest.raises(JobError) as caught:
        frame3d.open(job)
    assert expected in str(caught.value)


def test_a_station_at_the_rounded_end_of_an_axis_is_taken(tmp_path: Path) -> None:
    """An axis of 399.99997 mm between rounded points, a profile and a hole told to 400."""
    job = tmp_path / "job.toml"
    text = (
        '[job]\nname = "x"\nprocess = "tig"\n[[tube]]\nname = "a"\nstart = [0, 0, 0]\n'
        "end = [{end}, 0, 0]\nod = [[0, 20], [400, 16]]\nwall = 1\n"
        '[[hole]]\ntube = "a"\nat = {at}\nangle_deg = 0\ndiameter = 4\nkind = "vent"\n'
    )
    job.write_text(text.format(end=399.99997, at=400))
    assert frame3d.open(job).frame.tube("a").od.at == (0.0, 400.0)
    job.write_text(text.format(end=399.99, at=390))
    with pytest.raises(JobError, match="found a station at 400 mm"):
        frame3d.open(job)
