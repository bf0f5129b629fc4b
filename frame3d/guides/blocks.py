"""Split blocks: square outside, bored for one tube, for a vise without blocks of its own.

Standing on a face sets a quarter turn: grooves along the four sides count 1 to 4.
"""

import math

import numpy as np
from manifold3d import CrossSection, Manifold, OpType

from frame3d.guides.guide_error import GuideError, checked
from frame3d.guides.guide_section import rectangle
from frame3d.guides.lettering import BEST_CAP_MM, fitted
from frame3d.guides.sleeve import tidy
from frame3d.model import Printer

GAP_MM = 1.0  # between the halves, taken from both
LENGTH_MM = 40.0
FLATS = 180
GROOVE_WIDE_MM, GROOVE_DEEP_MM, GROOVE_STEP_MM = 1.0, 0.8, 2.5
INDEX_FROM_CORNER_MM = 3.0
CHAMFER_MM = 1.0


def block_side(od: float, printer: Printer) -> float:
    """Width of the square, a whole even number of mm, with a wall of twice the guides'."""
    return float(2 * math.ceil(od / 2 + 2 * printer.wall))


def split_block(
    od: float, printer: Printer, across: float | None = None, turn: float = 0.0
) -> Manifold:
    """Both halves in place, standing on z = 0, the tube's axis along z: mm.

    The bore is the tube's own size, so that the halves grip before they meet. For an oval, across
    is its diameter a quarter turn from the od, and turn the od's direction from face 1, degrees;
    with the words towards the tube's end, faces and turn then count clockwise as seen from its
    start. Raises GuideError.
    """
    checked(printer)
    widest = max(od, across or od)
    if not od > 0:
        raise GuideError(f"found a tube of {od:g} mm, expected more than 0 mm")
    side = block_side(widest, printer)
    if side > min(printer.bed[:2]) or printer.bed[2] < LENGTH_MM:
        bed = " x ".join(f"{length:g}" for length in printer.bed)
        raise GuideError(
            f"a block of {side:g} x {side:g} x {LENGTH_MM:g} mm does not fit the bed of {bed} mm"
        )
    half = side / 2
    short = half - CHAMFER_MM
    corners = [(half, -short), (half, short), (short, half), (-short, half)]
    square = CrossSection([np.array([*corners, *((-x, -y) for x, y in corners)], float)])
    bore = CrossSection.circle(0.5 / math.cos(math.pi / FLATS), FLATS)
    bore = bore.scale((across or od, od)).rotate(turn)
    gap = rectangle((-side, -GAP_MM / 2), (side, GAP_MM / 2))
    flat = square - bore - gap - _index(half)
    # The words stand out of no clamping face: they are cut in, on the ends of the tube's bore.
    body = Manifold.batch_boolean(
        [flat.extrude(LENGTH_MM), _words(od, across, half)], OpType.Subtract
    )
    return tidy(body)


def _index(half: float) -> CrossSection:
    """One groove on the first side, +y, two on the next quarter turn, and so on."""
    grooves = CrossSection()
    for quarter in range(4):
        for k in range(quarter + 1):
            x = -half + INDEX_FROM_CORNER_MM + k * GROOVE_STEP_MM
            groove = rectangle((x, half - GROOVE_DEEP_MM), (x + GROOVE_WIDE_MM, half + 1.0))
            grooves = grooves + groove.rotate(90.0 * quarter)
    return grooves


def _words(od: float, across: float | None, half: float) -> Manifold:
    """The tube's size, engraved in the upper end, read from above."""
    room = 2 * half - 8.0
    best = min(BEST_CAP_MM, half - max(od, across or od) / 2 - 4.0)
    words = fitted(f"{od:g}" if across is None else f"{od:g} x {across:g}", room, best)
    flat = words.outline.translate((-words.width / 2, half - 2.0 - words.cap))
    return flat.extrude(1.0).translate((0.0, 0.0, LENGTH_MM - 0.6))
