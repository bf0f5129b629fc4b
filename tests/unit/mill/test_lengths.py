"""What the pages tell to mark and to measure is what rule and caliper find on the tube."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

import frame3d
from frame3d.mill.blank import raw_blank
from frame3d.mill.measures import measures
from frame3d.mill.outside_lines import line_between, place_along
from frame3d.mill.printed_numbers import as_json
from frame3d.mill.setup import tube_sheet
from frame3d.mill.virtual_mill import Workpiece, mill
from frame3d.model import Frame, Joint, Limits, Mill, Oval, Profile, Shop, Tube
from frame3d.surfaces.cope import copes_of

TOURING = Path(__file__).parents[3] / "examples" / "touring" / "job.toml"
LIMITS = Limits(end_margin_mm=3.0, least_angle_deg=10.0, feather_mm=0.02, clash_mm3=1.0)
CONE = Profile.through([(0, 20.0), (300, 32.0)])


def edge(work: Workpiece, end: str, way: np.ndarray) -> float:
    """Where the outside ends along a line, from the raw blank's start end."""
    at = work.square[end]
    for _ in range(40):
        y, z = work.fresh.radius(at, way) * way
        (at,) = work.stops(end, np.array([y]), np.array([z]))
    return float(at)


def caliper(work: Workpiece, way: np.ndarray) -> float:
    at = np.linspace(edge(work, "start", way), edge(work, "end", way), 4001)
    radius = np.array([work.fresh.radius(float(a), way) for a in at])
    return float(np.hypot(np.diff(at), np.diff(radius)).sum())


@pytest.mark.parametrize("name", ["left seat stay", "right chain stay"])
def test_a_stay_cut_by_its_page_has_the_lengths_that_its_last_step_asks_for(name: str) -> None:
    """A raw tube longer than the stay: its square end must come to length on the page too."""
    frame = frame3d.open(TOURING).frame
    tube, copes = frame.tube(name), copes_of(frame)
    sheet = tube_sheet(frame, tube, copes, raw_blank(tube))
    assert sheet.cuts and sheet.saw_off_end > 1.0
    work, asked = mill(as_json(sheet)), measures(frame, tube, copes)
    assert caliper(work, np.array([1.0, 0.0])) == pytest.approx(asked.datum, abs=4e-3)
    assert caliper(work, np.array([-1.0, 0.0])) == pytest.approx(asked.opposite, abs=4e-3)


def test_lines_on_a_cone_are_as_long_as_its_side() -> None:
    """Pythagoras: 300 along the axis, 6 mm up."""
    cone = Tube("cone", (0, 0, 0), (300, 0, 0), CONE, Profile.constant(1.0))
    side = np.hypot(300.0, 6.0)
    assert line_between(cone, 0.7, 0.0, 300.0) == pytest.approx(side, abs=1e-6)
    assert line_between(cone, 0.7, 0.0, 340.0) == pytest.approx(side + 40.0, abs=1e-6)
    assert place_along(cone, 0.7, 0.0, side / 2) == pytest.approx(150.0, abs=1e-6)
    assert place_along(cone, 0.7, 300.0, -side / 2) == pytest.approx(150.0, abs=1e-6)
    flat = replace(cone, od=Profile.constant(20.0), oval=Oval(CONE, 0.0))
    assert line_between(flat, 0.0, 0.0, 300.0) == pytest.approx(300.0, abs=1e-6)
    assert line_between(flat, np.pi / 2, 0.0, 300.0) == pytest.approx(side, abs=1e-6)


@pytest.mark.parametrize(("units", "step"), [("mm", 1.0), ("inch", 25.4 / 16)])
@pytest.mark.parametrize("od", [Profile.constant(28.6), CONE])
def test_a_hand_scribes_marks_where_the_rule_has_a_line(
    units: str, step: float, od: Profile
) -> None:
    tube = Tube("rail", (0, 0, 0), (300.3, 0, 40), od, Profile.constant(1.0))
    posts = [
        Tube(f"post {x}", (x, 0, -99), (x, 0, 99), Profile.constant(36), Profile.constant(1))
        for x in (0.0, 300.3)
    ]
    joints = (
        Joint("rail", "start", ("post 0.0",), (36.0,)),
        Joint("rail", "end", ("post 300.3",), (36.0,)),
    )
    shop = Shop("x", (), Mill(units=units))
    frame = Frame("x", "tig", (tube, *posts), joints, LIMITS, shop)
    sheet = tube_sheet(frame, tube, copes_of(frame))
    assert len(sheet.cuts) == 2
    for cut in sheet.cuts:
        assert cut.mark / step == pytest.approx(round(cut.mark / step), abs=5e-4)
        assert cut.x_move != 0.0
    for block in sheet.blocks:
        assert block.at / step == pytest.approx(round(block.at / step), abs=5e-4)
