"""The guide's end face: the outside of the mating tubes, carried through the guide's whole wall."""

import numpy as np
from manifold3d import CrossSection, JoinType, Manifold, OpType

from frame3d.guides.place import Array, Place
from frame3d.solids.tools import Reach, tool_solid

FLATNESS_MM = 0.0005  # the farthest that a flat of the face may stand inside its mate
SEAM_MM = 0.001  # how far shoulders overlap another mate's shade, so that no film is left between


def cut_to_face(blank: Manifold, place: Place) -> Manifold:
    """`blank`, in guide coordinates, less the mates and all that lies behind them.

    Lines of the wall that pass every mate end at the shoulder, the plane through a mate's axis.
    """
    size = _size(blank)
    world = place.matrix
    inverse = np.linalg.inv(world)
    tools = []
    for surface, mate in zip(place.cope.mates, place.mates, strict=True):
        reach = Reach(place.cope.frame.origin, place.cope.frame.out, 4 * size)
        tool = tool_solid(surface, reach, _chord(float(np.max(mate.od.value)) / 2))
        tools.append(tool.transform(inverse[:3]))
    for which, (normal, distance) in enumerate(place.shoulders):
        shoulder = _beyond(normal, distance, 4 * size)
        others = [tool for k, tool in enumerate(tools) if k != which]
        tools.append(shoulder - _shade(others, 4 * size) if others else shoulder)
    return Manifold.batch_boolean([blank, *tools], OpType.Subtract)


def _size(blank: Manifold) -> float:
    box = np.reshape(blank.bounding_box(), (2, 3))
    return float(np.abs(box).max() + np.linalg.norm(box[1] - box[0]))


def _chord(radius: float) -> float:
    """The chord setting that holds the flats to FLATNESS_MM.

    `facets` takes n flats with (2 pi / n)^2 / 6 = 0.003 chord; they stand radius (pi / n)^2 / 2
    inside, which is radius * 0.00225 chord.
    """
    return FLATNESS_MM / (0.00225 * radius)


def _beyond(normal: Array, distance: float, size: float) -> Manifold:
    """All that lies beyond a plane, as a box of `size`."""
    aside = np.cross(normal, [1.0, 0.0, 0.0] if abs(normal[0]) < 0.9 else [0.0, 1.0, 0.0])
    aside /= np.linalg.norm(aside)
    turned = np.stack([aside, np.cross(normal, aside), normal, distance * normal], axis=1)
    box = Manifold.cube((2 * size, 2 * size, size), True).translate((0.0, 0.0, size / 2))
    return box.transform(turned)


def _shade(tools: list[Manifold], size: float) -> Manifold:
    """Every line along the tube that meets one of `tools`."""
    shade = CrossSection()
    for tool in tools:
        shade = shade + tool.project()
    return shade.offset(-SEAM_MM, JoinType.Miter).extrude(2 * size).translate((0.0, 0.0, -size))
