"""A plane cut through a round tube is an ellipse; its length is a complete elliptic integral.

Source: scipy.special.ellipe (after NIST DLMF 19.2.8): the ellipse with semi-axes a >= b has the
perimeter 4 a E(m), m = 1 - (b / a)^2.
"""

import numpy as np
import pytest
from scipy.special import ellipe

from frame3d.mill.wraps import wraps
from frame3d.model import Frame, Joint, Limits, Mill, Profile, Shop, Tube
from frame3d.surfaces.cope import copes_of


@pytest.mark.parametrize("radius", [8.0, 14.2875, 22.0])
@pytest.mark.parametrize("angle", [90.0, 72.0, 55.0])
def test_equal_tubes_meet_in_half_ellipses_of_the_right_length(radius: float, angle: float) -> None:
    """Equal tubes cross in two ellipses; the cope is the nearer half of each, cut at half the
    angle to the axis and at half its supplement: semi-axes r and r / sin(half)."""
    lean = 100.0 / np.tan(np.radians(angle))
    tube = Tube("a", (-300, 0, 0), (0, 0, 0), Profile.constant(2 * radius), Profile.constant(1))
    mate = Tube("b", (-lean, -100, 0), (lean, 100, 0), tube.od, tube.wall)
    frame = Frame(
        "x",
        "tig",
        (tube, mate),
        (Joint("a", "end", ("b",), (None,)),),
        Limits(3.0, 10.0, 0.02, 1.0),
        Shop(mill=Mill(paper_thickness=0.0)),
    )
    (wrap,), _ = wraps(frame, copes_of(frame))
    found = np.linalg.norm(np.diff(wrap.curve, axis=0), axis=1).sum()
    expected = 0.0
    for half in (np.radians(angle) / 2, np.pi / 2 - np.radians(angle) / 2):
        long = radius / np.sin(half)
        expected += 4 * long * ellipe(1 - (radius / long) ** 2) / 2
    assert found == pytest.approx(expected, rel=3e-6)
