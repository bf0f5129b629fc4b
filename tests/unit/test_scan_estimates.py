"""What is read out of a scan's noise: no more than stands clear of it."""

import numpy as np
import pytest
from frames import tube

from frame3d.model import Frame, Joint, Limits, Shop
from frame3d.scan.cut_face import setups
from frame3d.scan.predict import sure
from frame3d.scan.tube_axis import leaning
from frame3d.surfaces.cope import Cope, cope_of
from frame3d.tolerance.displaced_cut import cut
from frame3d.tolerance.simulate import gaps
from frame3d.tolerance.target import target_of


def sawn_onto_two() -> Cope:
    """A down tube onto shell and seat tube, sawn for both."""
    seat, down = np.radians(73), np.radians(48)
    tubes = (
        tube("shell", (0, -200, 0), (0, 200, 0), 40.0, 3.0),
        tube("seat", (0, 0, 0), (-500 * np.cos(seat), 0, 500 * np.sin(seat)), 31.8, 0.9),
        tube("down", (0, 0, 0), (500 * np.cos(down), 0, 500 * np.sin(down)), 31.8, 0.9),
    )
    joint = Joint("down", "start", ("shell", "seat"), (41.0, 32.0))
    return cope_of(Frame("t", "tig", tubes, (joint,), Limits(3, 10, 0.02, 1), Shop()), joint)


def test_a_number_counts_as_far_as_it_stands_clear_of_its_doubt() -> None:
    found = np.array([0.0, 0.9, -2.0, 10.0])
    assert sure(found, np.eye(4)) == pytest.approx([0.0, 0.0, -1.5, 9.9], abs=0.01)


def test_of_two_numbers_that_may_stand_for_each_other_the_clear_one_is_believed() -> None:
    """Known well in sum, hardly apart: the doubtful one is nil, and the sum stays."""
    covariance = np.array([[1.0, -0.99], [-0.99, 1.0]])
    known = sure(np.array([5.0, -0.5]), covariance)
    assert known.sum() == pytest.approx(4.5, abs=0.05)
    assert known[1] == pytest.approx(0.0, abs=0.05)


def test_points_lean_as_the_axis_does() -> None:
    rng = np.random.default_rng(0)
    local, change = rng.uniform(-20, 20, (50, 3)), np.array([1e-4, -2e-4, 0.01, 0.02])
    axis = np.array([*change[:2], 1.0])
    moved = local - [*change[2:], 0.0]
    along = moved @ axis
    square = moved - along[:, None] * axis
    assert np.hypot(*leaning(local, change).T[:2]) == pytest.approx(
        np.linalg.norm(square, axis=1), abs=1e-4
    )


def test_an_end_onto_two_mates_is_laid_by_both_cuts_as_errors_lays_it() -> None:
    """One cut half a degree off in phase against the other is a quarter off at either: the gap is
    that of `errors` for the same tube, whichever cut the scan's numbers count from."""
    cope = sawn_onto_two()
    target = target_of(cope)
    off = np.array([0.0, 0.5])
    found = np.zeros(2 + 3 * 2 + 2)
    found[-2] = np.radians(off[1])
    scanned = cut(target, setups(found[None], target, 0.0)).gap()[0]
    assert target.sawn == (True, True)
    key = (cope.tube.name, cope.end)
    wanted = gaps({key: target}, {key: {"phase": off[None]}})[key][0]
    assert scanned == pytest.approx(wanted, abs=1e-9)
