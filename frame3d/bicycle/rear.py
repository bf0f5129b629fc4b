"""The rear triangle: stays from the dropouts to shell and seat tube, and the bridges between them.

Chain stays stand as wide on the shell as its width lets them. Seat stays land on the back of the
seat tube side by side, their axes offset to either side of its axis just so far that left and right
do not touch. All stays end square, short of the axle, in the middle of the dropout plates.
"""

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from frame3d.bicycle.bicycle_error import BicycleError
from frame3d.bicycle.geometry import Bicycle
from frame3d.bicycle.structure import Section, Structure, cope, share_metal
from frame3d.jobs.bicycle_tables import RearLayout
from frame3d.model.frame import Joint
from frame3d.model.tube import Point, Tube

Array = NDArray[np.float64]
SIDES = {"left": 1.0, "right": -1.0}

# What is left of a tube beside a footprint, so that no line of the stay misses its mate. Mm.
_LEAST_SIDE = 0.2
_TOLD = 0.01  # to what a refusal tells a length, so that none is told to be 0 too much


def rear_triangle(
    bicycle: Bicycle, sections: Mapping[str, Section], shell: Tube, seat: Tube, layout: RearLayout
) -> Structure:
    """Stays and bridges. Raises BicycleError where they have no room."""
    if bicycle.rear_hub is None or bicycle.shell is None:
        raise BicycleError("rear_hub and shell are missing: the stays stand by them", "rear_hub")
    out = bicycle.rear_hub.between / 2 + layout.dropout_thickness / 2
    tubes: list[Tube] = []
    joints: list[Joint] = []
    for kind, place in (("chain stay", _chain_stay), ("seat stay", _seat_stay)):
        if kind not in sections:
            continue
        start, end = place(bicycle, sections[kind], shell, seat, layout, out)
        left, right = sections[kind].pair(kind, start, end)
        onto = ["shell" if kind == "chain stay" else "seat tube"]
        if kind == "chain stay" and share_metal(left, seat, shell):
            onto.append("seat tube")
        tubes += [left, right]
        joints += [cope(stay.name, "start", *onto) for stay in (left, right)]
        if f"{kind} bridge" in sections:
            bridge = _bridge(bicycle, sections[f"{kind} bridge"], kind, left, layout)
            _refuse_crowded(bridge, shell if kind == "chain stay" else seat)
            tubes.append(bridge)
            joints.append(cope(bridge.name, "start", f"left {kind}"))
            joints.append(cope(bridge.name, "end", f"right {kind}"))
    axle = bicycle.geometry.nodes()["rear axle"]
    dropouts = {f"{side} rear": (axle[0], sign * out, axle[2]) for side, sign in SIDES.items()}
    return Structure(tuple(tubes), tuple(joints), dropouts)


def _chain_stay(
    bicycle: Bicycle, section: Section, shell: Tube, seat: Tube, layout: RearLayout, out: float
) -> tuple[Point, Point]:
    """Axis of the left chain stay: from over the shell's axis to the dropout.

    The outer edge of the footprint, at the back of the shell, keeps the margin: there, in the plan
    of the stays, the line at radius r beside the axis stands at y + R tan(a) + r / cos(a).
    """
    x, _, z = bicycle.geometry.nodes()["rear axle"]
    share = 1 - layout.chain_stay_setback / bicycle.geometry["chain_stay_length"]
    end = (x * share, out, z * share)
    aim = section.aim(end)
    length = float(np.hypot(aim[0], aim[2]))
    room = shell.length / 2 - layout.shell_margin
    back, radius = float(shell.od(0.0)) / 2, section.radius(0.0)
    across = 0.0
    for _ in range(50):
        slope = (aim[1] - across) / length
        across = room - back * slope - radius * np.hypot(1.0, slope)
    short = radius + layout.stay_gap / 2 - across
    if short > 0:
        gap, told = layout.stay_gap, np.ceil(100 * short) / 100
        problem = (
            f"chain stays of {2 * radius:g} mm find no room side by side on a shell "
            f"{shell.length:g} mm wide: {told:g} mm short a side, with stay_gap = {gap:g} between "
            f"them and shell_margin = {layout.shell_margin:g} beside"
        )
        if 2 * told <= gap:
            remedy = f"stay_gap = {np.floor(100 * (gap - 2 * told)) / 100:g} or less would do"
            raise BicycleError(f"{problem}; {remedy}", "stay_gap")
        raise BicycleError(f"{problem}; take thinner stays or a wider shell", "chain stay")
    return (0.0, float(across), 0.0), end


def _seat_stay(
    bicycle: Bicycle, section: Section, shell: Tube, seat: Tube, layout: RearLayout, out: float
) -> tuple[Point, Point]:
    """Axis of the left seat stay: from beside the seat tube's axis to the dropout.

    Where the stay's inner line comes to the seat tube's back, R / sin(g) along the stay as seen
    from the side, with g between the two, it stands half the gap from the middle plane.
    """
    at = bicycle.geometry.nodes()
    high, axle = np.array(at["seat stays on seat tube"]), np.array(at["rear axle"])
    last = axle - layout.seat_stay_setback * (axle - high) / np.linalg.norm(axle - high)
    end = (float(last[0]), out, float(last[2]))
    aim = section.aim(end)
    span = (np.array(aim) - high) * [1.0, 0.0, 1.0]
    length = float(np.linalg.norm(span))
    unit = span / length
    along = np.subtract(seat.end, seat.start) / seat.length
    sine = float(np.linalg.norm(np.cross(unit, along)))
    radius, mate = section.radius(0.0), float(seat.od(seat.length)) / 2
    across = 0.0
    for _ in range(50):
        slope = (aim[1] - across) / length
        across = layout.stay_gap / 2 + radius * np.hypot(1.0, slope) - mate / sine * slope
    across = max(across, 0.0)
    direction = np.array([span[0], aim[1] - across, span[2]])
    square = np.cross(direction, along)
    offset = across * abs(square[1]) / float(np.linalg.norm(square))
    outer, most = offset + radius, mate - _LEAST_SIDE
    if outer > most + _TOLD / 2:
        raise BicycleError(
            f"seat stays of {2 * radius:g} mm do not both land on a seat tube of {2 * mate:g} mm: "
            f"{layout.stay_gap:g} mm apart at its back, leaning in as they run on, their outermost "
            f"lines pass its axis at {outer:.2f} mm; {most:.2f} mm is the most, its radius less "
            f"{_LEAST_SIDE:g}: {outer - most:.2f} mm too far out; take thinner stays, or ones "
            f"tapered towards the seat tube",
            "seat stay",
        )
    return (float(high[0]), float(across), float(high[2])), end


def _bridge(bicycle: Bicycle, section: Section, kind: str, stay: Tube, layout: RearLayout) -> Tube:
    """From the left stay's axis to the right one's, bridge_gap from the tyre."""
    axle = np.array(bicycle.geometry.nodes()["rear axle"])
    from_axle = bicycle.geometry["rear_wheel_radius"] + layout.bridge_gap + section.radius(0.0)

    def beyond(station: float) -> float:
        x, _, z = stay.centreline.at(station)[0][0] - axle
        return float(np.hypot(x, z)) - from_axle

    joint = beyond(0.0)
    if joint <= 0:
        raise BicycleError(
            f"a {kind} bridge of {2 * section.radius(0.0):g} mm finds no room: it would stand "
            f"{from_axle:.1f} mm from the axle, the stay's joint stands at "
            f"{joint + from_axle:.1f} mm; leave it out, or lengthen the stays",
            f"{kind} bridge",
        )
    low, high = 0.0, stay.length
    while low < (middle := (low + high) / 2) < high:
        low, high = (middle, high) if beyond(middle) > 0 else (low, middle)
    x, y, z = stay.centreline.at(low)[0][0].tolist()
    return section.tube(f"{kind} bridge", (x, y, z), (x, -y, z))


def _refuse_crowded(bridge: Tube, mate: Tube) -> None:
    """A bridge that reaches into the tube that the stays meet."""
    axis = np.subtract(mate.end, mate.start) / mate.length
    middle = np.array([bridge.start[0], 0.0, bridge.start[2]]) - mate.start
    between = float(np.linalg.norm(middle - (middle @ axis) * axis))
    room = between - float(bridge.od(0.0) + mate.od(middle @ axis)) / 2
    if room < 1.0:
        raise BicycleError(
            f"the {bridge.name} finds no room between tyre and {mate.name}: {1.0 - room:.1f} mm "
            f"short; leave it out, or lengthen the stays",
            bridge.name,
        )
