"""The guide's end face: the outside of the mating tubes, carried through the guide's whole wall."""

import numpy as np
from manifold3d import CrossSection, JoinType, Manifold, OpType

from frame3d.guides.place import Array, Place
from frame3d.solids.tools import Reach, tool_solid
from frame3d.surfaces.cylinder import Cylinder

FLATNESS_MM = 0.0005  # the farthest that a flat of the face may stand inside its mate
SEAM_MM = 0.001  # how far shoulders overlap another mate's shade, so that no film is left between


def cut_to_face(blank: Manifold, place: Place) -> Manifold:
    """`blank`, in guide coordinates, less the mates and all that lies behind them.

    Lines of the wall that pass every mate end at the shoulder, the plane through a mate's axis.
    """
    box = np.reshape(blank.bounding_box(), (2, 3))
    middle, size = box.mean(axis=0), float(np.linalg.norm(box[1] - box[0]))
    world = place.matrix
    around = world[:3, :3] @ middle + world[:3, 3]
    tools = []
    for surface, mate in zip(place.cope.mates, place.mates, strict=True):
        reach = Reach(around, place.cope.frame.out, size)
        tool = tool_solid(surface, reach, _chord(mate.od.greatest / 2))
        tools.append(tool.transform(np.linalg.inv(world)[:3]))
    shades = _shades(place, tools, middle[2] + size)
    shoulders = [
        _beyond(normal, distance, 4 * size, middle) - shade
        for (normal, distance), shade in zip(place.shoulders, shades, strict=True)
    ]
    return Manifold.batch_boolean([blank, *tools, *shoulders], OpType.Subtract)


def _chord(radius: float) -> float:
    """The chord setting that holds the flats to FLATNESS_MM.

    `facets` takes n flats with (2 pi / n)^2 / 6 = 0.003 chord; they stand radius (pi / n)^2 / 2
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


def _shades(place: Place, tools: list[Manifold], size: float) -> list[Manifold]:
    """For each mate's shoulder, what it must leave to mates: every line that meets one.

    A cylinder stands wholly before its own shoulder, so that it needs no leaving; there the edge
    between both is left without a seam.
    """
    shades = []
    for which, own in enumerate(place.cope.mates):
        left = [t for k, t in enumerate(tools) if k != which or not isinstance(own, Cylinder)]
        shade = CrossSection()
        for tool in left:
            shade = shade + tool.project()
        shade = shade.offset(-SEAM_MM, JoinType.Miter)
        far = (0.0, 0.0, -2 * size)
        shades.append(shade.extrude(4 * size).translate(far) if left else Manifold())
    return shades
