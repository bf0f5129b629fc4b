"""A guide too wide for the bed, cut upright into parts that keys on the bed locate.

A pin lying in an upright face would print in the air. So a pin here is a key that stands on the
bed with one part, and the other slips over it; with both on one plate all is in its place.
"""

from collections.abc import Sequence
from contextlib import suppress

import numpy as np
from manifold3d import CrossSection, Manifold

from frame3d.guides.guide_error import GuideError
from frame3d.guides.guide_section import LEAD_IN_MM, rectangle
from frame3d.guides.place import Array
from frame3d.model import Printer

# A range across x (0) or y (1), mm, that no cut may pass: windows, letters, ears, bushings.
Kept = tuple[int, float, float]

KEY_MM = 2.5  # how far a key stands out of its face
WIDEST_KEY_MM = 5.0
LEAST_KEY_MM = 1.2  # three printed lines; less would break off
KEY_HIGH_MM = 10.0
KEY_ROOM_MM = 0.2  # around a key, a side
ROOT_MM = 1.0  # how far a key reaches back into its own part
THINNEST_PART_MM = 6.0
STEP_MM = 0.5  # between the places that are tried for a cut
NEAR_MM = 0.01
# Coordinates of an upright cut: along the bed, up, and out of the face; for a cut across x and y.
TURNS = (
    np.array([[0.0, 1, 0, 0], [0, 0, 1, 0], [1, 0, 0, 0]]),
    np.array([[1.0, 0, 0, 0], [0, 0, 1, 0], [0, 1, 0, 0]]),
)


def quarter_turn(size: Array, printer: Printer) -> float | None:
    """0 or 90: how a body of `size` (3,), mm as made, is turned to fit the bed; None: it cannot."""
    large = size * printer.scale
    if np.all(large <= printer.bed):
        return 0.0
    return 90.0 if np.all(large[[1, 0, 2]] <= printer.bed) else None


def cut_to_width(body: Manifold, printer: Printer, kept: Sequence[Kept] = ()) -> list[Manifold]:
    """The body itself where it fits the bed, else bodies that do. Raises GuideError."""
    size = _size(body)
    if quarter_turn(size, printer) is not None:
        return [body]
    for axis in _fitting_first(size, printer):
        best = _best_cut(body, axis, printer, kept)
        if best is None:
            continue
        halves = _parted(body, axis, *best, printer)
        thin = min(_size(half)[:2].min() for half in halves)
        # Each but the first must hang on a key of its own, and none may be a stick.
        if len(halves) > len(best[1]) + 1 or thin < THINNEST_PART_MM:
            continue
        with suppress(GuideError):
            return [piece for half in halves for piece in cut_to_width(half, printer, kept)]
    sizes = " x ".join(f"{length:.0f}" for length in size * printer.scale)
    bed = " x ".join(f"{length:g}" for length in printer.bed)
    raise GuideError(
        f"the guide, {sizes} mm, does not fit the bed of {bed} mm, and its wall has no place where "
        f"it could be cut in two and located again: a larger bed or a thicker wall would do"
    )


def _size(body: Manifold) -> Array:
    low, high = np.reshape(body.bounding_box(), (2, 3))
    return np.asarray(high - low)


def _fitting_first(size: Array, printer: Printer) -> tuple[int, int]:
    """The axis first along which two parts would fit."""
    along_x = size * [0.5, 1.0, 1.0]
    return (0, 1) if quarter_turn(along_x, printer) is not None else (1, 0)


def _best_cut(
    body: Manifold, axis: int, printer: Printer, kept: Sequence[Kept]
) -> tuple[float, list[tuple[float, float]]] | None:
    """Where along `axis` a cut leaves the widest keys, and these; None where there is no place."""
    low, high = np.reshape(body.bounding_box(), (2, 3))
    size = high - low
    room = _room(size, axis, printer)
    least = max(size[axis] - room * max(np.ceil(size[axis] / room) - 1, 1), STEP_MM)
    best, most = None, 0.0
    for at in np.arange(low[axis] + least, high[axis] - least + NEAR_MM, STEP_MM):
        if any(a == axis and first < at < last for a, first, last in kept):
            continue
        keys = _keys(body, axis, float(at), printer)
        held = sum(last - first for first, last in keys)
        if held > most:
            best, most = (float(at), keys), held
    return best


def _room(size: Array, axis: int, printer: Printer) -> float:
    """How long a part may be along `axis`, as made, mm."""
    other = size[1 - axis] * printer.scale
    beds = [printer.bed[k] for k in (0, 1) if other <= printer.bed[1 - k]]
    return max(beds or printer.bed[:2]) / printer.scale


def _keys(body: Manifold, axis: int, at: float, printer: Printer) -> list[tuple[float, float]]:
    """Ranges along the cut, mm, where a key finds wall enough on the bed, at most one to a wall."""
    around = KEY_ROOM_MM + printer.thinnest
    low, top = body.bounding_box()[2], _top(printer) + printer.thinnest
    turned = body.transform(TURNS[axis])
    begin, _, _, end, *_ = turned.bounding_box()
    # Below, the bore is wider, by less than is left around a key.
    even = low + LEAD_IN_MM * printer.lean + NEAR_MM
    wall = rectangle((begin, even), (end, low + top))
    empty = CrossSection()
    for out in (-ROOT_MM, -NEAR_MM, NEAR_MM, KEY_MM / 2, KEY_MM + around):
        empty = empty + (wall - turned.slice(at + out))
    taken = sorted((piece.bounds()[0], piece.bounds()[2]) for piece in empty.decompose())
    keys, reached = [], begin
    for first, last in [*taken, (end, end)]:
        width = first - reached - 2 * around
        if width >= LEAST_KEY_MM:
            middle, half = (first + reached) / 2, min(width, WIDEST_KEY_MM) / 2
            keys.append((float(middle - half), float(middle + half)))
        reached = max(reached, last)
    return keys


def _top(printer: Printer) -> float:
    """Height of the highest roof over a key, mm."""
    return KEY_HIGH_MM + (WIDEST_KEY_MM / 2 + KEY_ROOM_MM) * printer.lean


def _parted(
    body: Manifold, axis: int, at: float, keys: list[tuple[float, float]], printer: Printer
) -> list[Manifold]:
    """The bodies below and above a cut, keys on the former."""
    low = float(body.bounding_box()[2])
    normal = (1.0, 0.0, 0.0) if axis == 0 else (0.0, 1.0, 0.0)
    above, below = body.split_by_plane(normal, at)
    back = np.linalg.inv(np.vstack([TURNS[axis], [0.0, 0, 0, 1]]))[:3]
    for first, last in keys:
        key = rectangle((first, low), (last, low + KEY_HIGH_MM)).extrude(KEY_MM + ROOT_MM)
        left, right = first - KEY_ROOM_MM, last + KEY_ROOM_MM
        ridge = KEY_HIGH_MM + (right - left) / 2 * printer.lean
        house = [(left, low - 1), (right, low - 1), (right, low + KEY_HIGH_MM)]
        house += [((left + right) / 2, low + ridge), (left, low + KEY_HIGH_MM)]
        slot = CrossSection([np.array(house)]).extrude(KEY_MM + KEY_ROOM_MM + 1.0)
        below = below + key.translate((0.0, 0.0, at - ROOT_MM)).transform(back)
        above = above - slot.translate((0.0, 0.0, at - 1.0)).transform(back)
    return [*below.decompose(), *above.decompose()]
