"""Whether headset, bottom bracket, seat post and steerer fit the tubes that were picked."""

from collections.abc import Iterator, Mapping

import numpy as np
from numpy.typing import NDArray

from frame3d.bicycle.geometry import Bicycle
from frame3d.model import PartFit, Tube
from frame3d.tables import row

Array = NDArray[np.float64]
STEP_MM = 0.5
ROUNDING_MM = 1e-6


def part_fits(bicycle: Bicycle, named: Mapping[str, Tube]) -> tuple[PartFit, ...]:
    """Every named part against its tube, as far as that is picked; named: tubes by name."""
    return tuple(_all(bicycle, named))


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
    short = np.where(inward <= deep, max(ream, too_small), too_small)  # a reamer goes no deeper
    passing = _until(inward, bore >= wanted - short - ROUNDING_MM)
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
        notes.append(f"it goes {passing:.0f} mm down, and is held over {min(held, passing):.0f} mm")
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
