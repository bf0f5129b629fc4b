"""What the builder cuts with: the mill, its blocks and the paper that its pages go on."""

from dataclasses import dataclass
from typing import Literal

INCH = 25.4

# Split blocks as a shop makes them: fractional-inch bores in 2 in square bar. Common practice,
# no source; the sizes are those of common bicycle tubes.
BORES_IN = (0.5, 0.625, 0.75, 0.875, 1.0, 1.125, 1.25, 1.375, 1.5, 1.75)


@dataclass(frozen=True)
class Block:
    """A square split block. Lengths mm.

    bore: what it grips; width: across its faces; length: along the tube
    """

    bore: float
    width: float = 2 * INCH
    length: float = 1.5 * INCH


@dataclass(frozen=True)
class Mill:
    """A vertical mill and what goes with it. Lengths mm, angles degrees.

    The defaults are a manual knee mill with step pulleys and a power quill feed in inch steps:
    usual figures, no source. A shop file puts the builder's own in their place.

    blocks:          split blocks at hand
    spindle_rpm:     the speeds that the machine has
    feed_per_rev:    the steps of its power feed, mm a revolution
    edge_tip:        diameter of the edge finder's tip
    gauge_step:      what the angle gauge resolves
    travel_per_turn: of the hand wheels, where there is no readout; None with a readout
    overtravel:      how far the saw runs past the last metal before the stop trips
    clearance:       least room between a block and the saw
    vise_height:     of a held tube's axis over the table; None if not told, like the next two
    daylight:        from the spindle's nose to the table at its lowest
    saw_length:      from the spindle's nose to the teeth, arbor and saw
    waste:           raw tube wanted beyond the longest tip
    cut_end:         whether the end under the saw is tilted high or low
    units:           what the pages print
    paper:           what they are printed on
    paper_thickness: of a wrap; it lies half that much outside the tube
    """

    blocks: tuple[Block, ...] = tuple(Block(bore * INCH) for bore in BORES_IN)
    spindle_rpm: tuple[float, ...] = (80, 135, 210, 325, 660, 1115, 1750, 2720)
    feed_per_rev: tuple[float, ...] = (0.0015 * INCH, 0.003 * INCH, 0.006 * INCH)
    edge_tip: float = 9.525  # 3/8 in
    gauge_step: float = 0.05
    travel_per_turn: float | None = None
    overtravel: float = 2.0
    clearance: float = 3.0
    vise_height: float | None = None
    daylight: float | None = None
    saw_length: float | None = None
    waste: float = 15.0
    cut_end: Literal["high", "low"] = "high"
    units: Literal["mm", "inch"] = "mm"
    paper: Literal["A4", "Letter"] = "A4"
    paper_thickness: float = 0.1
