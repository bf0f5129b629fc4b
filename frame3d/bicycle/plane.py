"""The frame seen from the side: plane trigonometry from sixteen numbers to every point and measure.

The functions take real or complex numbers: an imaginary part of 1e-30 in a number gives the exact
derivative by that number (Squire and Trapp, "Using complex variables to estimate derivatives of
real functions", SIAM Review 40 (1998) 110; from memory).
"""

from collections.abc import Mapping
from typing import Any

import numpy as np

from frame3d.tables import rows

Number = Any  # float or complex: numpy's functions take both
RADIANS = np.pi / 180  # per degree; np.radians refuses complex numbers
PlanePoint = tuple[Number, Number]

# Numbers that fix the whole side view, with nothing left over.
BASIS = (
    "rear_wheel_radius",
    "front_wheel_radius",
    "bb_drop",
    "chain_stay_length",
    "head_tube_angle",
    "rake",
    "fork_length",
    "lower_headset_stack",
    "head_tube_length",
    "reach",
    "seat_tube_angle",
    "seat_tube_length",
    "seat_tube_above_top_tube",
    "head_tube_above_top_tube",
    "head_tube_below_down_tube",
    "seat_stays_below_top_tube",
)

MEASURES = tuple(row["measure"] for row in rows("bicycle_measures"))


def points(basis: Mapping[str, Number]) -> dict[str, PlanePoint]:
    """Points (x, z) of the side view, mm from the shell's centre, from the numbers of BASIS."""
    b = basis
    head, seat = RADIANS * b["head_tube_angle"], RADIANS * b["seat_tube_angle"]
    up = (-np.cos(head), np.sin(head))  # along the steering axis
    ahead = (np.sin(head), np.cos(head))  # square to it
    along_seat = (-np.cos(seat), np.sin(seat))

    ground = b["bb_drop"] - b["rear_wheel_radius"]
    front_height = ground + b["front_wheel_radius"]
    fork_along = np.sqrt(b["fork_length"] ** 2 - b["rake"] ** 2)
    column = fork_along + b["lower_headset_stack"] + b["head_tube_length"]
    stack = front_height + column * up[1] - b["rake"] * ahead[1]

    top = (b["reach"], stack)
    bottom = _along(top, up, -b["head_tube_length"])
    race = _along(bottom, up, -b["lower_headset_stack"])
    front = _along(_along(race, up, -fork_along), ahead, b["rake"])
    rear = (-np.sqrt(b["chain_stay_length"] ** 2 - b["bb_drop"] ** 2), b["bb_drop"])
    to_top_tube = b["seat_tube_length"] - b["seat_tube_above_top_tube"]
    return {
        "shell": (0.0, 0.0),
        "rear axle": rear,
        "front axle": front,
        "rear tyre on the ground": (rear[0], ground),
        "front tyre on the ground": (front[0], ground),
        "crown race seat": race,
        "head tube, lower end": bottom,
        "head tube, upper end": top,
        "top tube on head tube": _along(top, up, -b["head_tube_above_top_tube"]),
        "down tube on head tube": _along(bottom, up, b["head_tube_below_down_tube"]),
        "seat tube, upper end": _along((0.0, 0.0), along_seat, b["seat_tube_length"]),
        "top tube on seat tube": _along((0.0, 0.0), along_seat, to_top_tube),
        "seat stays on seat tube": _along(
            (0.0, 0.0), along_seat, to_top_tube - b["seat_stays_below_top_tube"]
        ),
    }


def measures(basis: Mapping[str, Number]) -> dict[str, Number]:
    """Every measure of the table bicycle_measures, mm and degrees, from the numbers of BASIS."""
    at = points(basis)
    head, seat = RADIANS * basis["head_tube_angle"], RADIANS * basis["seat_tube_angle"]
    reach, stack = at["head tube, upper end"]
    top_front, top_rear = at["top tube on head tube"], at["top tube on seat tube"]
    rise = (top_front[1] - top_rear[1]) / (top_front[0] - top_rear[0])
    derived = {
        "shell_height": -at["rear tyre on the ground"][1],
        "wheelbase": at["front axle"][0] - at["rear axle"][0],
        "front_centre": _distance(at["shell"], at["front axle"]),
        "trail": trail(basis["front_wheel_radius"], head, basis["rake"]),
        "stack": stack,
        "effective_top_tube": reach + stack / np.tan(seat),
        "seat_tube_centre_to_centre": basis["seat_tube_length"] - basis["seat_tube_above_top_tube"],
        "top_tube_length": _distance(top_front, top_rear),
        "top_tube_slope": np.arctan(rise) / RADIANS,
        "down_tube_length": _distance(at["shell"], at["down tube on head tube"]),
    }
    return {**{key: basis[key] for key in BASIS}, **derived}


def trail(wheel_radius: Number, head: Number, rake: Number) -> Number:
    """Trail on the ground, mm, of a wheel and rake (mm) at a head angle (radians).

    (R cos H - rake) / sin H; Meijaard et al., Proc. R. Soc. A 463 (2007) 1955, in other letters.
    """
    return (wheel_radius * np.cos(head) - rake) / np.sin(head)


def _along(start: PlanePoint, unit: PlanePoint, length: Number) -> PlanePoint:
    return (start[0] + length * unit[0], start[1] + length * unit[1])


def _distance(a: PlanePoint, b: PlanePoint) -> Number:
    return np.sqrt((a[0] - b[0]) ** 2 + (a[1] - b[1]) ** 2)
