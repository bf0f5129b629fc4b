"""A hole or end said of "seat stay" is on both sides, the right one the left one's mirror image."""

from pathlib import Path

import numpy as np
import pytest

import frame3d
from frame3d.jobs import JobError
from frame3d.jobs.template import bicycle_text, shop_text
from frame3d.model import Frame, Slot

HOLE = '[[hole]]\ntube = "{}"\nat = 120\nangle_deg = 50\ndiameter = 3\n'
END = '[[end]]\ntube = "{}"\nend = "end"\nkind = "slot"\ndepth = 18\nwidth = 5\nangle = 30\n'


def loaded(folder: Path, more: str) -> Frame:
    (folder / "shop.toml").write_text(shop_text())
    job = folder / "job.toml"
    job.write_text(bicycle_text("mine").replace('cut     = "saw"', "") + more)
    return frame3d.open(job).frame


@pytest.mark.parametrize("pair", ["seat stay", "chain stay", "fork blade"])
def test_a_hole_of_a_pair_is_on_both_sides(pair: str, tmp_path: Path) -> None:
    left, right = loaded(tmp_path, HOLE.format(pair)).holes
    assert (left.tube, right.tube) == (f"left {pair}", f"right {pair}")
    assert (left.angle, right.angle) == (50, -50)
    assert (left.at, left.diameter) == (right.at, right.diameter)


@pytest.mark.parametrize("pair", ["seat stay", "chain stay", "fork blade"])
def test_an_end_of_a_pair_is_on_both_sides(pair: str, tmp_path: Path) -> None:
    left, right = (e for e in loaded(tmp_path, END.format(pair)).ends if isinstance(e, Slot))
    assert (left.tube, right.tube) == (f"left {pair}", f"right {pair}")
    over = np.array([1, -1, 1])
    assert np.array(left.point) * over == pytest.approx(np.array(right.point))
    mirrored = np.array(left.normal) * over
    assert abs(mirrored @ np.array(right.normal)) == pytest.approx(1)


def test_one_side_can_still_be_said_alone(tmp_path: Path) -> None:
    (hole,) = loaded(tmp_path, HOLE.format("right seat stay")).holes
    assert (hole.tube, hole.angle) == ("right seat stay", 50)


def test_a_hole_that_a_pair_cannot_hold_is_told_where_it_stands(tmp_path: Path) -> None:
    with pytest.raises(JobError, match=r'hole "seat stay", diameter: found 30 mm'):
        loaded(tmp_path, HOLE.format("seat stay").replace("= 3\n", "= 30\n"))
