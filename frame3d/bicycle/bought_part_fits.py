"""Whether headset, bottom bracket, seat post, steerer and hubs fit the tubes and plates picked."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from frame3d.bicycle.bought_parts import Hub
from frame3d.bicycle.geometry import Bicycle
from frame3d.model import AxleSlot, PartFit, Plate, Tube
from frame3d.tables import row

Array = NDArray[np.float64]
STEP_MM = 0.5
ROUNDING_MM = 1e-6
ACROSS, NEAR_MM = 0.99, 40.0  # a plate that stands across, with its slot about the axle
LEVEL = 0.5  # of a slot's rise: in a steeper one the axle lies at its closed end


def part_fits(
    bicycle: Bicycle, tubes: Iterable[Tube], plates: Iterable[Plate] = ()
) -> tuple[PartFit, ...]:
    """Every named part against its tube, as far as that is picked, and hubs against the plates in
    which their axles lie."""
    nodes = bicycle.geometry.nodes()
    hubs = (("rear", bicycle.rear_hub), ("front", bicycle.front_hub))
    plates = tuple(plates)
    dropouts = [
        fit
        for end, hub in hubs
        for fit in _in_dropouts(end, hub, np.array(nodes[f"{end} axle"]), plates)
    ]
    return (*_all(bicycle, {tube.name: tube for tube in tubes}), *dropouts)


def _all(bicycle: Bicycle, named: Mapping[str, Tube]) -> Iterator[PartFit]:
    headset, shell, post = bicycle.headset, bicycle.shell, bicycle.seat_post
    if headset is not None and (head := named.get("head tube")) is not None:
        for half, end, cup in ((headset.lower, "start", "lower"), (headset.upper, "end", "upper")):
            yield _in_bore("headset", f"{cup} cup", head, end, half.bore, half.least_wall)
    if headset is not None and (steerer := named.get("steerer")) is not None:
        yield _on_steerer("headset, steerer", steerer, steerer.length, headset.upper.steerer)
        if (crown := named.get("crown")) is not None:
            race = crown.widest  # the steerer's axis starts on the crown's
            yield _on_steerer("crown race, steerer", steerer, race, headset.lower.steerer)
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


def _on_steerer(part: str, steerer: Tube, at: float, wanted: float) -> PartFit:
    table = row("bore_fits", "steerer")
    found = float(steerer.od(at))
    over, reasons = found - wanted, []
    if over > float(table["too_big_mm"]) + ROUNDING_MM:
        reasons.append(f"its outside is {over:.2f} mm too big for the headset's {wanted:g} mm")
    if -over > float(table["too_small_mm"]) + ROUNDING_MM:
        reasons.append(f"its outside is {-over:.2f} mm too small for the headset's {wanted:g} mm")
    return PartFit(part, steerer.name, wanted, found, None, tuple(reasons))


def _in_dropouts(
    end: str, hub: Hub | None, axle: Array, plates: Iterable[Plate]
) -> Iterator[PartFit]:
    """A wheel between two plates across the bicycle, each with a slot or hole about its axle."""
    found: dict[float, _Seat] = {}
    for seat in _seats(axle, plates):
        side = float(np.sign(seat.plate.at[1]))
        if side not in found or seat.off < found[side].off:
            found[side] = seat
    if not {1.0, -1.0} <= set(found):
        return
    left, right = found[1.0], found[-1.0]
    names = f"{left.plate.name}, {right.plate.name}"
    if hub is not None:
        faces = [abs(seat.plate.at[1]) - seat.plate.thickness / 2 for seat in (left, right)]
        yield _fitting("hub", f"{end} hub {hub.name}", names, hub.between, float(sum(faces)))
        for seat in (left, right):
            part = f"{end} axle {hub.axle:g}"
            kind = "axle_slot" if seat.slot.length else "axle_hole"
            yield _fitting(kind, part, seat.plate.name, hub.axle, seat.slot.width)
    for seat in (left, right):
        yield _on_axle(end, seat)
    yield _in_line(end, left, right, names)


@dataclass(frozen=True)
class _Seat:
    """Where an axle comes to lie in a plate. place: (3,), in the middle of the plate; to: from
    there to where the numbers have the axle, mm, ahead and up."""

    plate: Plate
    slot: AxleSlot
    place: Array
    to: Array

    @property
    def off(self) -> float:
        return float(np.hypot(*self.to))


def _seats(axle: Array, plates: Iterable[Plate]) -> Iterator[_Seat]:
    """Slots and holes near an axle, in plates that stand across."""
    for plate in plates:
        if abs(plate.normal[1]) <= ACROSS:
            continue
        for slot in plate.slots:
            u, v = np.asarray(plate.u), np.asarray(plate.v)
            place = plate.at + slot.u * u + slot.v * v
            turn = np.radians(slot.angle)
            along = np.cos(turn) * u + np.sin(turn) * v
            if slot.length and abs(along[2]) < LEVEL:  # the wheel goes anywhere along it
                place = place + np.clip((axle - place) @ along, 0.0, slot.length) * along
            to = (axle - place)[[0, 2]]
            if np.hypot(*to) < NEAR_MM:
                yield _Seat(plate, slot, place, to)


def _on_axle(end: str, seat: _Seat) -> PartFit:
    """Whether an axle lies where the numbers have it."""
    most = float(row("bore_fits", "axle_seat")["too_big_mm"])
    reasons: tuple[str, ...] = ()
    if seat.off > most + ROUNDING_MM:
        ahead, up = seat.to
        x, y, z = seat.plate.at + np.array([ahead, 0.0, up])
        way = _in_words(seat.to, ("behind", "ahead of"), ("below", "above"))
        reasons = (
            f"in {seat.plate.name} the axle would lie {way} where the numbers have it, {most:g} mm "
            f'at most; give the plate axle = "{end}" in place of at, or '
            f"at = [{x:.2f}, {y:.2f}, {z:.2f}]",
        )
    return PartFit(f"{end} axle, place", seat.plate.name, 0.0, seat.off, None, reasons)


def _in_line(end: str, left: _Seat, right: _Seat, names: str) -> PartFit:
    """Whether the axle lies square to the middle plane: how far the two seats are out of line."""
    limit = row("bore_fits", "axle_line")
    most, apart = float(limit["too_big_mm"]), (left.place - right.place)[[0, 2]]
    out, wide = float(np.hypot(*apart)), abs(float(left.place[1] - right.place[1]))
    reasons: tuple[str, ...] = ()
    if out > most + ROUNDING_MM:
        way = _in_words(apart, ("farther ahead", "farther back"), ("higher", "lower"))
        turn = np.degrees(np.arctan2(out, wide))
        reasons = (
            f"the left seat is {way} than the right one, {most:g} mm at most: the wheel would "
            f"stand {turn:.2f} degrees askew",
        )
    return PartFit(f"{end} wheel, square", names, 0.0, out, None, reasons)


def _in_words(by: Array, ahead: tuple[str, str], up: tuple[str, str]) -> str:
    """A shift (2,), mm ahead and up, by the words for more and less of each."""
    parts = zip(by.tolist(), (ahead, up), strict=True)
    return " and ".join(
        f"{abs(mm):.2f} mm {words[0] if mm > 0 else words[1]}"
        for mm, words in parts
        if abs(mm) >= 0.005
    )


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
