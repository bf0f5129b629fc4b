"""Scans of a cut end by an independent path: the B-rep kernel cuts a tube with a displaced tool and
meshes it; the mesh is refined as a scanner's is, moved to any place, and given noise."""

import numpy as np
import trimesh
from OCP.BRepAlgoAPI import BRepAlgoAPI_Cut, BRepAlgoAPI_Fuse
from OCP.BRepBuilderAPI import BRepBuilderAPI_Transform
from OCP.BRepPrimAPI import BRepPrimAPI_MakeCylinder
from OCP.gp import gp_Ax2, gp_Trsf
from OCP.TopoDS import TopoDS_Shape
from reference.kernel import meshed, point, unit
from scipy.spatial.transform import Rotation

from frame3d.surfaces.cope import Cope
from frame3d.surfaces.cylinder import Cylinder
from frame3d.surfaces.displaced import Displaced
from frame3d.tolerance.displaced_cut import Setups
from frame3d.tolerance.exact import displaced_tool
from frame3d.tolerance.target import target_of

Array = np.ndarray
BEFORE_MM = 60.0  # of the blank before the axis's end point
SHOWN_MM = 45.0  # of the tube behind it that is scanned
EDGE_MM = 1.5  # of a scanner's triangles
FAR_MM = 1000.0  # a tool reaches as far to both sides of its own point
CHORD_MM = 0.001  # coarser facets of a cone would pass for a smaller one


def cylinder(origin: Array, along: Array, radius: float, length: float) -> TopoDS_Shape:
    return BRepPrimAPI_MakeCylinder(gp_Ax2(point(origin), unit(along)), radius, length).Shape()


def moved(tool: TopoDS_Shape, by: Displaced) -> TopoDS_Shape:
    """A tool displaced as `by` says."""
    away = by.about + by.shift - by.turn @ by.about
    change = gp_Trsf()
    change.SetValues(*np.column_stack([by.turn, away]).ravel().tolist())
    return BRepBuilderAPI_Transform(tool, change, True).Shape()


def cut_end(
    origin: Array,
    inward: Array,
    od: float,
    wall: float,
    tool: TopoDS_Shape,
    shown: float = SHOWN_MM,
) -> trimesh.Trimesh:
    """The end of a tube whose axis runs from `origin` along `inward`, cut by `tool`, as a mesh of
    a scanner's triangles; shown: mm of the tube behind its end."""
    mesh = kernel_end(origin, inward, od, wall, tool, shown)
    # The kernel's triangles are as long as the tube: halved to a scanner's size, a whole tube would
    # come to millions that a scanner does not give.
    edge = EDGE_MM * max(1.0, shown / SHOWN_MM)
    vertices, faces = trimesh.remesh.subdivide_to_size(mesh.vertices, mesh.faces, edge, 20)
    fine = trimesh.Trimesh(vertices, faces)
    fine.merge_vertices()
    fine.remove_unreferenced_vertices()
    return fine


def kernel_end(
    origin: Array,
    inward: Array,
    od: float,
    wall: float,
    tool: TopoDS_Shape,
    shown: float = SHOWN_MM,
) -> trimesh.Trimesh:
    """The same as the kernel meshes it."""
    start = origin - BEFORE_MM * inward
    tube = BRepAlgoAPI_Cut(
        cylinder(start, inward, od / 2, BEFORE_MM + shown),
        cylinder(start - inward, inward, od / 2 - wall, BEFORE_MM + shown + 2),
    ).Shape()
    corners = meshed(BRepAlgoAPI_Cut(tube, tool).Shape(), CHORD_MM)
    whole = trimesh.Trimesh(**trimesh.triangles.to_kwargs(corners))
    mesh = max(whole.split(only_watertight=False), key=lambda p: (p.vertices @ inward).max())
    height = (mesh.triangles - origin) @ inward
    mesh.update_faces(height.min(axis=1) < shown - 1e-6)  # a scan stops somewhere: no end there
    return mesh


def badly_cut(cope: Cope, tilt: float, centring: float) -> tuple[Setups, trimesh.Trimesh]:
    """A set-up that is off by `tilt` degrees and `centring` mm for each mate, and the end that it
    makes of a round tube onto round mates, by the kernel."""
    target = target_of(cope)
    nil = np.zeros((1, len(cope.tools)))
    normal = target.normals[None]
    setups = Setups(np.radians(tilt) * normal, centring * normal, nil, nil, np.zeros(1))
    solids = []
    for k, tool in enumerate(cope.tools):
        assert isinstance(tool, Cylinder)
        solid = cylinder(tool.point - FAR_MM * tool.axis, tool.axis, tool.radius, 2 * FAR_MM)
        solids.append(moved(solid, displaced_tool(target, setups, 0, k)))
    whole = solids[0]
    for solid in solids[1:]:
        whole = BRepAlgoAPI_Fuse(whole, solid).Shape()
    # What is shown of the tube is counted from the deepest point of the cut.
    frame, tube = cope.frame, cope.tube
    origin = frame.origin - (cope.throat.value + cope.seat) * frame.out
    return setups, kernel_end(origin, -frame.out, float(tube.od(0.0)), float(tube.wall(0.0)), whole)


def placed(points: Array, noise: float, seed: int) -> Array:
    """Points in any place, each with noise of its own."""
    rng = np.random.default_rng(seed)
    points = points + noise * rng.standard_normal(points.shape)
    return np.asarray(Rotation.random(random_state=seed).apply(points) + rng.uniform(-300, 300, 3))


def points_on(mesh: trimesh.Trimesh, count: int, seed: int) -> Array:
    return np.asarray(trimesh.sample.sample_surface(mesh, count, seed=seed)[0])
