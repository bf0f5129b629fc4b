"""Where the split blocks stand: clear of the saw, on straight tube of one section."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from frame3d.mill.pose import Pose
from frame3d.model import End, Mill, Tube, end_frame
from frame3d.model.mill import Block

FITS_MM = 0.15  # a split block still closes on a tube this much smaller than its bore
THICKEST_SHIM_MM = 2.0
SPREADS_MM = 0.06  # and takes one this much larger
NEARLY_ROUND_MM = 1.0  # an oval with less between its diameters turns in its bore; own choice

Stretch = tuple[float, float]


@dataclass(frozen=True)
class Placing:
    """A block and how far inward of the end point its outer face stands, mm (negative outward).

    od, across: of the tube there; both the same but for an oval
    stretch: (from, to) inward, of the straight of one section that it stands on
    """

    end: End
    block: Block
    od: float
    across: float
    inward: float
    stretch: Stretch

    @property
    def inner(self) -> float:
        """How far inward its other face stands, mm."""
        return self.inward + self.block.length


def place(tube: Tube, end: End, poses: Sequence[Pose], mill: Mill) -> tuple[Placing | None, str]:
    """The block nearest to the cuts at an end that clears them all; or None and what to do."""
    stretches = stretches_inward(tube, end)
    for low, high in stretches:
        station = _station(tube, end, max(low, 0.0) if np.isfinite(low) else 0.0)
        od = float(tube.od(station))
        across = float(tube.oval.across(station)) if tube.oval else od
        block, advice = _block_for(od, mill) if across == od else _oval_block(od, across, mill)
        inward = float(np.ceil(max(low, clear_of(poses, block, mill))))
        if inward + block.length <= high:
            return Placing(end, block, od, across, inward, (low, high)), advice
    return None, _nowhere(tube, end)


def clear_of(poses: Sequence[Pose], block: Block, mill: Mill) -> float:
    """Least distance inward at which no corner of a block stands under a saw or its arbor."""
    return max((_clear_of(pose, block, mill) for pose in poses), default=0.0)


def _clear_of(pose: Pose, block: Block, mill: Mill) -> float:
    tilt = abs(pose.rise)
    edge = pose.x - pose.radius - mill.clearance
    return -float((edge - block.width / 2 * np.sin(tilt)) / np.cos(tilt))


def _nowhere(tube: Tube, end: End) -> str:
    """Why no block stands at an end, and what to use instead."""
    if tube.bends:
        run = end_frame(tube, end).run
        return (
            f"bent, and its straight of {run:.1f} mm at the {end} holds no block clear of the saw: "
            "cope it by its wrap or a printed guide, or bend a longer blank and hold it by the "
            "straight that is sawn off last"
        )
    if tube.oval is not None:
        return (
            f"oval, with no straight stretch of one section at the {end} for a block: cope it by a "
            "printed guide or its wrap, or cast a pair of blocks around it in a filler that sets"
        )
    if tube.od.is_constant:
        return (
            f"too short to be held clear of the saw at its {end}: leave the blank longer and part "
            "it off last, or hold it on a stub in its bore"
        )
    return (
        f"no straight stretch of one diameter at the {end} holds a block clear of the saw: hold it "
        "in V-blocks, or in a pair bored and shimmed to the taper, and set the tilt so that the "
        "gauge's readings on the tube's upper and lower line average to it; or cope it by a "
        "printed guide or its wrap"
    )


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


def _oval_block(od: float, across: float, mill: Mill) -> tuple[Block, str]:
    """A pair made for an oval: its bore alone holds the phase."""
    size = mill.blocks[0] if mill.blocks else Block(od)
    words = (
        f"oval: a pair of split blocks made for it, {od:.2f} x {across:.2f} mm, holds it in phase; "
        "each cut's page says how its bore is turned; frame3d guides --blocks prints it"
    )
    if abs(od - across) < NEARLY_ROUND_MM:
        words += "; it is nearly round, so check the datum line too"
    return Block(od, size.width, size.length), words


def stretches_inward(tube: Tube, end: End) -> list[Stretch]:
    """Straight stretches of one section as (from, to) inward of an end point, mm, nearest first.

    Of a bent tube those on the straight behind that end.
    """
    runs = level_stretches(tube)
    if end == "end":
        runs = [(tube.length - high, tube.length - low) for low, high in reversed(runs)]
    last = end_frame(tube, end).run if tube.bends else tube.length
    return [(low, min(high, last)) for low, high in runs if low < last]


def level_stretches(tube: Tube) -> list[Stretch]:
    """Where the outside does not change: (from, to), mm from the tube's start.

    Endless at both ends, as the profiles are.
    """
    profiles = [tube.od, *([tube.oval.across] if tube.oval else [])]
    places = sorted({at for p in profiles if not p.is_constant for at in p.at})
    if not places:
        return [(-np.inf, np.inf)]
    edges = [-np.inf, *places, np.inf]
    joined: list[Stretch] = []
    for low, high in pairwise(edges):
        inside = [_just_inside(low, high, share) for share in (0.25, 0.75)]
        if all(float(p(inside[0])) == float(p(inside[1])) for p in profiles):
            if joined and joined[-1][1] == low and _same(profiles, low):
                joined[-1] = (joined[-1][0], high)
            else:
                joined.append((low, high))
    return joined


def _just_inside(low: float, high: float, share: float) -> float:
    low = low if np.isfinite(low) else high - 4.0
    high = high if np.isfinite(high) else low + 4.0
    return low + share * (high - low)


def _same(profiles: Sequence[object], at: float) -> bool:
    """Whether no profile steps at a place."""
    return all(float(p(at - 1e-6)) == float(p(at + 1e-6)) for p in profiles)  # type: ignore[operator]


def _station(tube: Tube, end: End, inward: float) -> float:
    return tube.length - inward if end == "end" else inward
