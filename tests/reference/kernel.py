"""A finished straight round tube from an exact B-rep kernel (Open CASCADE, by cadquery-ocp)."""

from dataclasses import dataclass

import numpy as np
from OCP.BRep import BRep_Tool
from OCP.BRepAlgoAPI import BRepAlgoAPI_Common, BRepAlgoAPI_Cut
from OCP.BRepBuilderAPI import (
    BRepBuilderAPI_MakeFace,
    BRepBuilderAPI_MakePolygon,
    BRepBuilderAPI_MakeVertex,
)
from OCP.BRepExtrema import BRepExtrema_DistShapeShape
from OCP.BRepGProp import BRepGProp
from OCP.BRepMesh import BRepMesh_IncrementalMesh
from OCP.BRepPrimAPI import BRepPrimAPI_MakeCylinder, BRepPrimAPI_MakeRevol
from OCP.gp import gp_Ax1, gp_Ax2, gp_Dir, gp_Lin, gp_Pln, gp_Pnt
from OCP.GProp import GProp_GProps
from OCP.IntCurvesFace import IntCurvesFace_ShapeIntersector
from OCP.TopAbs import TopAbs_FACE, TopAbs_REVERSED, TopAbs_SOLID
from OCP.TopExp import TopExp_Explorer
from OCP.TopLoc import TopLoc_Location
from OCP.TopoDS import TopoDS, TopoDS_Shape
from reference.exact_tube import ExactEnd

from frame3d.model import Frame, Tube

SPARE_MM = 1.0


def point(p) -> gp_Pnt:
    return gp_Pnt(*map(float, p))


def unit(v) -> gp_Dir:
    return gp_Dir(*map(float, v))


def axis_of(tube: Tube):
    return np.subtract(tube.end, tube.start) / np.linalg.norm(np.subtract(tube.end, tube.start))


def raw(tube: Tube, low: float, high: float) -> TopoDS_Shape:
    """The hollow tube between two square ends, mm from its start: half its section, turned."""
    start, axis = np.array(tube.start), axis_of(tube)
    side = np.cross(axis, np.eye(3)[np.abs(axis).argmin()])
    side = side / np.linalg.norm(side)
    radius = float(tube.od(0.0)) / 2
    bore = [high, *[a for a in reversed(tube.wall.at) if low < a < high], low]
    outline = [(low, radius), (high, radius), *[(s, radius - float(tube.wall(s))) for s in bore]]
    maker = BRepBuilderAPI_MakePolygon()
    for station, r in outline:
        maker.Add(point(start + station * axis + r * side))
    maker.Close()
    turned = gp_Ax1(point(start), unit(axis))
    return BRepPrimAPI_MakeRevol(BRepBuilderAPI_MakeFace(maker.Wire()).Face(), turned).Shape()


def tool(mate: Tube, radius: float, near, shift, far: float = 2000.0) -> TopoDS_Shape:
    """A cylinder about the mate's axis, long enough around `near`, moved by `shift`."""
    axis = axis_of(mate)
    middle = mate.start + ((np.asarray(near) - mate.start) @ axis) * axis + shift
    return BRepPrimAPI_MakeCylinder(
        gp_Ax2(point(middle - far / 2 * axis), unit(axis)), radius, far
    ).Shape()


@dataclass(frozen=True)
class Work:
    """What has to be cut: the raw tube's ends, mm from its start, and cylinders to take away:
    mate, radius, a point near the cut, shift."""

    tube: Tube
    low: float
    high: float
    cutters: tuple[tuple[Tube, float, np.ndarray, np.ndarray], ...]


def planned(frame: Frame, name: str) -> Work:
    """From the exact seats and tips of the reference."""
    tube = frame.tube(name)
    low, high, cutters = 0.0, tube.length, []
    for joint in frame.joints:
        if joint.tube != name:
            continue
        end = ExactEnd(frame, joint)
        theta = np.linspace(0, 2 * np.pi, 721)
        stop = np.concatenate([end.stop(end.offsets(theta, r)) for r in end.radii])
        beyond = float(stop[np.isfinite(stop)].max()) + SPARE_MM
        low, high = (-beyond, high) if joint.end == "start" else (low, tube.length + beyond)
        near = np.array(tube.start if joint.end == "start" else tube.end)
        for mate, radius in zip(joint.onto, end.tool_radii, strict=True):
            cutters.append((frame.tube(mate), radius, near, end.seat * end.out))
    return Work(tube, low, high, tuple(cutters))


def cut(work: Work) -> TopoDS_Shape:
    """The piece that holds the tube's middle after all its ends are cut."""
    body = raw(work.tube, work.low, work.high)
    for cutter in work.cutters:
        body = BRepAlgoAPI_Cut(body, tool(*cutter)).Shape()
    pieces = solids(body)
    if len(pieces) == 1:
        return pieces[0]
    middle = (np.array(work.tube.start) + work.tube.end) / 2
    return min(pieces, key=lambda piece: distance(piece, middle))


def finished(frame: Frame, name: str) -> TopoDS_Shape:
    return cut(planned(frame, name))


def solids(shape: TopoDS_Shape) -> list[TopoDS_Shape]:
    found, explorer = [], TopExp_Explorer(shape, TopAbs_SOLID)
    while explorer.More():
        found.append(explorer.Current())
        explorer.Next()
    return found


def volume(shape: TopoDS_Shape) -> float:
    """mm3, by the kernel's adaptive integration."""
    properties = GProp_GProps()
    BRepGProp.VolumeProperties_s(shape, properties, 1e-7)
    return float(properties.Mass())


def meshed(shape: TopoDS_Shape, chord: float) -> np.ndarray:
    """Corners (T, 3, 3), mm, of the kernel's own triangles at a chord error, mm."""
    BRepMesh_IncrementalMesh(shape, chord, False, 0.5, False).Perform()
    corners, explorer = [], TopExp_Explorer(shape, TopAbs_FACE)
    while explorer.More():
        face, place = TopoDS.Face(explorer.Current()), TopLoc_Location()
        mesh = BRep_Tool.Triangulation_s(face, place)
        move = place.Transformation()
        nodes = [mesh.Node(i + 1).Transformed(move) for i in range(mesh.NbNodes())]
        points = np.array([(p.X(), p.Y(), p.Z()) for p in nodes])
        triangles = np.array([mesh.Triangle(i + 1).Get() for i in range(mesh.NbTriangles())]) - 1
        turned = face.Orientation() == TopAbs_REVERSED
        corners.append(points[triangles[:, ::-1] if turned else triangles])
        explorer.Next()
    return np.concatenate(corners)


def enclosed(corners: np.ndarray) -> float:
    """Volume, mm3, inside a closed mesh of corners (T, 3, 3)."""
    from_first = corners - corners[0, 0]
    a, b, c = from_first.transpose(1, 0, 2)
    return float(np.einsum("ij,ij->", a, np.cross(b, c)) / 6)


def area_of_section(shape: TopoDS_Shape, origin, normal, half: float) -> float:
    """Area, mm2, that a plane cuts out of the solid."""
    plane = gp_Pln(point(origin), unit(normal))
    face = BRepBuilderAPI_MakeFace(plane, -half, half, -half, half).Face()
    properties = GProp_GProps()
    BRepGProp.SurfaceProperties_s(BRepAlgoAPI_Common(face, shape).Shape(), properties)
    return float(properties.Mass())


def first_and_last(shape: TopoDS_Shape, origins, direction) -> np.ndarray:
    """Where lines from `origins` (N, 3) enter and finally leave the solid: (N, 2), mm."""
    caster = IntCurvesFace_ShapeIntersector()
    caster.Load(shape, 1e-9)
    found = []
    for origin in origins:
        caster.Perform(gp_Lin(point(origin), unit(direction)), -1e5, 1e5)
        along = [caster.WParameter(i + 1) for i in range(caster.NbPnt())]
        found.append((min(along), max(along)) if along else (np.nan, np.nan))
    return np.array(found)


def distance(shape: TopoDS_Shape, p) -> float:
    vertex = BRepBuilderAPI_MakeVertex(point(p)).Vertex()
    return float(BRepExtrema_DistShapeShape(vertex, shape).Value())
