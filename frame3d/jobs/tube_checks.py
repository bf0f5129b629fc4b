"""What must hold within one tube: a wall that leaves a bore, an axis that holds its bends."""

from collections.abc import Callable
from itertools import pairwise
from typing import NoReturn

import numpy as np

from frame3d.jobs.locate import KeyPath
from frame3d.model import Tube

LEAST_LENGTH_MM = 1.0
SAME_PLACE_MM = 0.001  # an axis between rounded points is as long as was meant to a micrometre
BETWEEN = 33  # places from station to station where an oval's wall is looked at

# refuse(path below the tube, problem)
Refuse = Callable[[KeyPath, str], NoReturn]


def check_section(tube: Tube, refuse: Refuse) -> None:
    """The wall must leave a bore everywhere. Its axis may still be unknown."""
    profiles = [tube.od, tube.wall, *([tube.oval.across] if tube.oval else [])]
    marks = np.unique(np.concatenate([profile.at for profile in profiles]))
    inner = [np.linspace(low, high, BETWEEN) for low, high in pairwise(marks)]
    # Just before and just past a station too, where there may be a step.
    sides = [np.nextafter(marks, -np.inf), np.nextafter(marks, np.inf)]
    at = np.concatenate([marks, *sides, *inner])
    wall, radius = tube.wall(at), tube.od(at) / 2
    if tube.oval is None:
        room, what = radius, "the radius of {:g} mm"
    else:
        # Where an ellipse bends most, at the ends of its longer axis, its radius is short^2 / long.
        other = tube.oval.across(at) / 2
        room = np.minimum(radius, other) ** 2 / np.maximum(radius, other)
        what = "{:g} mm, the least radius of the oval there"
    worst = int(np.argmax(wall - room))
    if wall[worst] >= room[worst]:
        place = f" at {at[worst]:.4g} mm from start" if len(marks) > 1 else ""
        found = f"found {wall[worst]:g} mm{place}"
        refuse(("wall",), f"{found}, expected less than {what.format(round(room[worst], 3))}")


def check_axis(tube: Tube, refuse: Refuse) -> None:
    """The axis must be long enough for its bends and for all stations along it."""
    points = [tube.start, *(bend.corner for bend in tube.bends), tube.end]
    spans = np.linalg.norm(np.diff(points, axis=0), axis=1)
    if spans.sum() < LEAST_LENGTH_MM:
        problem = f"found an axis of {spans.sum():g} mm from start"
        refuse(("end",), f"{problem}, expected {LEAST_LENGTH_MM:g} or more")
    for number, bend in enumerate(tube.bends):
        if bend.radius <= tube.widest:
            refuse(
                ("bends", number, "radius"),
                f"found {bend.radius:g} mm, expected more than the {tube.widest:g} mm that the "
                f"tube stands from its axis",
            )
    try:
        length = tube.length
    except ValueError as error:
        refuse(("bends",), str(error))
    if tube.raw is not None:
        return  # stations run along the raw tube, which may be longer; the trim plan tells
    keys: list[tuple[KeyPath, tuple[float, ...]]] = [
        (("od",), tube.od.at),
        (("wall",), tube.wall.at),
    ]
    if tube.oval:
        keys.append((("oval", "across"), tube.oval.across.at))
    for path, stations in keys:
        for at in stations:
            if not 0 <= at <= length + SAME_PLACE_MM:
                expected = f"expected 0 to {length:g} mm, the axis's length"
                refuse(path, f"found a station at {at:g} mm, {expected}")
