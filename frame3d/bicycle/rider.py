"""From a rider to a frame, and where a given frame puts a rider.

Points stand in the side view (x forward, z up), mm from the shell's centre. Angles are degrees.
"""

from collections.abc import Mapping
from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from frame3d.bicycle.bicycle_error import BicycleError, listed, unknown_key
from frame3d.quantities import parse_length

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Rider:
    """Where a rider touches the bicycle. Mm.

    saddle_height:  shell's centre straight to the saddle's reference point, the middle of its top
                    above the post's clamp
    saddle_setback: that point behind the shell's centre, level
    hands_above:    the hands above the shell's centre
    hands_ahead:    the hands ahead of the shell's centre
    """

    saddle_height: float
    saddle_setback: float
    hands_above: float
    hands_ahead: float


@dataclass(frozen=True)
class Cockpit:
    """What stands between the frame and the rider. Mm and degrees.

    stem_length:  steering axis to the middle of the bar's clamp, along the stem
    stem_angle:   the stem against a square to the steering axis, positive upwards (-17 is about
                  level, 0 square)
    stem_height:  the stem's clamp on the steerer, along it
    spacers:      between headset and stem
    upper_headset_stack: the head tube's upper end to the spacers
    bar_reach, bar_rise: the hands ahead of and above the middle of the bar's clamp
    post_setback: the saddle's reference point behind the seat tube's axis, square to it
    """

    stem_length: float
    stem_angle: float = 0.0
    stem_height: float = 40.0
    spacers: float = 0.0
    upper_headset_stack: float = 25.0
    bar_reach: float = 0.0
    bar_rise: float = 0.0
    post_setback: float = 0.0


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
    table: Mapping[str, object], upper_headset_stack: float | None = None
) -> tuple[Rider, Cockpit]:
    """Rider and cockpit from the keys of the two classes: lengths (mm or text), angle in degrees.

    upper_headset_stack: the headset's, where the table does not say. Raises BicycleError, with
    every key that is missing.
    """
    of_rider, of_cockpit = ([f.name for f in fields(kind)] for kind in (Rider, Cockpit))
    for key in table:
        if key not in (*of_rider, *of_cockpit):
            raise unknown_key(key, (*of_rider, *of_cockpit), "a rider")
    missing = [key for key in (*of_rider, "stem_length") if key not in table]
    if missing:
        raise BicycleError(f"a rider needs {listed(missing)} too", missing[0])
    values = {key: _number(key, value) for key, value in table.items()}
    if upper_headset_stack is not None:
        values.setdefault("upper_headset_stack", upper_headset_stack)
    rider = Rider(**{key: values[key] for key in of_rider})
    cockpit = Cockpit(**{key: values[key] for key in of_cockpit if key in values})
    _check(rider, cockpit)
    return rider, cockpit


def _check(rider: Rider, cockpit: Cockpit) -> None:
    if not abs(rider.saddle_setback) < rider.saddle_height:
        raise BicycleError(
            f"saddle_setback is {rider.saddle_setback:g} mm and saddle_height, the straight "
            f"distance from the shell, {rider.saddle_height:g} mm: expected more than the setback",
            "saddle_height",
        )
    if not -60 <= cockpit.stem_angle <= 60:
        raise BicycleError(
            f"stem_angle is {cockpit.stem_angle:g}, expected -60 to 60 degrees from square to the "
            f"steerer",
            "stem_angle",
        )
    for key in ("stem_height", "spacers", "upper_headset_stack"):
        if getattr(cockpit, key) < 0:
            raise BicycleError(f"{key} is {getattr(cockpit, key):g} mm, expected 0 or more", key)


def _number(key: str, value: object) -> float:
    try:
        if key == "stem_angle" and isinstance(value, str):
            raise ValueError(f'found "{value}", expected an angle: a number in degrees')
        return parse_length(value)
    except ValueError as error:
        raise BicycleError(f"{key}: {error}", key) from None


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
