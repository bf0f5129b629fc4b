"""The wrap to file by, against the tube it is taped on."""

from pathlib import Path

import numpy as np
import pytest

from frame3d.model import Frame, Joint, Limits, Profile, Shop, Tube
from frame3d.paper.filing_wrap import PAPER_MM, wrap_figure, write_filing_wrap
from frame3d.surfaces.cope import cope_of
from frame3d.tolerance.displaced_cut import cut
from frame3d.tolerance.filing import Filing, filing
from frame3d.tolerance.setup_errors import setups_of
from frame3d.tolerance.target import target_of

LIMIT = 0.3


def found_at(end: str) -> Filing:
    post = Tube("post", (0, 0, -300), (0, 0, 300), Profile.constant(36.0), Profile.constant(1.2))
    ends = ((0, 0, 0), (400, 0, 120)) if end == "start" else ((400, 0, 120), (0, 0, 0))
    rail = Tube("rail", *ends, Profile.constant(28.6), Profile.constant(0.9))
    joint = Joint("rail", end, ("post",), (37.0,))
    frame = Frame("t", "fillet-braze", (post, rail), (joint,), Limits(3, 10, 0.02, 1), Shop())
    target = target_of(cope_of(frame, joint))
    found = filing(cut(target, setups_of(target, {"centring": np.array([[0.4]])}, 1)), LIMIT)
    assert found is not None
    return found


@pytest.mark.parametrize("end", ["start", "end"])
def test_wrap_goes_around_the_tube_as_it_is_seen_from_outside(end: str) -> None:
    """With the end upwards, what lies to the right on the tube lies to the right on the paper."""
    found = found_at(end)
    target = found.cut.target
    frame = target.cope.frame
    edge = wrap_figure(found, LIMIT).axes[0].lines[2].get_xydata()
    assert np.ptp(edge[:, 0]) == pytest.approx(np.pi * (28.6 + PAPER_MM), abs=1e-6)
    outward = frame.around(target.theta[:1])[0]
    to_next = frame.around(target.theta[1:2])[0] - outward
    on_the_right = to_next @ np.cross(frame.out, outward) > 0
    assert (edge[1, 0] > edge[0, 0]) == on_the_right


def test_wrap_is_drawn_at_full_size(tmp_path: Path) -> None:
    figure = wrap_figure(found_at("start"), LIMIT)
    axes = figure.axes[0]
    width = axes.get_position().width * figure.get_figwidth() * 25.4
    height = axes.get_position().height * figure.get_figheight() * 25.4
    assert width == pytest.approx(np.ptp(axes.get_xlim()), abs=1e-6)
    assert height == pytest.approx(np.ptp(axes.get_ylim()), abs=1e-6)
    write_filing_wrap(found_at("start"), LIMIT, tmp_path / "wrap.pdf")
    assert (tmp_path / "wrap.pdf").read_bytes().startswith(b"%PDF")
