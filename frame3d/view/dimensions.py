"""Dimensions of tubes and of a bicycle, and the nodes where axes cross."""

from typing import Any

import numpy as np

from frame3d.bicycle.facts import BicycleFacts
from frame3d.mill.jig import jig
from frame3d.model import Frame, Tube, axis_at, direction, end_frame
from frame3d.surfaces.cope import Copes
from frame3d.view.scene import Dimension, Node

ASIDE_MM = 14.0  # from a tube's side to its dimension line
CLEAR_MM = 40.0  # from the frame, or the ground, to a dimension line of the bicycle
SAME_MM = 0.5  # crossings of one tube nearer than this share a label


def tube_dimension(tube: Tube, copes: Copes, length: float) -> Dimension:
    """The finished length of a tube, mm, tip to tip."""
    ends = []
    for end in ("start", "end"):
        at = end_frame(tube, end)
        cope = copes.get((tube.name, end))
        reach = cope.tip.value if cope else 0.0
        ends.append(at.origin + (reach if np.isfinite(reach) else 0.0) * at.out)
    axis = direction(tube)
    aside = np.array([-axis[2], 0.0, axis[0]])  # square to the axis as seen from the side
    size = np.linalg.norm(aside)
    aside = aside / size if size > 0.3 else np.array([0.0, 0.0, 1.0])
    aside = aside if aside[2] >= 0 else -aside
    aside = aside * (max(tube.od.value) / 2 + ASIDE_MM)
    a, b = ends
    label = "along its bends" if tube.bends else ""
    return Dimension(label, f"{length:.1f}", _point(a), _point(b), _point(aside))


def bicycle_dimensions(facts: BicycleFacts) -> tuple[Dimension, ...]:
    """The measures of a [bicycle] that are straight lines seen from the side."""
    values, nodes = facts.geometry, facts.jig.nodes
    shell, rear, front = (nodes[name] for name in ("shell", "rear axle", "front axle"))
    head = nodes["head tube, upper end"]
    ground = -values["shell_height"]
    corner = (shell[0], 0.0, head[2])
    below = ground - rear[2] - CLEAR_MM
    ahead = CLEAR_MM + head[0]
    lines = (
        ("wheelbase", "wheelbase", (rear[0], 0, rear[2]), (front[0], 0, rear[2]), (0, 0, below)),
        ("stack", "stack", shell, corner, (ahead, 0, 0)),
        ("reach", "reach", corner, head, (0, 0, CLEAR_MM)),
        ("chain stay", "chain_stay_length", rear, shell, (0, 0, -2 * CLEAR_MM)),
        ("BB drop", "bb_drop", shell, (0, 0, rear[2]), (3 * CLEAR_MM, 0, 0)),
        ("shell height", "shell_height", (0, 0, ground), shell, (CLEAR_MM, 0, 0)),
    )
    return tuple(
        Dimension(name, f"{values[key]:.1f}", _point(a), _point(b), _point(aside))
        for name, key, a, b, aside in lines
        if abs(values[key]) > 1.0
    )


def nodes_of(frame: Frame) -> tuple[Node, ...]:
    """The crossings of the jig table: each mate with the tubes that meet it there."""
    met: dict[str, list[tuple[Any, list[str]]]] = {}
    for joint in jig(frame)[1]:
        at = axis_at(frame.tube(joint.onto), joint.at)[0]
        crossings = met.setdefault(joint.onto, [])
        near = [tubes for place, tubes in crossings if np.linalg.norm(place - at) < SAME_MM]
        if near:
            near[0].append(joint.tube)
        else:
            crossings.append((at, [joint.tube]))
    return tuple(
        Node(f"{mate} × {', '.join(tubes)}", _point(at))
        for mate, crossings in met.items()
        for at, tubes in crossings
    )


def _point(values: Any) -> tuple[float, float, float]:
    x, y, z = (float(value) for value in values)
    return x, y, z
