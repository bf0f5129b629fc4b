"""The numbers of a tube's mill pages, in the order in which the machine asks for them.

The builder faces the machine: x to the right, y away towards the column, z up. The end under the
saw points to the right. Angles about a tube go clockwise as seen from its start end, which is
right-handed about start to end. What stands here is rounded as it is printed, and the virtual mill
takes nothing else.
"""

from dataclasses import dataclass

from frame3d.shop.numbers import printed

OFFSET_NONE, OFFSET_COLUMN, OFFSET_OPERATOR = "none", "towards the column", "towards you"
CUT_HIGH, CUT_LOW = "cut end high", "cut end low"


@dataclass(frozen=True)
class Cut:
    """One pass of the saw."""

    number: int = printed("", "order of this cut on the tube")
    end: str = printed("", "end of the tube that is cut; it points to the right")
    onto: str = printed("", "tube that the cut is for")
    saw: float = printed("mm", "outside diameter of the saw, as measured")
    face_up: int = printed("", "face of this end's block that is up; 1 to 4 clockwise from start")
    block_turn: float = printed(
        "deg",
        "gauge reading across this end's block while the other block stands flat, both with face 1 "
        "up; positive: turned clockwise as seen from the start end",
    )
    line_up: float = printed("deg", "line of the tube that faces up: angle from the datum")
    around: float = printed("mm", "the same around the outside, clockwise from the datum line")
    tilt: float = printed("deg", "tilt of the tube from level")
    gauge: float = printed("deg", "the same to the nearest step of the gauge")
    high: str = printed("", "which end is high")
    drop: float = printed(
        "mm", "how much the far end stands lower (higher: negative) than the mark"
    )
    across: float = printed("mm", "readout from touching one side of the tube to the other")
    half: float = printed("mm", "half of it: back from the second touch to the tube's axis")
    offset: float = printed("mm", "then move the saw this far across")
    offset_to: str = printed("", "direction of the offset, as the saw moves over the tube")
    mark: float = printed("mm", "mark on the line that faces up, from the blank's start end")
    x_move: float = printed(
        "mm", "from the pointer on the mark, move the saw this far to the right"
    )
    saw_off: float = printed("mm", "waste to saw off square from this end of the blank first")
    run: float = printed("mm", "from the teeth's first touch down to where the stop trips")
    cup: float = printed("mm", "cutting depth that the saw needs inside")


@dataclass(frozen=True)
class Seat:
    """Where a block stands."""

    end: str = printed("", "end of the tube that this block belongs to")
    bore: float = printed("mm", "bore of the block")
    width: float = printed("mm", "across its faces")
    length: float = printed("mm", "along the tube")
    at: float = printed("mm", "face of the block nearer the cut, from the blank's start end")


@dataclass(frozen=True)
class TubeSheet:
    """A tube from blank to finished ends."""

    tube: str = printed("", "name of the tube")
    material: str = printed("", "material")
    od: tuple[tuple[float, float], ...] = printed(
        "mm", "outside diameter: distance from the blank's start end, value"
    )
    wall: tuple[tuple[float, float], ...] = printed(
        "mm", "wall: distance from the blank's start end, value"
    )
    blank: float = printed("mm", "length of the blank, both ends sawn square")
    start_point: float = printed(
        "mm", "where the tube's start point of the drawing lies, from the blank's start end"
    )
    edge_tip: float = printed("mm", "diameter of the edge finder's tip")
    first_end: str = printed("", "end to cut first; its block is the first block")
    face_one: float = printed("deg", "line under face 1 of the first block: angle from the datum")
    blocks: tuple[Seat, ...] = printed("", "where the blocks stand")
    cuts: tuple[Cut, ...] = printed("", "the cuts in order")
    warnings: tuple[str, ...] = printed("", "what to know before the tube goes into the vise")

    def block(self, end: str) -> Seat | None:
        return next((seat for seat in self.blocks if seat.end == end), None)
