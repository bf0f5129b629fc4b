"""Whether headset, bottom bracket, seat post, steerer and hubs fit the tubes and plates picked."""

from collections.abc import Iterable, Iterator, Mapping

import numpy as np
from numpy.typing import NDArray

from frame3d.bicycle.bought_parts import Hub
from frame3d.bicycle.geometry import Bicycle
from frame3d.model import AxleSlot, PartFit, Plate, Tube
from frame3d.tables import row

Array = NDArray[np.float64]
STEP_MM = 0.5
ROUNDING_MM = 1e-6
ACROSS, ON_AXLE_MM = 0.99, 0.5  # a plate that stands across, with its slot about the axle


def part_fits(
    bicycle: Bicycle, tubes: Iterable[Tube], plates: Iterable[Plate] = ()
) -> tuple[PartFit, ...]:
    """Every named part against its tube, as far as that is picked, and hubs against the plates in
    which their axles lie."""
    nodes = bicycle.geometry.nodes()
    hubs = (("rear axle", bicycle.rear_hub), ("front axle", bicycle.front_hub))
    dropouts = [
        fit for at, hub in hubs if hub for fit in _in_dropouts(hub, np.array(nodes[at]), plates)
    ]
    return (*_all(bicycle, {tube.name: tube for tube in tubes}), *dropouts)


def _all(bicycle: Bicycle, named: Mapping[str, Tube]) -> Iterator[PartFit]:
    headset, shell, post = bicycle.headset, bicycle.shell, bicycle.seat_post
    if headset is not None and (head := named.get("head tube")) is not None:
        least = headset.least_wall
        yield _in_bore("headset", "lower cup", head, "start", headset.lower_bore, least)
        yield _in_bore("headset", "upper cup", head, "end", headset.upper_bore, least)
    if headset is not None and (steerer := named.get("steerer")) is not None:
        yield _on_steerer(steerer, headset.steerer)
    if shell is not None and (tube := named.get("shell")) is not None:
        for side, end in (("left", "start"), ("right", "end")):
            if tube.start[1] < tube.end[1]:
                side = {"left": "right", "right": "left"}[side]
            yield _in_bore("shell", f"bottom bracket, {side}", tube, end, shell.bore, 0.0)
    if post is not None and (seat := named.get("seat tube")) is not None:
        yield _in_bore("seat_post", f"seat post {post.diameter:g}", seat, "end", post.bore, 0.0)


def _in_bore(
    kind: str, part: str, tube: Tube, end: str, wanted: float, least_wall: float
) -> PartFit:
    """A part that goes into the bore from one end of a tube."""
    table = row("bore_fits", kind)
    too_big, too_small, ream, deep = (
        float(table[key]) for key in ("too_big_mm", "too_small_mm", "ream_mm", "deep_mm")
    )
    inward, bore = _bores(tube, end)
    found, wall = float(bore[0]), float(tube.wall(0.0 if end == "start" else tube.length))
    reasons, notes = [], []
    over = found - wanted
    if over > too_big + ROUNDING_MM:
        reasons.append(
            f"the bore is {over:.2f} mm too big: {found:.2f} mm, wanted are {wanted:.2f} mm"
        )
    elif -over > ream + ROUNDING_MM:
        reasons.append(
            f"the bore is {-over:.2f} mm too small: {found:.2f} mm, wanted are {wanted:.2f} mm; a "
            f"reamer takes {ream:g} mm at most"
        )
    elif -over > too_small + ROUNDING_MM:
        left = wall + over / 2
        notes.append(
            f"ream {-over:.2f} mm out of the bore, to {wanted:.2f} mm; that leaves a wall of "
            f"{left:.3f} mm"
        )
        if left < least_wall - ROUNDING_MM:
            reasons.append(
                f"reamed, the wall would be {left:.3f} mm, thinner than the {least_wall:g} mm that "
                f"the part wants"
            )
    if reasons:
        return PartFit(part, tube.name, wanted, found, None, tuple(reasons), tuple(notes))
    passing = _until(inward, bore >= wanted - too_small - ROUNDING_MM)
    reamed = passing < deep - STEP_MM
    if reamed:
        passing = _until(inward, bore >= wanted - max(ream, too_small) - ROUNDING_MM)
    held = _until(inward, bore <= wanted + too_big + ROUNDING_MM)
    if passing < deep - STEP_MM:
        reasons.append(
            f"the bore is too small for it from {passing:.0f} mm down; it wants {deep:.0f} mm"
        )
    elif held < deep - STEP_MM:
        reasons.append(
            f"the bore holds it over {held:.0f} mm only, and is too big from there; it wants "
            f"{deep:.0f} mm"
        )
    elif kind == "seat_post":
        takes = "where it is reamed, the bore takes" if reamed else "the bore takes"
        notes.append(
            f"{takes} it up to {passing:.0f} mm deep, and holds it over {min(held, passing):.0f} "
            f"mm; it must go in {deep:g} mm at least, and as far as its own mark"
        )
    depth = passing if kind == "seat_post" else None
    return PartFit(part, tube.name, wanted, found, depth, tuple(reasons), tuple(notes))


def _on_steerer(steerer: Tube, wanted: float) -> PartFit:
    table = row("bore_fits", "steerer")
    found = float(steerer.od(steerer.length))
    over, reasons = found - wanted, []
    if over > float(table["too_big_mm"]) + ROUNDING_MM:
        reasons.append(f"its outside is {over:.2f} mm too big for the headset's {wanted:g} mm")
    if -over > float(table["too_small_mm"]) + ROUNDING_MM:
        reasons.append(f"its outside is {-over:.2f} mm too small for the headset's {wanted:g} mm")
    return PartFit("headset, steerer", steerer.name, wanted, found, None, tuple(reasons))


def _in_dropouts(hub: Hub, axle: Array, plates: Iterable[Plate]) -> Iterator[PartFit]:
    """A hub between two plates across the bicycle that have a slot or hole about its axle."""
    found: dict[float, tuple[Plate, AxleSlot]] = {}
    for plate in plates:
        for slot in plate.slots:
            place = plate.at + slot.u * np.asarray(plate.u) + slot.v * np.asarray(plate.v)
            if abs(plate.normal[1]) > ACROSS and np.hypot(*(place - axle)[[0, 2]]) < ON_AXLE_MM:
                found[float(np.sign(plate.at[1]))] = plate, slot
    if not {1.0, -1.0} <= set(found):
        return
    (left, _), (right, _) = found[1.0], found[-1.0]
    inside = left.at[1] - right.at[1] - (left.thickness + right.thickness) / 2
    names = f"{left.name}, {right.name}"
    yield _fitting("hub", f"{hub.end} hub {hub.name}", names, hub.between, float(inside))
    for plate, slot in (found[1.0], found[-1.0]):
        part = f"{hub.end} axle {hub.axle:g}"
        yield _fitting("axle", part, plate.name, hub.axle, slot.width)


def _fitting(kind: str, part: str, name: str, wanted: float, found: float) -> PartFit:
    """A width that must be the wanted one within the table's limits."""
    table = row("bore_fits", kind)
    over, told = found - wanted, f"{found:.2f} mm, wanted are {wanted:.2f} mm"
    reasons: tuple[str, ...] = ()
    if over > float(table["too_big_mm"]) + ROUNDING_MM:
        reasons = (f"{over:.2f} mm too wide: {told}",)
    elif -over > float(table["too_small_mm"]) + ROUNDING_MM:
        reasons = (f"{-over:.2f} mm too narrow: {told}",)
    return PartFit(part, name, wanted, found, None, reasons)


def _bores(tube: Tube, end: str) -> tuple[Array, Array]:
    """Distances inward from an end as far as the axis is straight, (N,), and the bore there."""
    line = tube.centreline
    piece = 0 if end == "start" else len(line.lengths) - 1
    straight = float(line.lengths[piece]) if line.curvature[piece] == 0.0 else 0.0
    inward = np.linspace(0.0, straight, 2 + int(straight / STEP_MM))
    station = inward if end == "start" else tube.length - inward
    across = tube.od(station)
    if tube.oval is not None:
        across = np.minimum(across, tube.oval.across(station))
    return inward, across - 2 * tube.wall(station)


def _until(inward: Array, good: NDArray[np.bool_]) -> float:
    """How far in it stays so."""
    return float(inward[-1] if good.all() else inward[max(int(np.argmin(good)) - 1, 0)])
