"""Where the split blocks stand: clear of the saw, on straight tube of one diameter."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from frame3d.model import End, Mill, Tube
from frame3d.model.mill import Block
from frame3d.shop.metal import straight_stretches
from frame3d.shop.pose import Pose

FITS_MM = 0.15  # a split block still closes on a tube this much smaller than its bore
THICKEST_SHIM_MM = 2.0
SPREADS_MM = 0.06  # and takes one this much larger


@dataclass(frozen=True)
class Placing:
    """A block and how far inward of the end point its outer face stands, mm (negative outward)."""

    block: Block
    inward: float


def place(tube: Tube, end: End, poses: Sequence[Pose], mill: Mill) -> tuple[Placing | None, str]:
    """The block nearest to the cuts at an end that clears them all; or None and what to do."""
    for low, high in _stretches_inward(tube, end):
        od = float(tube.od(_station(tube, end, max(low, 0.0))))
        block, advice = _block_for(od, mill)
        clear = [_clear_of(pose, block, mill) for pose in poses] or [0.0]
        nearest = max(low, *clear)
        inward = float(np.ceil(nearest))
        if inward + block.length <= high:
            return Placing(block, inward), advice
    if tube.od.is_constant:
        return None, (
            f"too short to be held clear of the saw at its {end}: leave the blank longer and part "
            "it off last, or hold it on a stub in its bore"
        )
    return None, (
        f"no straight stretch of one diameter at the {end} holds a block clear of the saw: use "
        "V-blocks, or a block bored and shimmed to the taper, and check the tilt on the tube itself"
    )


def _clear_of(pose: Pose, block: Block, mill: Mill) -> float:
    """Least distance inward at which no corner of the block stands under the saw or its arbor."""
    tilt = abs(pose.rise)
    edge = pose.x - pose.radius - mill.clearance
    return -float((edge - block.width / 2 * np.sin(tilt)) / np.cos(tilt))


def _block_for(od: float, mill: Mill) -> tuple[Block, str]:
    fitting = [b for b in mill.blocks if -SPREADS_MM <= b.bore - od <= FITS_MM]
    if fitting:
        return min(fitting, key=lambda b: abs(b.bore - od)), ""
    larger = [b for b in mill.blocks if 0 < b.bore - od <= 2 * THICKEST_SHIM_MM]
    if larger:
        block = min(larger, key=lambda b: b.bore)
        shim = (block.bore - od) / 2
        return block, (
            f"no block is bored to {od:.2f} mm: shim the {block.bore:.2f} mm block with a split "
            f"sleeve {shim:.2f} mm thick, or bore a pair to size"
        )
    size = mill.blocks[0] if mill.blocks else Block(od)
    return Block(od, size.width, size.length), f"no block is bored to {od:.2f} mm: bore a pair"


def _stretches_inward(tube: Tube, end: End) -> list[tuple[float, float]]:
    """Straight stretches as (from, to) inward of an end point, mm, the nearest first."""
    runs = straight_stretches(tube)
    if end == "end":
        runs = [(tube.length - high, tube.length - low) for low, high in reversed(runs)]
    return [(low, min(high, tube.length)) for low, high in runs]


def _station(tube: Tube, end: End, inward: float) -> float:
    return tube.length - inward if end == "end" else inward
