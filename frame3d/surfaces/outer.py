"""The outer surface of a tube, and what a saw that stands for it sweeps."""

import numpy as np

from frame3d.model import Tube, axis_near, direction
from frame3d.surfaces.cylinder import Cylinder
from frame3d.surfaces.revolution import Revolution
from frame3d.surfaces.surface import Array, Surface
from frame3d.surfaces.sweep import Sweep


def outer_surface(tube: Tube) -> Surface:
    """The exact outside of a tube, endless: its end sections carry on beyond both ends."""
    if tube.bends or tube.oval is not None:
        across, turn = (tube.oval.across, tube.oval.angle) if tube.oval else (tube.od, 0.0)
        return Sweep(tube.centreline, tube.od, across, float(np.radians(turn)))
    start, axis = np.asarray(tube.start, float), direction(tube)
    if tube.od.is_constant:
        return Cylinder(start, axis, tube.od.value[0] / 2)
    return Revolution(start, axis, tube.od)


def saw_surface(tube: Tube, od: float, near: Array) -> Surface:
    """What a saw of outside diameter `od`, mm, sweeps about the axis of the tube it stands for.

    A saw is straight: of a bent tube it takes the axis's direction nearest to `near` (3,).
    """
    place, axis = axis_near(tube, near)
    return Cylinder(place, axis, od / 2)
