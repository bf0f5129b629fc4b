"""Places that depend on themselves are found also where plain repetition swings for ever."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from frame3d.model import Oval, Profile, Tube, end_frame
from frame3d.model.tube_section import lateral
from frame3d.surfaces.cope import Cope
from frame3d.surfaces.fixed_point import settled
from frame3d.surfaces.outer import saw_surface


@given(st.lists(st.tuples(st.floats(-8.0, 0.8), st.floats(-50.0, 50.0)), min_size=1, max_size=20))
def test_straight_lines_of_any_slope_up_to_nearly_one_are_met(lines):
    slope, rise = np.array(lines).T
    found = settled(lambda x: slope * x + rise, np.zeros(len(lines)), 1e-9)
    assert np.allclose(found, rise / (1 - slope), atol=1e-7)


def test_each_value_is_found_for_itself_and_what_is_not_there_is_left():
    def follow(x):
        return np.array([np.cos(x[0]), 3.0 - 2.5 * np.sin(x[1]), np.inf, np.nan])

    found = settled(follow, np.zeros(4), 1e-10)
    assert np.allclose(found[:2], follow(found)[:2], atol=1e-9)
    assert np.isposinf(found[2]) and np.isnan(found[3])


def test_an_end_that_narrows_steeply_stops_where_its_wall_enters_the_saw():
    """A shallow cut through a section that changes by a third of its width: found by walking along
    each line of the wall in small steps."""
    across = Profile((0.0, 20.0, 680.0, 700.0), (15.6, 24.4, 24.4, 26.0))
    tube = Tube("rail", (0, 0, 0), (-700, 0, 0), Profile.constant(26.0), Profile.constant(1.0))
    tube = Tube(**{**vars(tube), "oval": Oval(across, 0.0)})
    slope = np.radians(15.0)
    ahead = np.array([np.cos(slope), 0.0, np.sin(slope)])
    ends = (tuple(-400.0 * ahead), tuple(100.0 * ahead))
    mate = Tube("post", *ends, Profile.constant(28.0), Profile.constant(1.0))
    saw = saw_surface(mate, 28.0, np.zeros(3))
    frame = end_frame(tube, "start")
    theta = np.linspace(0.0, 2 * np.pi, 24, endpoint=False) + 0.01
    cope = Cope(tube, "start", frame, (saw,), (saw,), theta, np.array([0.0, 1.0]))
    stop = cope.position(theta, np.ones(24))
    steps = np.linspace(-200.0, 60.0, 130_001)
    for angle, found in zip(theta, stop, strict=True):
        off = lateral(tube, -steps, np.full(len(steps), angle), np.ones(len(steps)))
        wall = frame.origin + off @ np.stack([frame.datum, frame.side])
        within = saw.distance(wall + steps[:, None] * frame.out) < 0
        assert abs(steps[within.argmax()] - found) < 0.004
