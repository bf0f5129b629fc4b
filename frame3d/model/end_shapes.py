"""Ends of tubes other than a cope, and the plates that stand in slotted ones."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from frame3d.model.axis import End
from frame3d.model.tube import Point

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Slot:
    """A slot sawn from the end, for a plate or to be closed by a binder. Lengths in mm.

    depth: along the tube's axis, from its end point to the slot's bottom, which is square to the
           axis
    width: between the slot's sides; they are flat, and run on both sides of `point` (world
           coordinates) square to `normal`
    plate: name of the plate that it is for
    wall:  unit vector square to the axis, in the slot's plane, towards the only wall that is
           sawn; None where both are
    """

    tube: str
    end: End
    depth: float
    width: float
    point: Point
    normal: Point
    plate: str | None = None
    wall: Point | None = None


@dataclass(frozen=True)
class Plug:
    """A disc brazed into the bore, flush with the end; thickness in mm."""

    tube: str
    end: End
    thickness: float


@dataclass(frozen=True)
class Dome:
    """A cap over the end: half an ellipsoid as wide as the tube and `height` mm high, outside and,
    a wall's thickness below it, inside. As high as half the outside it is half a ball."""

    tube: str
    end: End
    height: float


@dataclass(frozen=True)
class Pinch:
    """The end pressed flat. Lengths in mm.

    length:     of the flat, up to the end: two walls thick, without a bore
    transition: from there back to where the tube is round
    angle:      from the datum to the flat's width, degrees, right-handed about start to end
    """

    tube: str
    end: End
    length: float
    transition: float
    angle: float = 0.0


EndShape = Slot | Plug | Dome | Pinch


@dataclass(frozen=True)
class AxleSlot:
    """A round-ended slot in a plate, open or not: from the centre (u, v) over `length` mm in the
    direction `angle`, degrees from the plate's u towards its v. Length 0 makes it a round hole."""

    u: float
    v: float
    width: float
    length: float = 0.0
    angle: float = 0.0


@dataclass(frozen=True)
class Plate:
    """A flat part, such as a dropout. Lengths in mm.

    outline:   corners (u, v) in the plate's own plane, one after the other, either way round
    thickness: half of it on each side of that plane
    at:        where u = v = 0 stands, world coordinates
    u, v:      the directions of u and v, unit and square to each other
    slots:     axle slots and holes
    """

    name: str
    outline: tuple[tuple[float, float], ...]
    thickness: float
    at: Point
    u: Point = (1.0, 0.0, 0.0)
    v: Point = (0.0, 0.0, 1.0)
    slots: tuple[AxleSlot, ...] = ()
    material: str = "steel"

    @property
    def normal(self) -> Array:
        """Unit vector (3,) square to the plate: u cross v."""
        return np.cross(self.u, self.v)
