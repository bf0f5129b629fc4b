"""What holds for the guide of any joint: closed, clear of its tube, never inside a mate."""

import numpy as np
import pytest
from cases import LIMITS, tube
from draws import draws
from hypothesis import assume, given
from hypothesis import strategies as st

from frame3d.guides.plan import printed_guides
from frame3d.model import Frame, Joint, Printer, Shop
from frame3d.solids.raw_tube import Extent, raw_tube


@draws(few=5, many=30)
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
    held = np.array(guide.solid.to_mesh64().vert_properties)[:, :3]
    away = np.linalg.norm(held[:, :2], axis=1, keepdims=True)
    held[:, :2] *= 1.0 - guide.sleeve.clearance / away  # tightened
    vertices = held @ guide.matrix[:3, :3].T + guide.matrix[:3, 3]
    assert guide.place.cope.mates[0].distance(vertices).min() > -0.0015
    assert guide.setting == round(guide.setting)
    assert abs(guide.matrix[:3, :3] @ guide.matrix[:3, :3].T - np.eye(3)).max() < 1e-12
    assert np.linalg.det(guide.matrix[:3, :3]) > 0


@draws(few=3, many=16)
@given(
    od=st.floats(14.0, 30.0),
    tilt=st.floats(45.0, 90.0),
    outward=st.floats(-60.0, 60.0),
    clamp=st.sampled_from(["screws", "hose-clamp"]),
)
def test_guides_of_a_left_and_a_right_tube_are_mirror_images(
    od: float, tilt: float, outward: float, clamp: str
) -> None:
    """But for the letters, which must be read."""
    lean = np.radians(tilt)
    both = []
    for side in (1.0, -1.0):
        top = (300 * np.cos(lean), side * outward, 300 * np.sin(lean))
        post = tube("post", (-80 * np.cos(lean), side * 4.0, -80 * np.sin(lean)), top, 34.0)
        stay = tube("stay", (0.0, 0.0, 0.0), (-350.0, side * 70.0, 20.0), od)
        joint = Joint("stay", "start", ("post",), (None,))
        shop = Shop(printer=Printer(clamp=clamp))  # type: ignore[arg-type]
        printed, refused = printed_guides(Frame("law", "tig", (post, stay), (joint,), LIMITS, shop))
        assume(not refused)
        both.append(printed[0].guide)
    left, right = both
    assert left.sleeve.lettered_side == -right.sleeve.lettered_side
    assert left.sleeve.length == pytest.approx(right.sleeve.length, abs=1e-5)
    assert left.setting == right.setting
    bare = []
    for guide in both:  # the lettered side is cut off, half a millimetre deep
        side, depth = guide.sleeve.lettered_side, guide.sleeve.section.radius - 0.5
        bare.append(guide.solid.trim_by_plane((-side, 0.0, 0.0), -depth))
    mirrored = bare[1].mirror((1.0, 0.0, 0.0))
    assert bare[0].volume() > 5000.0
    assert (bare[0] - mirrored).volume() + (mirrored - bare[0]).volume() < 0.05
