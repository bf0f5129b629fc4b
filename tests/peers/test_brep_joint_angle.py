"""The angle between two tubes around a joint against an exact B-rep kernel's normals."""

from collections.abc import Callable

import numpy as np
import pytest

from frame3d.model import Frame, Joint, Limits, Profile, Shop, Tube
from frame3d.surfaces.cope import Cope, cope_of
from frame3d.surfaces.fillet import corner_of


def joint(angle: float, od: float, mate: float, saw: float | None = None) -> Cope:
    a = np.radians(angle)
    post = Tube("post", (0, 0, -900), (0, 0, 900), Profile.constant(mate), Profile.constant(1.2))
    far = tuple(900 * np.array([np.sin(a), 0.0, np.cos(a)]))
    rail = Tube("rail", (0.0, 0.0, 0.0), far, Profile.constant(od), Profile.constant(0.9))
    made = Joint("rail", "start", ("post",), (saw,))
    frame = Frame("t", "fillet-braze", (post, rail), (made,), Limits(3, 10, 0.02, 1), Shop())
    return cope_of(frame, made)


@pytest.mark.peer
def test_angle_around_a_joint_agrees_with_the_normals_of_a_b_rep_kernel(
    need: Callable[[str], None],
) -> None:
    need("OCP")
    from OCP.Geom import Geom_CylindricalSurface
    from OCP.GeomAPI import GeomAPI_ProjectPointOnSurf
    from OCP.GeomLProp import GeomLProp_SLProps
    from OCP.gp import gp_Ax3, gp_Dir, gp_Pnt

    a = np.radians(73.0)

    def side(direction: tuple[float, float, float], radius: float):  # type: ignore[no-untyped-def]
        return Geom_CylindricalSurface(gp_Ax3(gp_Pnt(0, 0, 0), gp_Dir(*direction)), radius)

    def normal(surface, point: np.ndarray) -> np.ndarray:  # type: ignore[no-untyped-def]
        nearest = GeomAPI_ProjectPointOnSurf(gp_Pnt(*map(float, point)), surface)
        u, v = nearest.LowerDistanceParameters()
        found = GeomLProp_SLProps(surface, u, v, 1, 1e-9).Normal()
        return np.array([found.X(), found.Y(), found.Z()])

    chord, branch = side((0, 0, 1), 18.0), side((np.sin(a), 0, np.cos(a)), 14.3)
    line = corner_of(joint(73.0, 28.6, 36.0), columns=24)
    for point, angle in zip(line.points, line.angle, strict=True):
        cosine = normal(chord, point) @ normal(branch, point)
        assert angle == pytest.approx(np.pi - np.arccos(cosine), abs=1e-4)
