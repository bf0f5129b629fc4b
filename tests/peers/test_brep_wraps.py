"""The unrolled curve against the intersection edge of an exact B-rep kernel (Open CASCADE)."""

import numpy as np
import pytest

from frame3d.mill.wraps import wraps
from frame3d.model import Frame, Joint, Limits, Mill, Profile, Shop, Tube, end_frame
from frame3d.surfaces.cope import copes_of

pytestmark = pytest.mark.peer

POINTS = 200
EQUAL_MM = 0.002


@pytest.mark.parametrize(
    ("way", "offset", "od", "mate"),
    [
        ((0.0, 1.0, 0.0), 0.0, 28.6, 36.0),
        ((0.5, 1.0, 0.3), 0.0, 28.6, 36.0),
        ((0.7, 1.0, -0.6), 3.0, 25.4, 40.0),
        ((-1.2, 1.0, 0.2), -4.0, 16.0, 28.6),
    ],
)
def test_wrap_follows_the_kernels_edge(need, way, offset: float, od: float, mate: float) -> None:
    need("OCP")
    from OCP.BRepAlgoAPI import BRepAlgoAPI_Section
    from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeFace, BRepBuilderAPI_MakeVertex
    from OCP.BRepExtrema import BRepExtrema_DistShapeShape
    from OCP.gp import gp_Ax3, gp_Cylinder, gp_Dir, gp_Pnt

    way = np.array(way) / np.linalg.norm(way)
    side = np.cross((1.0, 0.0, 0.0), way)
    foot = offset * side / np.linalg.norm(side)
    tube = Tube("a", (-300, 0, 0), (0, 0, 0), Profile.constant(od), Profile.constant(1))
    ends = tuple(foot - 200 * way), tuple(foot + 200 * way)
    post = Tube("b", *ends, Profile.constant(mate), Profile.constant(1))
    frame = Frame(
        "x",
        "tig",
        (tube, post),
        (Joint("a", "end", ("b",), (None,)),),
        Limits(3.0, 10.0, 0.02, 1.0),
        Shop(mill=Mill(paper_thickness=0.0)),
    )
    (wrap,), _ = wraps(frame, copes_of(frame))

    def face(point, along, radius, low, high):
        axes = gp_Ax3(gp_Pnt(*map(float, point)), gp_Dir(*map(float, along)))
        return BRepBuilderAPI_MakeFace(gp_Cylinder(axes, radius), 0.0, 2 * np.pi, low, high).Face()

    cut = BRepAlgoAPI_Section(
        face((0, 0, 0), (1, 0, 0), od / 2, -290.0, 290.0), face(foot, way, mate / 2, -200.0, 200.0)
    )
    cut.Build()
    at = end_frame(tube, "end")
    picked = wrap.curve[np.linspace(0, len(wrap.curve) - 1, POINTS).astype(int)]
    theta = picked[:, 0] / (od / 2)
    points = at.origin + od / 2 * at.around(theta) + picked[:, 1:] * at.out
    for point in points:
        vertex = BRepBuilderAPI_MakeVertex(gp_Pnt(*map(float, point))).Vertex()
        assert BRepExtrema_DistShapeShape(vertex, cut.Shape()).Value() < EQUAL_MM


@pytest.mark.parametrize("slope", [-0.05, 0.03])
def test_a_taper_rolled_up_again_lies_on_both_of_the_kernels_faces(need, slope: float) -> None:
    """The paper's points are put back on the kernel's cone: a ring's radius is its slant length,
    and around the axis an angle is the paper's over the sine of half the cone's angle."""
    need("OCP")
    from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeFace, BRepBuilderAPI_MakeVertex
    from OCP.BRepExtrema import BRepExtrema_DistShapeShape
    from OCP.gp import gp_Ax3, gp_Cone, gp_Cylinder, gp_Dir, gp_Pnt

    way = np.array((0.3, 1.0, 0.2)) / np.linalg.norm((0.3, 1.0, 0.2))
    radius, mate = 12.0, 36.0
    od = Profile.through([(0.0, 2 * (radius - 300 * slope)), (300.0, 2 * radius)])
    tube = Tube("a", (-300, 0, 0), (0, 0, 0), od, Profile.constant(1))
    ends = tuple(-200 * way), tuple(200 * way)
    post = Tube("b", *ends, Profile.constant(mate), Profile.constant(1))
    joints = (Joint("a", "end", ("b",), (None,)),)
    shop = Shop(mill=Mill(paper_thickness=0.0))
    frame = Frame("x", "tig", (tube, post), joints, Limits(3.0, 10.0, 0.02, 1.0), shop)
    (wrap,), _ = wraps(frame, copes_of(frame))

    half = float(np.arctan(slope))
    axes = gp_Ax3(gp_Pnt(0, 0, 0), gp_Dir(1, 0, 0))
    cone = BRepBuilderAPI_MakeFace(gp_Cone(axes, half, radius), 0.0, 2 * np.pi, -120.0, 20.0).Face()
    round_post = gp_Cylinder(gp_Ax3(gp_Pnt(0, 0, 0), gp_Dir(*map(float, way))), mate / 2)
    cylinder = BRepBuilderAPI_MakeFace(round_post, 0.0, 2 * np.pi, -200.0, 200.0).Face()
    sine = np.sin(half)
    foot = (radius + slope * wrap.foot) / sine  # slant length at the lower rim, signed as the slope
    at = end_frame(tube, "end")
    picked = wrap.curve[np.linspace(0, len(wrap.curve) - 1, POINTS).astype(int)]
    slant = np.sign(slope) * np.hypot(picked[:, 0], picked[:, 1] + foot)
    theta = np.arctan2(picked[:, 0], np.sign(slope) * (picked[:, 1] + foot)) / abs(sine) + np.pi
    along = (slant * sine - radius) / slope
    points = at.origin + (slant * sine)[:, None] * at.around(theta) + along[:, None] * at.out
    for point in points:
        vertex = BRepBuilderAPI_MakeVertex(gp_Pnt(*map(float, point))).Vertex()
        # On both faces, so on their intersection; the kernel's own edge of a cone is looser.
        for face in (cone, cylinder):
            assert BRepExtrema_DistShapeShape(vertex, face).Value() < EQUAL_MM
