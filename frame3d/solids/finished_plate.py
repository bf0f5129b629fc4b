"""Plates as solids: a flat outline less its axle slots, as thick as the plate."""

from dataclasses import dataclass

import numpy as np
from manifold3d import CrossSection, FillRule, Manifold

from frame3d.model.end_shapes import AxleSlot, Plate
from frame3d.solids.facets import CHORD_MM, facets
from frame3d.solids.rings import Array


@dataclass(frozen=True, eq=False)
class FinishedPlate:
    """solid: in world coordinates, mm."""

    plate: Plate
    solid: Manifold

    @property
    def name(self) -> str:
        return self.plate.name

    @property
    def material(self) -> str:
        return self.plate.material

    @property
    def volume(self) -> float:
        """Volume of the metal, mm3."""
        return float(self.solid.volume())


def finished_plate(plate: Plate, chord: float = CHORD_MM) -> FinishedPlate:
    """The plate where it stands. Exact but for the flats that stand for round slot ends."""
    flat = CrossSection([np.asarray(plate.outline, float)], FillRule.NonZero)
    for slot in plate.slots:
        flat -= CrossSection([slot_outline(slot, chord)], FillRule.Positive)
    body = Manifold.extrude(flat, plate.thickness).translate((0.0, 0.0, -plate.thickness / 2))
    across = np.column_stack([plate.u, plate.v, plate.normal])
    return FinishedPlate(plate, body.transform(np.column_stack([across, plate.at])))


def slot_outline(slot: AxleSlot, chord: float) -> Array:
    """Points (N, 2) around a slot, counter-clockwise."""
    half = facets(slot.width / 2, chord) // 2
    turn = np.radians(slot.angle)
    along = np.array([np.cos(turn), np.sin(turn)])
    arc = turn + np.pi / 2 + np.arange(half + 1) * (np.pi / half)
    # The half polygon's area falls short of the half circle's; more radius makes up for it.
    radius = slot.width / 2 / np.sqrt(np.sinc(1 / half))
    near = radius * np.column_stack([np.cos(arc), np.sin(arc)])
    points = np.concatenate([near, slot.length * along - near])
    if slot.length == 0.0:
        points = np.delete(points, [half, 2 * half + 1], axis=0)
    return np.asarray(points + np.array([slot.u, slot.v]))
