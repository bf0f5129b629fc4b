"""What is subtracted from a raw tube to cope its end: the saw, or the mating tube's outside."""

from dataclasses import dataclass
from functools import singledispatch

import numpy as np
from manifold3d import Manifold

from frame3d.model import EndFrame
from frame3d.solids.facets import facets_by_chord
from frame3d.solids.rings import Array, between, ring_loop
from frame3d.surfaces.cylinder import Cylinder
from frame3d.surfaces.revolution import Revolution
from frame3d.surfaces.surface import Surface

SPARE_MM = 0.1  # that much wider than the wall is a tool's ring

# Between its rings a tool for any surface stands off a mate of radius R mm by chord / (8 R): the
# steps through the wall are the root of this length times the chord. Between its spokes it stands
# off by a tenth of the chord. Both are what the volume of a short bridge on slim stays needs.
STEP_PER_CHORD_MM = 1.0


@dataclass(frozen=True, eq=False)
class Reach:
    """How much of the endless tool is made.

    around: the middle (3,) of all metal that the tool has to take; radius: of a ball about it that
    holds this metal, mm. frame: the end that is cut; its axis passes through `around`. inner,
    outer: all of the metal stands between these distances from that axis, mm.
    """

    around: Array
    radius: float
    frame: EndFrame
    inner: float
    outer: float


@singledispatch
def tool_solid(surface: Surface, reach: Reach, chord: float) -> Manifold:
    """The tool, together with all that lies behind it as the tube sees it.

    A cope keeps what stands before a line's first entry into the tool. Taking the tool's shadow
    along with it drops slugs and ears, and leaves no sliver where a line only grazes the tool.

    For any surface: its outside as the lines along the tube find it, over a ring that holds the
    tube's wall.
    """
    return _shadow(surface, reach, chord)


def _shadow(surface: Surface, reach: Reach, chord: float) -> Manifold:
    frame, out = reach.frame, reach.frame.out
    radii = np.linspace(reach.inner - SPARE_MM, reach.outer + SPARE_MM, 2 + _steps(reach, chord))
    count = facets_by_chord(reach.outer, chord / 10)
    # Rings turn right-handed about `out`, which at the start is against the tube's own direction.
    turn = float(np.sign(np.cross(frame.datum, frame.side) @ out))
    theta = np.linspace(0.0, turn * 2 * np.pi, count, endpoint=False)
    spokes = radii[:, None, None] * frame.around(theta)
    foot = reach.around - reach.radius * out
    behind = 2 * reach.radius + SPARE_MM
    entry = surface.entry((foot - reach.frame.run * out + spokes).reshape(-1, 3), out)
    near = np.minimum(entry.reshape(len(radii), count) - reach.frame.run, behind - SPARE_MM)
    front = foot + spokes + near[..., None] * out
    back = foot + spokes[[-1, 0]] + behind * out
    return ring_loop(np.concatenate([front, back]))


def _steps(reach: Reach, chord: float) -> int:
    across = reach.outer - reach.inner + 2 * SPARE_MM
    return int(np.ceil(across / np.sqrt(STEP_PER_CHORD_MM * chord)))


@tool_solid.register
def _cylinder(surface: Cylinder, reach: Reach, chord: float) -> Manifold:
    middle = float((reach.around - surface.point) @ surface.axis)
    return _half_round(surface.point, surface.axis, middle, (surface.radius,) * 2, reach, chord)


@tool_solid.register
def _revolution(surface: Revolution, reach: Reach, chord: float) -> Manifold:
    """As of a cylinder where all that is cut meets a single cone, between the cone's own sides."""
    middle = float((reach.around - surface.start) @ surface.axis)
    low, high = middle - reach.radius, middle + reach.radius
    across = np.cross(surface.axis, reach.frame.out)
    beside = abs(float((reach.around - surface.start) @ across)) / np.linalg.norm(across)
    one_cone = not any(low < at < high for at in surface.od.at)
    radii = float(surface.od(low)) / 2, float(surface.od(high)) / 2
    if one_cone and min(radii) > beside + reach.outer + SPARE_MM:
        return _half_round(surface.start, surface.axis, middle, radii, reach, chord)
    return _shadow(surface, reach, chord)


def _half_round(
    point: Array, axis: Array, middle: float, radii: tuple[float, float], reach: Reach, chord: float
) -> Manifold:
    """The half of a cylinder or cone that faces the tube, and a slab from its sides outward.

    middle: station about which it is made, from `point`; radii: at its two ends.

    It needs fewer flats than a tube, since the cut's vertices are moved onto the exact surface;
    between them the metal stands in by up to a fifth of the chord, so that the volume of a short
    and thick tube holds too.
    """
    out = reach.frame.out
    away = out - (out @ axis) * axis
    away /= np.linalg.norm(away)
    across = np.cross(axis, away)
    count = facets_by_chord(max(radii), chord / 5)
    angle = np.linspace(np.pi / 2, 3 * np.pi / 2, count // 2 + 1)
    near = np.outer(np.cos(angle), away) + np.outer(np.sin(angle), across)
    behind = max(float((reach.around - point) @ away) + reach.radius, *radii) * away
    sections = [
        point
        + (middle + sense * reach.radius) * axis
        + np.concatenate([r * near, [behind - r * across, behind + r * across]])
        for sense, r in zip((-1.0, 1.0), radii, strict=True)
    ]
    return between(*sections)
