"""The fork: a steerer onto a tubular crown that lies across it, and two blades under it.

The crown's upper side stands at the crown race seat. The blades run from the crown's axis to the
dropouts. Straight ones get the rake from their lean against the steerer, bent ones by their bends.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from frame3d.bicycle.errors import BicycleError
from frame3d.bicycle.geometry import Bicycle
from frame3d.bicycle.sections import Section, Structure, cope
from frame3d.model.tube import Point

Array = NDArray[np.float64]
SIDES = {"left": 1.0, "right": -1.0}


@dataclass(frozen=True)
class ForkLayout:
    """How the fork is built. Mm; the defaults are common practice, no source.

    dropout_thickness: of the plates, which stand outside the hub's locknuts
    blade_setback:     the axle's middle to the blade's end, along the blade
    tyre_gap:          tyre's side to the blade, at the crown
    crown_margin:      footprint of a blade to the crown's end
    steerer_above:     steerer above the head tube: headset, spacers and stem
    """

    dropout_thickness: float = 5.0
    blade_setback: float = 30.0
    tyre_gap: float = 8.0
    crown_margin: float = 4.0
    steerer_above: float = 65.0


def fork(bicycle: Bicycle, sections: Mapping[str, Section], layout: ForkLayout) -> Structure:
    """Steerer, crown and blades. Raises BicycleError where the tyre finds no room."""
    if bicycle.front_hub is None or bicycle.front_wheel is None:
        raise BicycleError("front_hub and front_wheel are missing: the fork stands by them")
    geometry = bicycle.geometry
    at = geometry.nodes()
    race, axle = np.array(at["crown race seat"]), np.array(at["front axle"])
    up = np.array(geometry.steering_axis()[1])
    crown = race - sections["crown"].radius(0.0) * up
    _refuse_tyre(bicycle, crown, sections["crown"].radius(0.0))

    blade = sections["fork blade"]
    radius = blade.radius(0.0)
    across = bicycle.front_wheel.width / 2 + layout.tyre_gap + radius
    out = bicycle.front_hub.spacing / 2 + layout.dropout_thickness / 2
    length = float(np.linalg.norm(axle - crown)) - layout.blade_setback
    end = crown + (axle - crown) * length / (length + layout.blade_setback)
    tip = _point(end, out)
    aim = np.array(blade.aim(tip))
    slope = (aim[1] - across) / float(np.hypot(*(aim - crown)[[0, 2]]))
    under = across + sections["crown"].radius(0.0) * slope  # where the blade meets the crown
    half = max(across, under) + radius * float(np.hypot(1.0, slope)) + layout.crown_margin

    top = np.array(at["head tube, upper end"]) + layout.steerer_above * up
    tubes = [
        sections["crown"].tube("crown", _point(crown, -half), _point(crown, half)),
        sections["steerer"].tube("steerer", _point(crown), _point(top)),
    ]
    blades = blade.pair("fork blade", _point(crown, across), tip)
    tubes += blades
    joints = [cope(name, "start", "crown") for name in ("steerer", *(b.name for b in blades))]
    dropouts = {f"{side} front": _point(axle, sign * out) for side, sign in SIDES.items()}
    return Structure(tuple(tubes), tuple(joints), dropouts)


def _refuse_tyre(bicycle: Bicycle, crown: Array, radius: float) -> None:
    axle = np.array(bicycle.geometry.nodes()["front axle"])
    room = float(np.linalg.norm(axle - crown)) - radius
    tyre = bicycle.geometry["front_wheel_radius"]
    if room <= tyre:
        raise BicycleError(
            f"fork_length leaves {room:.1f} mm from the axle to the crown, the wheel needs "
            f"{tyre:.1f} mm: {tyre - room:.1f} mm short",
            "fork_length",
        )


def _point(middle: Array, across: float = 0.0) -> Point:
    return (float(middle[0]), across, float(middle[2]))
