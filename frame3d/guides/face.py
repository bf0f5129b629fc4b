"""The guide's end face: the outside of the mating tubes, carried through the guide's whole wall."""

from dataclasses import dataclass

import numpy as np
from manifold3d import CrossSection, JoinType, Manifold, OpType

from frame3d.guides.place import Array, Place
from frame3d.solids.rings import solid
from frame3d.solids.tools import Reach, tool_solid
from frame3d.surfaces.cylinder import Cylinder

FLATNESS_MM = 0.0005  # the farthest that a flat of the face may stand inside its mate
NEAR_MM = 0.1  # a corner farther from the face stands on its steps, where a line runs past a mate
SEAM_MM = 0.001  # how far shoulders overlap another mate's shade, so that no film is left between


def cut_to_face(blank: Manifold, place: Place) -> Manifold:
    """`blank`, in guide coordinates, less the mates and all that lies behind them.

    Lines of the wall that pass every mate end at the shoulder, the plane through a mate's axis.
    """
    box = np.reshape(blank.bounding_box(), (2, 3))
    size = float(np.linalg.norm(box[1] - box[0]))
    on_axis = place.cope.frame.origin + box[:, 2].mean() * place.cope.frame.out
    outer = float(np.linalg.norm(np.abs(box[:, :2]).max(axis=0)))
    reach = Reach(on_axis, size, place.cope.frame, outer / 4, outer)
    if all(isinstance(mate, Cylinder) for mate in place.cope.mates):
        return _cut_by_cylinders(blank, place, reach)
    return _cut_by_lines(blank, place, reach)


def _cut_by_cylinders(blank: Manifold, place: Place, reach: Reach) -> Manifold:
    back = np.linalg.inv(place.matrix)[:3]
    tools = [
        tool_solid(surface, reach, FLATNESS_MM).transform(back) for surface in place.cope.mates
    ]
    middle = np.array([0.0, 0.0, back[2] @ [*reach.around, 1.0]])
    shoulders = [
        _beyond(normal, distance, 4 * reach.radius, middle) - shade
        for (normal, distance), shade in zip(
            place.shoulders, _shades(tools, middle[2] + reach.radius), strict=True
        )
    ]
    return Manifold.batch_boolean([blank, *tools, *shoulders], OpType.Subtract)


@dataclass(frozen=True, eq=False)
class _Face:
    """The whole face, mates and shoulders, as one surface that lines along the tube enter."""

    place: Place

    def distance(self, points: Array) -> Array:
        return np.asarray(np.min([m.distance(points) for m in self.place.cope.mates], axis=0))

    def entry(self, origins: Array, direction: Array) -> Array:
        local = (origins - self.place.cope.frame.origin) @ self.place.axes.T
        return np.maximum(self.place.height(local[:, :2]) - local[:, 2], 0.0)

    def met_by(self, place: Array, direction: Array, spread: float) -> "_Face":
        return self


def _cut_by_lines(blank: Manifold, place: Place, reach: Reach) -> Manifold:
    """For mates of any shape: where a grid of lines meets them, corners moved onto the face."""
    tool = tool_solid(_Face(place), reach, _chord_of_area(reach.outer)).as_original()
    ours = tool.original_id()
    body = blank.as_original() - tool.transform(np.linalg.inv(place.matrix)[:3])
    mesh = body.to_mesh64()
    vertices = np.array(mesh.vert_properties[:, :3])
    triangles = np.array(mesh.tri_verts, np.uint64)
    owner = np.repeat(mesh.run_original_id, np.diff(mesh.run_index) // 3)
    touched = np.unique(triangles[owner == ours])
    move = place.height(vertices[touched, :2]) - vertices[touched, 2]
    vertices[touched, 2] += np.where(np.abs(move) < NEAR_MM, move, 0.0)
    return solid(vertices, triangles)


def _chord_of_area(radius: float) -> float:
    """The chord setting that holds flats counted by area, as `facets` does, to FLATNESS_MM.

    It takes n flats with (2 pi / n)^2 / 6 = 0.003 chord; they stand radius (pi / n)^2 / 2
    inside, which is radius * 0.00225 chord.
    """
    return FLATNESS_MM / (0.00225 * radius)


def _beyond(normal: Array, distance: float, size: float, middle: Array) -> Manifold:
    """All near `middle` that lies beyond a plane, as a box of `size`."""
    aside = np.cross(normal, [1.0, 0.0, 0.0] if abs(normal[0]) < 0.9 else [0.0, 1.0, 0.0])
    aside /= np.linalg.norm(aside)
    foot = middle + (distance - normal @ middle) * normal
    turned = np.stack([aside, np.cross(normal, aside), normal, foot], axis=1)
    box = Manifold.cube((size, size, size), True).translate((0.0, 0.0, size / 2))
    return box.transform(turned)


def _shades(tools: list[Manifold], size: float) -> list[Manifold]:
    """For each cylinder's shoulder, what it must leave to the others: every line that meets one.

    The cylinder itself stands wholly before its own shoulder, so that it needs no leaving.
    """
    shades = []
    for which in range(len(tools)):
        shade = CrossSection()
        for tool in tools[:which] + tools[which + 1 :]:
            shade = shade + tool.project()
        shade = shade.offset(-SEAM_MM, JoinType.Miter)
        solid_shade = shade.extrude(4 * size).translate((0.0, 0.0, -2 * size))
        shades.append(solid_shade if len(tools) > 1 else Manifold())
    return shades
