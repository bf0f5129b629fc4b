"""The fork: a steerer onto a tubular crown that lies across it, and two blades under it.

The crown's upper side stands at the crown race seat. The blades run from the crown's axis to the
dropouts. Straight ones get the rake from their lean against the steerer. Raked ones leave the crown
along the steering axis and get it from one bend; any other axis is given by its corners.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from frame3d.bicycle.bicycle_error import BicycleError
from frame3d.bicycle.geometry import Bicycle
from frame3d.bicycle.structure import Section, Structure, cope
from frame3d.jobs.bicycle_tables import ForkLayout
from frame3d.model.tube import Bend, Point

Array = NDArray[np.float64]
SIDES = {"left": 1.0, "right": -1.0}


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
    out = bicycle.front_hub.between / 2 + layout.dropout_thickness / 2
    if layout.blade_bend_radius:
        blade, tip = _raked(blade, layout, crown, axle, up, (across, out))
    else:
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


@dataclass(frozen=True)
class Rake:
    """The side view of a raked blade. straight: from the crown's axis to the bend, tip: from the
    bend to the axle, mm; angle: of the bend, radians."""

    straight: float
    angle: float
    tip: float


def rake_of(along: float, rake: float, layout: ForkLayout) -> Rake:
    """The bend that brings a blade `rake` mm ahead, `along` mm down the steering axis.

    From where the bend begins, down and ahead, its centre stands at (0, R) and the axle at
    (D, rake). The tip touches the bend, so that with v from the centre to the axle, |v|^2 =
    tip^2 + R^2, and v leans by the bend's angle less atan(R / tip). Raises BicycleError where the
    blade is too short for it.
    """
    radius, setback = layout.blade_bend_radius, layout.blade_setback
    if layout.blade_straight:
        straight = layout.blade_straight
        square = (along - straight) ** 2 + rake**2 - 2 * radius * rake
        tip = float(np.sqrt(max(square, 0.0)))
        angle = float(np.arctan2(rake - radius, along - straight) + np.arctan2(radius, tip))
    else:
        tip = setback
        turn = (radius - rake) / np.hypot(radius, tip)
        angle = float(np.arccos(np.clip(turn, -1.0, 1.0)) - np.arctan2(tip, radius))
        straight = along - radius * np.sin(angle) - tip * np.cos(angle)
    if straight <= 0.0 or tip < setback - 1e-9 or not 0.0 <= angle < np.pi / 2:
        raise BicycleError(
            f"a bend of {radius:g} mm that begins {straight:.1f} mm from the crown does not bring "
            f"the blade to the axle: {rake:.1f} mm of rake on {along:.1f} mm along the steering "
            f"axis leave {tip - setback:.1f} mm of blade past the bend; give a smaller "
            f"blade_bend_radius or a shorter blade_straight",
            "fork",
        )
    return Rake(float(straight), angle, tip)


def rake_from_bend(layout: ForkLayout, fork_length: float, crown_radius: float) -> float:
    """The rake, mm, that a blade bent by so much at that place makes on a fork of this length.

    The axle is then at straight + R sin b + tip cos b down and R (1 - cos b) + tip sin b ahead of
    the crown's axis; fork_length, to the crown's upper side, gives the tip. Raises BicycleError.
    """
    radius, turn = layout.blade_bend_radius, np.radians(layout.blade_bend_angle)
    down = crown_radius + layout.blade_straight + radius * np.sin(turn)
    ahead = radius * (1 - np.cos(turn))
    half = down * np.cos(turn) + ahead * np.sin(turn)
    square = half**2 - (down**2 + ahead**2 - fork_length**2)
    tip = float(np.sqrt(max(square, 0.0)) - half)
    if tip < layout.blade_setback:
        raise BicycleError(
            f"the bend ends {layout.blade_setback - tip:.1f} mm past the blade's end on a fork of "
            f"{fork_length:g} mm; give a smaller blade_bend_radius or a shorter blade_straight",
            "fork",
        )
    return float(ahead + tip * np.sin(turn))


def _raked(
    blade: Section,
    layout: ForkLayout,
    crown: Array,
    axle: Array,
    up: Array,
    across: tuple[float, float],
) -> tuple[Section, Point]:
    """The left blade with its bend, and its end; across: from the middle at crown and end, mm."""
    if blade.bends:
        raise BicycleError(
            "bends is not expected: blade_bend_radius in [bicycle.fork] already bends the blades",
            "fork blade",
        )
    ahead = np.array([up[2], 0.0, -up[0]])
    along, rake = -float((axle - crown) @ up), float((axle - crown) @ ahead)
    found = rake_of(along, rake, layout)
    tip = axle + layout.blade_setback * (np.cos(found.angle) * up - np.sin(found.angle) * ahead)
    corner_down = found.straight + layout.blade_bend_radius * np.tan(found.angle / 2)
    share = corner_down / float((crown - tip) @ up)
    corner = _point(crown - corner_down * up, across[0] + share * (across[1] - across[0]))
    return replace(blade, bends=(Bend(corner, layout.blade_bend_radius),)), _point(tip, across[1])


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
