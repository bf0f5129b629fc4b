"""The same shapes from an exact B-rep kernel (Open CASCADE, by cadquery-ocp), to judge ours."""

from collections.abc import Sequence
from itertools import pairwise

import numpy as np
from OCP.BRep import BRep_Tool
from OCP.BRepBuilderAPI import (
    BRepBuilderAPI_MakeEdge,
    BRepBuilderAPI_MakeFace,
    BRepBuilderAPI_MakePolygon,
    BRepBuilderAPI_MakeVertex,
    BRepBuilderAPI_MakeWire,
)
from OCP.BRepClass3d import BRepClass3d_SolidClassifier
from OCP.BRepExtrema import BRepExtrema_DistShapeShape
from OCP.BRepMesh import BRepMesh_IncrementalMesh
from OCP.BRepOffsetAPI import BRepOffsetAPI_MakePipeShell, BRepOffsetAPI_ThruSections
from OCP.BRepPrimAPI import BRepPrimAPI_MakeRevol
from OCP.GC import GC_MakeArcOfCircle
from OCP.gp import gp_Ax1, gp_Ax2, gp_Circ, gp_Dir, gp_Elips, gp_Pnt
from OCP.Law import Law_Linear
from OCP.TopAbs import TopAbs_FACE, TopAbs_IN
from OCP.TopExp import TopExp_Explorer
from OCP.TopLoc import TopLoc_Location
from OCP.TopoDS import TopoDS, TopoDS_Shape, TopoDS_Wire

from frame3d.model import Centreline

Array = np.ndarray


def _point(p: Array) -> gp_Pnt:
    return gp_Pnt(*map(float, p))


def section(line: Centreline, station: float, a: float, b: float, angle: float) -> TopoDS_Wire:
    """An ellipse square to the axis, its semi-axis `a` at `angle`, radians, from the datum."""
    (origin,), (ahead,), (datum,) = line.at(station)
    first = np.cos(angle) * datum + np.sin(angle) * np.cross(ahead, datum)
    if b > a:
        a, b, first = b, a, np.cross(ahead, first)
    plane = gp_Ax2(_point(origin), gp_Dir(*map(float, ahead)), gp_Dir(*map(float, first)))
    curve = gp_Circ(plane, a) if a == b else gp_Elips(plane, a, b)
    return BRepBuilderAPI_MakeWire(BRepBuilderAPI_MakeEdge(curve).Edge()).Wire()


def revolve(origin: Array, ahead: Array, side: Array, outline: Array) -> TopoDS_Shape:
    """A solid from an outline (K, 2) of stations and radii, turned about the axis."""
    maker = BRepBuilderAPI_MakePolygon()
    closed = [(outline[0][0], 0.0), *outline, (outline[-1][0], 0.0)]
    for station, radius in closed:
        maker.Add(_point(origin + station * ahead + radius * side))
    maker.Close()
    axis = gp_Ax1(_point(origin), gp_Dir(*map(float, ahead)))
    return BRepPrimAPI_MakeRevol(BRepBuilderAPI_MakeFace(maker.Wire()).Face(), axis).Shape()


def loft(wires: Sequence[TopoDS_Wire]) -> TopoDS_Shape:
    """A solid, ruled from each section to the next."""
    maker = BRepOffsetAPI_ThruSections(True, True)
    maker.CheckCompatibility(False)
    for wire in wires:
        maker.AddWire(wire)
    maker.Build()
    return maker.Shape()


def spine(line: Centreline, low: float, high: float) -> TopoDS_Wire:
    """The axis as a wire, carried on straight to the stations low < 0 and high > its length."""
    maker = BRepBuilderAPI_MakeWire()
    bounds = [low, *line.stations.tolist(), high]
    for start, end in pairwise(bounds):
        if end - start < 1e-9:
            continue
        stations = np.array([start, (start + end) / 2, end])
        points = [_point(p) for p in line.at(stations)[0]]
        k = int(np.searchsorted(line.stations, (start + end) / 2, "right")) - 1
        if 0 <= k < len(line.lengths) and line.curvature[k] > 0:
            edge = BRepBuilderAPI_MakeEdge(GC_MakeArcOfCircle(*points).Value()).Edge()
        else:
            edge = BRepBuilderAPI_MakeEdge(points[0], points[2]).Edge()
        maker.Add(edge)
    return maker.Wire()


def sweep(wire: TopoDS_Wire, profile: TopoDS_Wire, shrink: float | None = None) -> TopoDS_Shape:
    """A solid swept without twist; with `shrink`, evenly scaled down to that share at the end."""
    maker = BRepOffsetAPI_MakePipeShell(wire)
    maker.SetMode(False)
    maker.SetTolerance(1e-7, 1e-7, 1e-7)
    maker.SetMaxSegments(1000)
    if shrink is None:
        maker.Add(profile)
    else:
        law = Law_Linear()
        law.Set(0.0, 1.0, 1.0, shrink)
        maker.SetLaw(profile, law)
    maker.Build()
    maker.MakeSolid()
    return maker.Shape()


def distances(shape: TopoDS_Shape, points: Array) -> Array:
    """Signed distance (N,) of points to the solid's faces, mm, negative inside."""
    shells = TopExp_Explorer(shape, TopAbs_FACE)
    faces = []
    while shells.More():
        faces.append(shells.Current())
        shells.Next()
    result = []
    classify = BRepClass3d_SolidClassifier(shape)
    for point in points:
        vertex = BRepBuilderAPI_MakeVertex(_point(point)).Vertex()
        away = min(BRepExtrema_DistShapeShape(vertex, face).Value() for face in faces)
        classify.Perform(_point(point), 1e-9)
        result.append(-away if classify.State() == TopAbs_IN else away)
    return np.array(result)


def triangles(shape: TopoDS_Shape, chord: float) -> int:
    """Mesh the solid to a chord error, mm, and count its triangles."""
    BRepMesh_IncrementalMesh(shape, chord, False, 0.5, False).Perform()
    explorer = TopExp_Explorer(shape, TopAbs_FACE)
    count = 0
    while explorer.More():
        face = TopoDS.Face(explorer.Current())
        count += BRep_Tool.Triangulation_s(face, TopLoc_Location()).NbTriangles()
        explorer.Next()
    return count
