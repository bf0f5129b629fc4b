"""Filing as told brings the gap within the limit, on the virtual part."""

import numpy as np
import pytest

from frame3d.model import Frame, Joint, Limits, Profile, Shop, Tube
from frame3d.surfaces.cope import cope_of
from frame3d.tolerance.displaced_cut import cut
from frame3d.tolerance.filing import filed, filing, words
from frame3d.tolerance.setup_errors import setups_of
from frame3d.tolerance.target import target_of

LIMIT = 0.3


def cut_with(**errors: float):  # type: ignore[no-untyped-def]
    post = Tube("post", (0, 0, -300), (0, 0, 300), Profile.constant(36.0), Profile.constant(1.2))
    rail = Tube("rail", (0, 0, 0), (400, 0, 120), Profile.constant(28.6), Profile.constant(0.9))
    joint = Joint("rail", "start", ("post",), (37.0,))
    frame = Frame("t", "fillet-braze", (post, rail), (joint,), Limits(3, 10, 0.02, 1), Shop())
    target = target_of(cope_of(frame, joint))
    values = {name.replace("_", " "): np.array([[size]]) for name, size in errors.items()}
    return cut(target, setups_of(target, values, 1))


@pytest.mark.parametrize(
    "errors", [{"centring": 0.4}, {"tilt": 0.8}, {"saw": 0.8}, {"centring": -0.5, "tilt": -1.0}]
)
def test_filing_as_told_brings_the_gap_within_the_limit(errors: dict[str, float]) -> None:
    done = cut_with(**errors)
    assert done.gap()[0] > LIMIT
    found = filing(done, LIMIT)
    assert found is not None
    assert found.zones
    assert filed(done, found.take.reshape(1, -1)).gap()[0] <= LIMIT
    assert (found.take >= 0).all()


def test_a_hand_that_files_a_tenth_too_much_or_too_little_still_closes_it() -> None:
    done = cut_with(centring=0.4)
    found = filing(done, LIMIT)
    assert found is not None
    for hand in (0.9, 1.1):
        assert filed(done, hand * found.take.reshape(1, -1)).gap()[0] <= LIMIT


def test_filing_takes_most_from_the_side_that_stands_proud() -> None:
    """A saw off to one side leaves the other side long."""
    done = cut_with(centring=0.4)
    found = filing(done, LIMIT)
    assert found is not None
    side = np.sign(np.sin(done.target.theta - done.target.theta[0]))
    by_side = [found.take[side == sense].sum() for sense in (-1, 1)]
    assert min(by_side) < 0.25 * max(by_side)


def test_an_end_that_fits_is_left_alone() -> None:
    done = cut_with(centring=0.02)
    found = filing(done, LIMIT)
    assert found is not None
    assert not found.take.any()
    assert words(found, LIMIT)[0].startswith("nothing to file")


def test_an_end_beyond_filing_is_cut_again() -> None:
    assert filing(cut_with(tilt=20.0), LIMIT) is None
