"""From a rider to a frame, and where a given frame puts a rider.

Points stand in the side view (x forward, z up), mm from the shell's centre. Angles are degrees.
"""

from dataclasses import dataclass, fields, replace

import numpy as np
from numpy.typing import NDArray

from frame3d.bicycle.bicycle_error import BicycleError
from frame3d.jobs.bicycle_tables import RiderTable
from frame3d.model.rider import Cockpit, Rider

Array = NDArray[np.float64]


@dataclass(frozen=True)
class FitPoints:
    """Where a frame must be to carry a rider: stack and reach, mm, and the seat tube's angle."""

    stack: float
    reach: float
    seat_tube_angle: float


def fit_points(rider: Rider, cockpit: Cockpit, head_tube_angle: float) -> FitPoints:
    """Stack, reach and seat tube angle of the frame that puts this rider in place."""
    clamp = np.array([rider.hands_ahead - cockpit.bar_reach, rider.hands_above - cockpit.bar_rise])
    reach, stack = clamp - _head_tube_to_bar(cockpit, head_tube_angle)
    return FitPoints(float(stack), float(reach), _seat_angle(rider, cockpit))


def place_rider(
    stack: float,
    reach: float,
    head_tube_angle: float,
    seat_tube_angle: float,
    cockpit: Cockpit,
    saddle_height: float,
) -> Rider:
    """Where a frame, with this cockpit and the saddle at this height, puts the rider."""
    clamp = np.array([reach, stack]) + _head_tube_to_bar(cockpit, head_tube_angle)
    if saddle_height <= abs(cockpit.post_setback):
        raise BicycleError(
            f"saddle_height is {saddle_height:g} mm, expected more than the post's setback of "
            f"{cockpit.post_setback:g} mm",
            "saddle_height",
        )
    to_saddle = np.radians(seat_tube_angle) - np.arcsin(cockpit.post_setback / saddle_height)
    return Rider(
        saddle_height=saddle_height,
        saddle_setback=float(saddle_height * np.cos(to_saddle)),
        hands_above=float(clamp[1] + cockpit.bar_rise),
        hands_ahead=float(clamp[0] + cockpit.bar_reach),
    )


def stem_for(
    rider: Rider, cockpit: Cockpit, stack: float, reach: float, head_tube_angle: float
) -> tuple[float, float]:
    """Stem length and spacers, mm, that put the rider's hands in place on a given frame.

    Everything else is the cockpit's; spacers below 0 mean that the frame is too tall for it.
    """
    up, ahead = _steering(head_tube_angle)
    needed = np.array(
        [rider.hands_ahead - cockpit.bar_reach, rider.hands_above - cockpit.bar_rise]
    ) - [reach, stack]
    angle = np.radians(cockpit.stem_angle)
    length = (needed @ ahead) / np.cos(angle)
    spacers = (
        needed @ up - length * np.sin(angle) - cockpit.upper_headset_stack - cockpit.stem_height / 2
    )
    return float(length), float(spacers)


def steerer_above_head_tube(cockpit: Cockpit) -> float:
    """What the steerer must stand above the head tube, mm: headset, spacers and stem clamp."""
    return cockpit.upper_headset_stack + cockpit.spacers + cockpit.stem_height


def read_rider(
    table: RiderTable, upper_headset_stack: float | None = None
) -> tuple[Rider, Cockpit]:
    """Rider and cockpit of a table. upper_headset_stack: the headset's, where the table does not
    say. Raises BicycleError for numbers that place no rider.
    """
    of_rider, of_cockpit = ({f.name for f in fields(kind)} for kind in (Rider, Cockpit))
    rider = Rider(**table.model_dump(include=of_rider))
    cockpit = Cockpit(**table.model_dump(include=of_cockpit))
    if upper_headset_stack is not None and "upper_headset_stack" not in table.model_fields_set:
        cockpit = replace(cockpit, upper_headset_stack=upper_headset_stack)
    _check(rider, cockpit)
    return rider, cockpit


def _check(rider: Rider, cockpit: Cockpit) -> None:
    if not abs(rider.saddle_setback) < rider.saddle_height:
        raise BicycleError(
            f"saddle_setback is {rider.saddle_setback:g} mm and saddle_height, the straight "
            f"distance from the shell, {rider.saddle_height:g} mm: expected more than the setback",
            "saddle_height",
        )
    for key in ("stem_height", "spacers", "upper_headset_stack"):
        if getattr(cockpit, key) < 0:
            raise BicycleError(f"{key} is {getattr(cockpit, key):g} mm, expected 0 or more", key)


def _seat_angle(rider: Rider, cockpit: Cockpit) -> float:
    """The seat tube's axis passes post_setback in front of the saddle's reference point."""
    if abs(cockpit.post_setback) >= rider.saddle_height:
        raise BicycleError(
            f"post_setback is {cockpit.post_setback:g} mm, expected less than the saddle's height",
            "post_setback",
        )
    to_saddle = np.arccos(rider.saddle_setback / rider.saddle_height)
    return float(np.degrees(to_saddle + np.arcsin(cockpit.post_setback / rider.saddle_height)))


def _head_tube_to_bar(cockpit: Cockpit, head_tube_angle: float) -> Array:
    """From the head tube's upper end to the middle of the bar's clamp, (2,)."""
    up, ahead = _steering(head_tube_angle)
    angle = np.radians(cockpit.stem_angle)
    along = (
        cockpit.upper_headset_stack
        + cockpit.spacers
        + cockpit.stem_height / 2
        + cockpit.stem_length * np.sin(angle)
    )
    return np.asarray(along * up + cockpit.stem_length * np.cos(angle) * ahead)


def _steering(head_tube_angle: float) -> tuple[Array, Array]:
    """Unit vectors (2,) along the steering axis, upwards, and square to it, forwards."""
    head = np.radians(head_tube_angle)
    return np.array([-np.cos(head), np.sin(head)]), np.array([np.sin(head), np.cos(head)])
