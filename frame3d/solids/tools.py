"""What is subtracted from a raw tube to cope its end: the saw, or the mating tube's outside."""

from dataclasses import dataclass
from functools import singledispatch

import numpy as np
from manifold3d import Manifold

from frame3d.solids.facets import facets
from frame3d.solids.rings import Array, prism
from frame3d.surfaces.cylinder import Cylinder
from frame3d.surfaces.surface import Surface


@dataclass(frozen=True, eq=False)
class Reach:
    """How much of the endless tool is made.

    around: the middle (3,) of all metal that the tool has to take; radius: of a ball about it that
    holds this metal, mm; out: unit direction (3,) in which the tube runs into the tool.
    """

    around: Array
    out: Array
    radius: float


@singledispatch
def tool_solid(surface: Surface, reach: Reach, chord: float) -> Manifold:
    """The tool, together with all that lies behind it as the tube sees it.

    A cope keeps what stands before a line's first entry into the tool. Taking the tool's shadow
    along with it drops slugs and ears, and leaves no sliver where a line only grazes the tool.
    """
    raise TypeError(f"no solid for a {type(surface).__name__}")


@tool_solid.register
def _cylinder(surface: Cylinder, reach: Reach, chord: float) -> Manifold:
    """The half of the cylinder that faces the tube, and a slab from its sides outward."""
    axis, radius = surface.axis, surface.radius
    away = reach.out - (reach.out @ axis) * axis
    away /= np.linalg.norm(away)
    across = np.cross(axis, away)
    count = facets(radius, chord)
    angle = np.linspace(np.pi / 2, 3 * np.pi / 2, count // 2 + 1)
    near = radius * (np.outer(np.cos(angle), away) + np.outer(np.sin(angle), across))
    middle = reach.around - surface.point
    behind = max(float(middle @ away) + reach.radius, radius) * away
    section = np.concatenate([near, [behind - radius * across, behind + radius * across]])
    foot = surface.point + (middle @ axis - reach.radius) * axis
    return prism(foot + section, 2 * reach.radius * axis)
