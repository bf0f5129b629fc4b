"""Places that depend on themselves are found also where plain repetition swings for ever."""

import numpy as np
from frames import LIMITS
from hypothesis import given
from hypothesis import strategies as st

from frame3d.model import Frame, Joint, Oval, Profile, Shop, Tube, end_frame
from frame3d.model.tube_section import lateral
from frame3d.surfaces.cope import Cope, cope_of
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


@given(
    st.lists(st.integers(-300, 300).map(float), min_size=1, max_size=6, unique=True),
    st.data(),
)
def test_a_stretch_is_even_as_far_as_the_profile_stays_what_it_is(at, data):
    values = data.draw(st.lists(st.sampled_from([0.6, 0.9]), min_size=len(at), max_size=len(at)))
    profile = Profile(tuple(sorted(at)), tuple(values))
    place = data.draw(
        st.one_of(st.sampled_from(at), st.integers(-800, 800).map(lambda half: half / 2))
    )
    low, high = profile.even_about(place)
    assert low <= place <= high
    here = float(profile(place))
    inside = np.linspace(max(low, -1e3), min(high, 1e3), 301)
    assert np.all(profile(inside) == here)
    for edge, beyond in ((low, -1e-3), (high, 1e-3)):
        if np.isfinite(edge):
            nearest = min((abs(a - edge) for a in at if a != edge), default=1.0)
            assert float(profile(edge + np.sign(beyond) * min(1e-3, nearest / 2))) != here


def test_a_long_butt_is_coped_as_a_plain_tube_and_a_short_one_by_the_wall_that_it_has_there():
    def stop(*wall: tuple[float, float]) -> np.ndarray:
        profile = Profile.through(wall)
        rail = Tube("rail", (0, 0, 0), (300.0, 0, 90.0), Profile.constant(28.6), profile)
        post = Tube("post", (0, 0, -90.0), (0, 0, 90.0), Profile.constant(31.8), profile)
        joint = Joint("rail", "start", ("post",), (32.0,))
        return cope_of(
            Frame("x", "tig", (post, rail), (joint,), LIMITS, Shop("x")), joint
        ).face_stop

    plain, long = stop((0, 0.9)), stop((0, 0.9), (100, 0.9), (140, 0.6))
    assert np.array_equal(plain, long)
    short = stop((0, 0.9), (-plain.min() - 2.0, 0.9), (-plain.min() + 2.0, 0.6))
    assert np.abs(short - plain).max() > 0.005
