"""What is read out of a scan's noise: no more than stands clear of it."""

import numpy as np
import pytest

from frame3d.scan.predict import sure
from frame3d.scan.tube_axis import leaning


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
