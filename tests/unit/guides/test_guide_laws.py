"""What holds for the guide of any joint: closed, clear of its tube, never inside a mate."""

import numpy as np
from cases import LIMITS, tube
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from frame3d.guides.plan import printed_guides
from frame3d.model import Frame, Joint
from frame3d.solids.raw import Extent, raw_tube


@settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(
    od=st.floats(12.0, 36.0),
    wider=st.floats(0.0, 12.0),
    tilt=st.floats(30.0, 90.0),
    around=st.floats(0.0, 360.0),
    aside=st.floats(-1.0, 1.0),
)
def test_any_guide_is_closed_clear_of_its_tube_and_never_inside_a_mate(
    od: float, wider: float, tilt: float, around: float, aside: float
) -> None:
    """tilt: between the axes, degrees; around: phase of the cut; aside: share of the room that the
    axes may miss each other by."""
    lean, turn = np.radians(tilt), np.radians(around)
    miss = aside * wider / 2
    along = np.array([np.cos(lean), np.sin(lean) * np.cos(turn), np.sin(lean) * np.sin(turn)])
    beside = np.array([0.0, -np.sin(turn), np.cos(turn)]) * miss
    post = tube("post", tuple(beside - 300 * along), tuple(beside + 300 * along), od + wider, 1.5)
    rail = tube("rail", (0.0, 0.0, 0.0), (400.0, 0.0, 0.0), od)
    joint = Joint("rail", "start", ("post",), (None,))
    printed, refused = printed_guides(Frame("law", "tig", (post, rail), (joint,), LIMITS))
    assume(not refused)  # rounding may leave a side of the tube beyond the mate
    guide = printed[0].guide
    assert len(guide.solid.decompose()) == 1 and guide.solid.volume() > 0
    placed = guide.solid.transform(guide.matrix[:3])
    assert (placed ^ raw_tube(rail, Extent(-100.0, 400.0), 0.02)).volume() < 1e-9
    vertices = np.asarray(placed.to_mesh64().vert_properties)[:, :3]
    assert guide.place.cope.mates[0].distance(vertices).min() > -0.001
    assert guide.setting == round(guide.setting)
    assert abs(guide.matrix[:3, :3] @ guide.matrix[:3, :3].T - np.eye(3)).max() < 1e-12
    assert np.linalg.det(guide.matrix[:3, :3]) > 0
