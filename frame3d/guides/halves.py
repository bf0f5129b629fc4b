"""Keys that stand across the split of a guide's halves, so that they close in one place.

A key stands on a slope, and both it and its slot end in a ridge: they print without support.
"""

import numpy as np
from manifold3d import Manifold

from frame3d.guides.clamp import SLIT_MM
from frame3d.guides.guide_section import Section
from frame3d.guides.upright import KEY_MM, KEY_ROOM_MM, LEAST_KEY_MM, ROOT_MM, WIDEST_KEY_MM

FROM_BED_MM = 2.0
THICK_MM = 4.0  # of a key at its tip
REACH_MM = SLIT_MM + ROOT_MM + KEY_MM  # from its root in the lower half to its tip in the upper


def keys_and_slots(
    section: Section, sides: tuple[int, ...], lean: float, thinnest: float
) -> tuple[list[Manifold], list[Manifold]]:
    """Bodies to add to the lower half (y below 0) and to cut from the upper, once it is split; none
    where the wall is too thin for a key."""
    half = (section.radius - section.bore) / 2 - KEY_ROOM_MM - thinnest
    half = min(half, WIDEST_KEY_MM / 2)
    if 2 * half < LEAST_KEY_MM:
        return [], []
    middle = (section.radius + section.bore) / 2
    key = _wedge(half, 0.0, lean)
    slot = _wedge(half + KEY_ROOM_MM, KEY_ROOM_MM, lean)
    slot = slot.trim_by_plane((0.0, 1.0, 0.0), 0.0)
    places = [(side * middle, 0.0, 0.0) for side in sides]
    return [key.translate(at) for at in places], [slot.translate(at) for at in places]


def _wedge(half: float, room: float, lean: float) -> Manifold:
    """A key around x = 0, `half` as wide, or its slot with `room` around and above it."""
    low = -SLIT_MM / 2 - ROOT_MM
    tip = low + REACH_MM + room
    top = FROM_BED_MM + REACH_MM * lean + THICK_MM + room - room * lean  # ridges are parallel
    under = room * float(np.hypot(1.0, lean))
    bottom = [FROM_BED_MM - under, FROM_BED_MM - under + (tip - low) * lean]
    corners = [
        (x, y, z)
        for x in (-half, half)
        for y, start in zip((low, tip), bottom, strict=True)
        for z in (start, top)
    ]
    ridge = [(0.0, y, top + half * lean) for y in (low, tip)]
    return Manifold.hull_points(np.array(corners + ridge))
