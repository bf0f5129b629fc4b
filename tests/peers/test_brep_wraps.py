"""The unrolled curve against the intersection edge of an exact B-rep kernel (Open CASCADE)."""

import numpy as np
import pytest

from frame3d.model import Frame, Joint, Limits, Mill, Profile, Shop, Tube, end_frame
from frame3d.shop.wraps import wraps
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
