"""How a frame steers and stands, and what the jig is set to."""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from frame3d.bicycle.geometry import Geometry
from frame3d.model.tube import Point, Tube
from frame3d.model.tube_section import half_height

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Handling:
    """All mm.

    trail:            the front tyre's contact behind the steering axis, on the ground
    mechanical_trail: the same square to the steering axis: trail sin H
    wheel_flop:       trail sin H cos H, how far the front end sinks in a full turn, to first order
                      (the usual handling figure; from memory)
    standover:        None until the top tube is picked
    """

    trail: float
    mechanical_trail: float
    wheel_flop: float
    wheelbase: float
    front_centre: float
    shell_height: float
    standover: float | None = None


@dataclass(frozen=True)
class HeadAndFork:
    """Mm. fork_along: axle to crown race seat along the steering axis; head_to_axle: the head
    tube's lower end to the axle's foot, along the axis; bore figures stand in parts.Headset.
    blade_...: of a raked blade along its axis, the bend in degrees; None of others."""

    head_tube_length: float
    lower_headset_stack: float
    fork_length: float
    fork_along: float
    rake: float
    head_to_axle: float
    blade_length: float | None = None
    blade_straight: float | None = None
    blade_bend_radius: float | None = None
    blade_bend_angle: float | None = None
    blade_past_bend: float | None = None


@dataclass(frozen=True)
class JigTable:
    """What a jig is set to. nodes: mm from the shell's centre; angles: degrees; lengths: mm, centre
    to centre."""

    nodes: dict[str, Point]
    angles: dict[str, float]
    lengths: dict[str, float]


def handling(geometry: Geometry) -> Handling:
    head = np.radians(geometry["head_tube_angle"])
    trail = geometry["trail"]
    return Handling(
        trail=trail,
        mechanical_trail=float(trail * np.sin(head)),
        wheel_flop=float(trail * np.sin(head) * np.cos(head)),
        wheelbase=geometry["wheelbase"],
        front_centre=geometry["front_centre"],
        shell_height=geometry["shell_height"],
    )


def head_and_fork(geometry: Geometry) -> HeadAndFork:
    along = float(np.sqrt(geometry["fork_length"] ** 2 - geometry["rake"] ** 2))
    return HeadAndFork(
        head_tube_length=geometry["head_tube_length"],
        lower_headset_stack=geometry["lower_headset_stack"],
        fork_length=geometry["fork_length"],
        fork_along=along,
        rake=geometry["rake"],
        head_to_axle=along + geometry["lower_headset_stack"],
    )


def standover(top_tube: Tube, shell_height: float) -> float:
    """Ground to the top tube's upper side, mm, straight above the middle of the tube's axis.

    Where along the tube it is measured is common practice, no source.
    """
    middle = top_tube.length / 2
    (place,), (along,), _ = top_tube.centreline.at(middle)
    upper = half_height(top_tube, middle, 0.0) / np.hypot(along[0], along[1])
    return float(place[2] + upper + shell_height)


# Axes of a diamond frame in the side view, each by its lower or rear node and its other one.
AXES = {
    "head tube": ("head tube, lower end", "head tube, upper end"),
    "top tube": ("top tube on seat tube", "top tube on head tube"),
    "down tube": ("shell", "down tube on head tube"),
    "seat tube": ("shell", "seat tube, upper end"),
    "chain stays": ("rear axle", "shell"),
    "seat stays": ("rear axle", "seat stays on seat tube"),
}
_MEETING = (
    ("top tube", "head tube"),
    ("down tube", "head tube"),
    ("top tube", "seat tube"),
    ("seat stays", "seat tube"),
    ("down tube", "seat tube"),
    ("chain stays", "seat tube"),
    ("chain stays", "seat stays"),
    ("down tube", "chain stays"),
)


# Measures of a tube's axis that its own start and end take the place of: its angle and its length.
OWN_MEASURES = {
    "head tube": ("head_tube_angle", "head_tube_length"),
    "seat tube": ("seat_tube_angle", "seat_tube_length"),
}
MOVED_MM = 0.005  # an end that stands farther from its node than this has a place of its own


def own_axes(geometry: Geometry, tubes: Mapping[str, Tube]) -> dict[str, Tube]:
    """The main tubes that stand elsewhere than the numbers have them, by `start` and `end` of their
    own."""
    nodes = geometry.nodes()

    def moved(name: str, tube: Tube) -> bool:
        off = np.subtract((tube.start, tube.end), [nodes[node] for node in AXES[name]])
        return bool((np.hypot(off[:, 0], off[:, 2]) > MOVED_MM).any())

    return {name: tube for name, tube in tubes.items() if name in AXES and moved(name, tube)}


def own_measures(geometry: Geometry, tubes: Mapping[str, Tube]) -> dict[str, float]:
    """What the measures of such tubes come to on their own axes, mm and degrees."""
    found: dict[str, float] = {}
    for name, tube in own_axes(geometry, tubes).items():
        if name in OWN_MEASURES:
            span = np.subtract(tube.end, tube.start)[[0, 2]]
            angle, length = OWN_MEASURES[name]
            found |= {angle: _to_ground(span), length: float(np.hypot(*span))}
    return found


def jig_table(geometry: Geometry, tubes: Mapping[str, Tube] = MappingProxyType({})) -> JigTable:
    """The jig's settings: axes against the ground and against those they meet, in the side view,
    each angle from 0 to 90 degrees as between two lines. tubes: by name; those with an axis of
    their own are clamped on it."""
    nodes = geometry.nodes()
    own = own_axes(geometry, tubes)
    for name, tube in own.items():
        for node, place in zip(AXES[name], (tube.start, tube.end), strict=True):
            nodes[f"{name}, lower end" if node == "shell" else node] = place
    spans = {
        name: np.subtract(own[name].end, own[name].start)[[0, 2]]
        if name in own
        else np.subtract(nodes[end], nodes[start])[[0, 2]]
        for name, (start, end) in AXES.items()
    }
    angles = {f"{name}, ground": _to_ground(span) for name, span in spans.items()}
    for one, other in _MEETING:
        angles[f"{one}, {other}"] = _between(spans[one], spans[other])
    lengths = {name: float(np.linalg.norm(span)) for name, span in spans.items()}
    return JigTable(nodes, angles, lengths)


def _to_ground(span: Array) -> float:
    return float(np.degrees(np.arctan2(abs(span[1]), abs(span[0]))))


def _between(a: Array, b: Array) -> float:
    """The angle between two axes, degrees, above 0 and at most 90."""
    turn = a[0] * b[1] - a[1] * b[0]
    return float(np.degrees(np.arctan2(abs(turn), abs(a @ b))))
