"""Scans of a cut end made by an independent path: a B-rep kernel cuts a tube with a displaced saw
and meshes it; points are drawn from the mesh, moved to any place, given noise, holes, clutter."""

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from frame3d.model import Frame, Joint, Limits, Profile, Shop, Tube
from frame3d.scan.read import ScanError, read_points
from frame3d.scan.registration import fit_scan
from frame3d.surfaces.cope import Cope, cope_of
from frame3d.tolerance.displaced_cut import cut
from frame3d.tolerance.setup_errors import setups_of
from frame3d.tolerance.target import target_of

pytestmark = pytest.mark.peer

OD, WALL, MATE, SAW, ANGLE = 28.6, 0.9, 36.0, 37.0, 73.0
SHOWN_MM = 45.0  # of the tube behind its end


def nominal(end: str = "start") -> Cope:
    a = np.radians(ANGLE)
    post = Tube("post", (0, 0, -300), (0, 0, 300), Profile.constant(MATE), Profile.constant(1.2))
    far = tuple(400 * np.array([np.sin(a), 0.0, np.cos(a)]))
    ends = ((0.0, 0.0, 0.0), far) if end == "start" else (far, (0.0, 0.0, 0.0))
    rail = Tube("rail", *ends, Profile.constant(OD), Profile.constant(WALL))
    joint = Joint("rail", end, ("post",), (SAW,))
    frame = Frame("t", "fillet-braze", (post, rail), (joint,), Limits(3, 10, 0.02, 1), Shop())
    return cope_of(frame, joint)


def kernel_mesh(tilt: float, centring: float):  # type: ignore[no-untyped-def]
    """Triangles (T, 3, 3) of the tube's cut end, by the kernel: the tube along +x from the saw."""
    from OCP.BRepAlgoAPI import BRepAlgoAPI_Cut
    from OCP.BRepMesh import BRepMesh_IncrementalMesh
    from OCP.BRepPrimAPI import BRepPrimAPI_MakeCylinder
    from OCP.gp import gp_Ax2, gp_Dir, gp_Pnt
    from OCP.StlAPI import StlAPI_Writer

    a = np.radians(ANGLE + tilt)
    along = gp_Ax2(gp_Pnt(0, 0, 0), gp_Dir(1, 0, 0))
    outer = BRepPrimAPI_MakeCylinder(along, OD / 2, 80.0).Shape()
    bore = BRepPrimAPI_MakeCylinder(along, OD / 2 - WALL, 80.0).Shape()
    lean = np.array([np.cos(a), 0.0, np.sin(a)])
    foot = np.array([0.0, centring, 0.0]) - 200 * lean
    saw_axis = gp_Ax2(gp_Pnt(*foot), gp_Dir(*lean))
    saw = BRepPrimAPI_MakeCylinder(saw_axis, SAW / 2, 400.0).Shape()
    tube = BRepAlgoAPI_Cut(outer, bore).Shape()
    shape = BRepAlgoAPI_Cut(tube, saw).Shape()
    BRepMesh_IncrementalMesh(shape, 0.002, False, 0.05, True)
    return shape, StlAPI_Writer()


def scan_of(
    tmp: Path,
    tilt: float = 0.0,
    centring: float = 0.0,
    noise: float = 0.03,
    seed: int = 0,
    count: int = 40_000,
) -> np.ndarray:
    import trimesh

    shape, writer = kernel_mesh(tilt, centring)
    file = tmp / "end.stl"
    writer.Write(shape, str(file))
    mesh = trimesh.load(file)
    points, _ = trimesh.sample.sample_surface(mesh, 3 * count, seed=seed)
    points = np.asarray(points)
    points = points[points[:, 0] < SHOWN_MM][:count]
    rng = np.random.default_rng(seed)
    points = points + noise * rng.standard_normal(points.shape)
    pose = Rotation.random(random_state=seed)
    return np.asarray(pose.apply(points) + rng.uniform(-300, 300, 3))


def wanted_gap(tilt: float, centring: float, end: str = "start") -> float:
    """Gap of a set-up with these errors, whichever way they point: by symmetry the same."""
    target = target_of(nominal(end))
    sign = 1.0 if target.mates[0].axis[2] >= 0 else -1.0
    values = {"tilt": np.array([[sign * tilt]]), "centring": np.array([[centring]])}
    return float(cut(target, setups_of(target, values, 1)).gap()[0])


@pytest.mark.parametrize(
    ("tilt", "centring", "end"),
    [(0.0, 0.0, "start"), (0.3, 0.15, "start"), (-0.4, -0.2, "end"), (0.1, 0.3, "end")],
)
def test_angle_and_gap_of_a_noisy_scan_in_any_pose(
    tilt: float, centring: float, end: str, tmp_path: Path, need: Callable[[str], None]
) -> None:
    need("OCP")
    cope = nominal(end)
    fit = fit_scan(scan_of(tmp_path, tilt, centring, seed=7), cope)
    sign = 1.0 if target_of(cope).mates[0].axis[2] >= 0 else -1.0
    assert sign * fit.tilt[0] == pytest.approx(tilt, abs=0.02)
    drawn, cut_at = fit.angles
    assert drawn[0] == pytest.approx(ANGLE)
    assert cut_at[0] == pytest.approx(ANGLE + tilt, abs=0.02)
    assert abs(fit.centring[0]) == pytest.approx(abs(centring), abs=0.02)
    assert fit.gap == pytest.approx(wanted_gap(tilt, centring, end), abs=0.02)
    assert fit.gap_error < 0.02
    assert fit.noise == pytest.approx(0.03, rel=0.2)
    assert fit.od == pytest.approx(OD, abs=0.02)


def test_holes_and_clutter_do_not_change_the_verdict(
    tmp_path: Path, need: Callable[[str], None]
) -> None:
    need("OCP")
    points = scan_of(tmp_path, 0.3, 0.15, seed=3)
    rng = np.random.default_rng(3)
    middle = points.mean(axis=0)
    for centre in points[rng.integers(0, len(points), 6)]:
        points = points[np.linalg.norm(points - centre, axis=1) > 3.0]
    clutter = middle + rng.uniform(-50, 50, (len(points) // 10, 3))
    table = middle + [0.0, 0.0, -40.0] + rng.uniform(-60, 60, (3000, 3)) * [1.0, 1.0, 0.001]
    fit = fit_scan(np.concatenate([points, clutter, table]), nominal())
    assert fit.gap == pytest.approx(wanted_gap(0.3, 0.15), abs=0.03)


@pytest.mark.parametrize(("unit", "scale"), [("in", 25.4), ("m", 1000.0)])
def test_the_unit_of_a_scan_is_found(
    unit: str, scale: float, tmp_path: Path, need: Callable[[str], None]
) -> None:
    need("OCP")
    fit = fit_scan(scan_of(tmp_path, seed=1) / scale, nominal())
    assert fit.unit == unit
    assert fit.gap == pytest.approx(wanted_gap(0.0, 0.0), abs=0.02)


def test_half_an_end_is_refused(tmp_path: Path, need: Callable[[str], None]) -> None:
    need("OCP")
    points = scan_of(tmp_path, seed=2)
    towards = np.array([0.3, -0.5, 0.8])
    half = points[(points - points.mean(axis=0)) @ towards > 0]
    with pytest.raises(ScanError, match=r"of 360 degrees|end face|differs"):
        fit_scan(half, nominal())


def test_another_tube_is_refused(tmp_path: Path, need: Callable[[str], None]) -> None:
    need("OCP")
    with pytest.raises(ScanError, match="another diameter"):
        fit_scan(scan_of(tmp_path, seed=2) * 1.2, nominal())


def test_no_tube_at_all_is_refused() -> None:
    cloud = np.random.default_rng(0).uniform(-30, 30, (5000, 3))
    with pytest.raises(ScanError):
        fit_scan(cloud, nominal())


def test_point_files_say_which_line_is_wrong(tmp_path: Path) -> None:
    file = tmp_path / "scan.xyz"
    file.write_text("# x y z\n" + "1 2 3\n" * 10 + "1 2 oops\n")
    with pytest.raises(ScanError, match="line 12"):
        read_points(file)
