"""Holes drilled into a finished tube."""

from collections.abc import Iterable

import numpy as np
from manifold3d import Manifold

from frame3d.model import Hole, Tube, axis_at
from frame3d.solids.facets import facets
from frame3d.solids.rings import prism, solid
from frame3d.solids.simplify import tidied


def drilled(body: Manifold, tube: Tube, holes: Iterable[Hole], chord: float) -> Manifold:
    """`body` less a drill for each hole, from the tube's axis out through the wall, or right
    across."""
    drills = [drill(tube, hole, chord) for hole in holes]
    if not drills or body.is_empty():
        return body
    for tool in drills:
        body = body - tool
    mesh = body.to_mesh64()
    return solid(
        *tidied(np.array(mesh.vert_properties[:, :3]), np.array(mesh.tri_verts, np.uint64))
    )


def drill(tube: Tube, hole: Hole, chord: float) -> Manifold:
    """A cylinder from the axis of the tube outward, or from side to side, mm."""
    centre, axis, up = axis_at(tube, hole.at)
    turn = np.radians(hole.angle)
    out = np.cos(turn) * up + np.sin(turn) * np.cross(axis, up)
    count = facets(hole.diameter / 2, chord)
    around = np.arange(count) * (2 * np.pi / count)
    across = np.cross(out, axis)
    circle = np.outer(np.cos(around), axis) + np.outer(np.sin(around), across)
    reach = tube.widest + 1.0
    back = reach if hole.through else 0.0
    return prism(centre - back * out + hole.diameter / 2 * circle, (reach + back) * out)
