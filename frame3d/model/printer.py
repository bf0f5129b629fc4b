"""What the shop's printer and its builder want of a guide."""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

ROOF_MARGIN_DEG = 7.0  # at 5 a roof whose ridge fell between two layers was given support

Clamp = Literal["screws", "hose-clamp", "zip-ties"]
Opening = Literal["slit", "halves"]


@dataclass(frozen=True)
class Printer:
    """Lengths in mm, angles in degrees.

    bed:       room to print in: width, depth, height
    clearance: between tube and bore, a side
    wall:      least wall around the bore: what the file runs on
    foot:      from the thicker guide's wall down to the plate that both guides stand on
    hold:      least length of sleeve below the deepest point of the cope
    overhang:  how far a face may lean out from upright without support
    line:      width of one printed line; nothing is made thinner than two
    shrink:    what a print loses in cooling, percent of its length
    clamp:     M4 screws through ears, a hose clamp or zip ties in grooves
    opening:   one slit beside the tube, or two halves; halves are also made where a sleeve
               could not be slid on
    """

    bed: tuple[float, float, float] = (220.0, 220.0, 220.0)
    clearance: float = 0.15
    wall: float = 5.0
    foot: float = 3.0
    hold: float = 30.0
    overhang: float = 45.0
    line: float = 0.45
    shrink: float = 0.0
    clamp: Clamp = "screws"
    opening: Opening = "slit"

    @property
    def thinnest(self) -> float:
        """The thinnest wall that prints well: two lines, mm."""
        return 2 * self.line

    @property
    def lean(self) -> float:
        """Rise over run of the flattest roof that is made: a little steeper than the limit, where
        slicers begin to ask for support, and no flatter than 45 degrees."""
        return 1.0 / math.tan(math.radians(min(self.overhang, 45.0) - ROOF_MARGIN_DEG))

    @property
    def scale(self) -> float:
        """Size of the file over size of the cold print."""
        return 1.0 / (1.0 - self.shrink / 100.0)


def printer_troubles(printer: Printer) -> Iterator[tuple[str, str]]:
    """What is wrong with the settings: (name, what was found and what is expected) of each."""
    for name in ("clearance", "wall", "foot", "hold", "line"):
        value = getattr(printer, name)
        if not value > 0:
            yield name, f"found {value:g}, expected more than 0 mm"
    if 0 < printer.wall < printer.thinnest:
        yield (
            "wall",
            f"found {printer.wall:g}, expected at least two lines, {printer.thinnest:g} mm",
        )
    if printer.clearance > 1.0:
        yield "clearance", f"found {printer.clearance:g}, expected at most 1 mm a side"
    if not min(printer.bed) >= 40:
        sizes = " x ".join(f"{size:g}" for size in printer.bed)
        yield "bed", f"found {sizes}, expected at least 40 mm each way"
    if not 20 <= printer.overhang <= 80:
        yield "overhang", f"found {printer.overhang:g}, expected 20 to 80 degrees from upright"
    if not 0 <= printer.shrink < 5:
        yield "shrink", f"found {printer.shrink:g}, expected 0 up to 5 percent"
