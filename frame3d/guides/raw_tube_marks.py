"""The raw tube that guides are clamped to: where the finished one lies in it, what comes off."""

from collections.abc import Mapping
from dataclasses import dataclass

from frame3d.mill.blank import Blank, blank_of, raw_blank
from frame3d.model import ENDS, End, Tube
from frame3d.surfaces.cope import Cope


@dataclass(frozen=True)
class RawTube:
    """mm. blank: its square ends along the axis; listed: whether it is one of the tube list, laid
    by the trim plan, else it is the least that does; tips: where the finished ends stop, from the
    start of the axis; coped: the ends that a guide leads."""

    blank: Blank
    listed: bool
    tips: Mapping[End, float]
    coped: tuple[End, ...]

    @property
    def length(self) -> float:
        return self.blank.length

    @property
    def finished(self) -> float:
        """Length of the finished tube, tip to tip along the axis."""
        return self.tips["end"] - self.tips["start"]

    def depth(self, end: End, station: float) -> float:
        """From the raw tube's end to a place `station` from the start of the axis."""
        return station - self.blank.start if end == "start" else self.blank.end - station

    def off(self, end: End) -> float:
        """What comes off an end, up to the tip of the finished one."""
        return self.depth(end, self.tips[end])

    @property
    def off_first(self) -> tuple[tuple[End, float], ...]:
        """Square ends at which something comes off, and how much: all else is measured from there,
        so that they are sawn before a guide is set."""
        square = [(end, self.off(end)) for end in ENDS if end not in self.coped]
        return tuple((end, off) for end, off in square if round(off, 1) > 0)


def raw_tube_of(tube: Tube, copes: Mapping[End, Cope], waste: float) -> RawTube:
    """The raw tube of the list, or as for the mill's pages one with `waste` mm beyond each cope."""
    blank = raw_blank(tube) or blank_of(tube, {(tube.name, e): c for e, c in copes.items()}, waste)
    out = {end: copes[end].tip.value if end in copes else 0.0 for end in ENDS}
    tips: dict[End, float] = {"start": -out["start"], "end": tube.length + out["end"]}
    return RawTube(blank, tube.raw is not None, tips, tuple(copes))
