"""The numbers of a tube's mill pages, in the order in which the machine asks for them.

The builder faces the machine: x to the right, y away towards the column, z up. The end under the
saw points to the right. Angles about a tube go clockwise as seen from its start end, which is
right-handed about start to end. What stands here is rounded as it is printed, and the virtual mill
takes nothing else.
"""

from dataclasses import dataclass

from frame3d.mill.blank import Blank
from frame3d.mill.printed_numbers import printed

OFFSET_NONE, OFFSET_COLUMN, OFFSET_OPERATOR = "none", "towards the column", "towards you"
SAME_PLANE_DEG = 0.5
CUT_HIGH, CUT_LOW = "cut end high", "cut end low"


@dataclass(frozen=True)
class Cut:
    """One pass of the saw."""

    number: int = printed("", "order of this cut on the tube")
    end: str = printed("", "end of the tube that is cut; it points to the right")
    onto: str = printed("", "tube that the cut is for")
    saw: float = printed("mm", "outside diameter of the saw, as measured")
    mark: float = printed(
        "mm", "mark on the line that faces up, along the outside from the end `mark_from`"
    )
    mark_from: str = printed("", "end of the blank, as sawn off, that the mark is measured from")
    line_up: float = printed("deg", "line of the tube that faces up: angle from the datum")
    around: float = printed(
        "mm", "the same around the outside at the mark, clockwise from the datum line"
    )
    face_up: int = printed("", "face of this end's block that is up; 1 to 4 clockwise from start")
    block_turn: float = printed(
        "deg",
        "gauge reading across this end's block while the other block (of a bent tube: the bend) "
        "lies flat, with face 1 up; positive: turned clockwise as seen from the start end",
    )
    bore_turn: float = printed(
        "deg",
        "of the block for an oval: from face 1 to its bore's od, clockwise as seen from the start",
    )
    tilt: float = printed("deg", "tilt of the tube from level")
    gauge: float = printed("deg", "the same to the nearest step of the gauge")
    high: str = printed("", "which end is high")
    drop: float = printed(
        "mm", "how much the far end stands lower (higher: negative) than the mark"
    )
    aside: float = printed(
        "mm", "how far the far end of a bent tube stands towards the column (negative: you)"
    )
    across: float = printed("mm", "readout from touching one side of the tube to the other")
    half: float = printed("mm", "half of it: back from the second touch to the tube's axis")
    offset: float = printed("mm", "then move the saw this far across")
    offset_to: str = printed("", "direction of the offset, as the saw moves over the tube")
    x_move: float = printed(
        "mm", "from the pointer on the mark, move the saw this far to the right"
    )
    tooth_least: float = printed("mm", "least thickness that the saw's teeth are taken to have")
    tooth: float = printed("mm", "the greatest, likewise; equal where the shop tells it")
    touch_on: str = printed("", "what the teeth, as thick as that, touch first")
    touch_right: float = printed("mm", "where: to the right of the spindle; negative: left")
    touch_away: float = printed("mm", "where: towards the column; negative: towards you")
    run: float = printed("mm", "from the teeth's first touch down to where the stop trips")
    clear: float = printed(
        "mm",
        "where not 0: stop after each such run, raise the saw and snip off the waste inside it",
    )
    cup: float = printed("mm", "cutting depth that the saw needs inside")
    under_spindle: float | None = printed(
        "mm", "free under the teeth, table at its lowest; null: the mill's sizes are not known"
    )
    over_table: float | None = printed(
        "mm", "free between table and far end; negative: lower than its top; null: likewise"
    )
    beside_head: float | None = printed(
        "mm",
        "from the spindle to a tube that rises beside it, at the height of the spindle's nose; "
        "null: it does not, or the mill's sizes are not known",
    )


@dataclass(frozen=True)
class Seat:
    """Where a block stands."""

    end: str = printed("", "end of the tube that this block is for: start, end, or both")
    bore: float = printed("mm", "bore of the block")
    bore_across: float = printed(
        "mm", "bore a quarter turn from that; the same but for an oval tube"
    )
    width: float = printed("mm", "across its faces")
    length: float = printed("mm", "along the tube")
    at: float = printed(
        "mm",
        "face of the block from the end `at_from`: the one nearer the cut; of a block for both "
        "ends, nearer one of them",
    )
    to: float = printed("mm", "its other face, likewise")
    at_from: str = printed("", "end of the blank, as sawn off, that the block is measured from")
    part: str = printed("", "part of the tube that it stands on")


@dataclass(frozen=True)
class BendRow:
    """A bend of the blank, as the bender is set."""

    at: float = printed("mm", "where it begins along the axis, from the raw blank's start end")
    radius: float = printed("mm", "of the axis")
    angle: float = printed("deg", "turned through")
    plane: float = printed(
        "deg", "from the datum to the inside of the bend, clockwise as seen from the start"
    )


@dataclass(frozen=True)
class TubeSheet:
    """A tube from blank to finished ends."""

    tube: str = printed("", "name of the tube")
    material: str = printed("", "material")
    start_is: str = printed("", "which end of it in the frame is its start")
    end_is: str = printed("", "and which its end")
    od: tuple[tuple[float, float], ...] = printed(
        "mm", "outside diameter: distance from the raw blank's start end, value"
    )
    across_od: tuple[tuple[float, float], ...] = printed(
        "mm", "of an oval, the diameter a quarter turn from that, likewise; empty for a round tube"
    )
    oval: float = printed("deg", "direction of an oval's od: angle from the datum")
    wall: tuple[tuple[float, float], ...] = printed(
        "mm", "wall: distance from the raw blank's start end, value"
    )
    bends: tuple[BendRow, ...] = printed("", "bends, from start to end")
    chord: float | None = printed(
        "mm",
        "of a bent blank as sawn off, straight from the middle of one end to that of the other; "
        "null: not bent",
    )
    blank: float = printed("mm", "length of the raw blank along its axis")
    saw_off_start: float = printed("mm", "to saw off its start end, square, before all else")
    saw_off_end: float = printed("mm", "to saw off its other end, square, before all else")
    start_point: float = printed(
        "mm", "where the tube's start point of the drawing lies, from the raw blank's start end"
    )
    edge_tip: float = printed("mm", "diameter of the edge finder's tip")
    gauge_step: float = printed("deg", "what the angle gauge resolves")
    first_end: str = printed("", "end to cut first; its block is the first block")
    face_one: float = printed(
        "deg",
        "line under face 1 of the first block: angle from the datum; not of a bent tube, whose "
        "bend lies flat and turns away from you, nor of an oval one, whose bore is turned",
    )
    blocks: tuple[Seat, ...] = printed("", "where the blocks stand")
    cuts: tuple[Cut, ...] = printed("", "the cuts in order")
    warnings: tuple[str, ...] = printed("", "what to know before the tube goes into the vise")

    def block(self, end: str) -> Seat | None:
        """The block that holds the tube while an end is cut."""
        return next((seat for seat in self.blocks if seat.end in (end, "both")), None)

    def block_face(self, end: str) -> float:
        """The face of its block that is nearer a cut, from the end that it is told from, mm."""
        seat = self.block(end)
        assert seat is not None
        nearer_start = end == "start" or seat.at_from == "end"
        return min(seat.at, seat.to) if nearer_start else max(seat.at, seat.to)

    @property
    def lies_flat(self) -> bool:
        """Whether all its bends turn in one plane."""
        planes = [bend.plane for bend in self.bends]
        return all(abs((p - planes[0] + 90.0) % 180.0 - 90.0) < SAME_PLANE_DEG for p in planes)

    @property
    def sawn(self) -> float:
        """Length of the blank with both ends sawn off, mm along its axis."""
        return self.blank - self.saw_off_start - self.saw_off_end

    @property
    def start_from_sawn(self) -> float:
        """Where the drawing's start point lies, from the start end as sawn off, mm."""
        return self.start_point - self.saw_off_start

    @property
    def blank_as_sawn(self) -> Blank:
        """Its ends as sawn off, along the drawing's axis."""
        return Blank(-self.start_from_sawn, self.sawn - self.start_from_sawn)

    def from_start(self, at: float, end: str) -> float:
        """A distance from one end as sawn off, as one from the start end, mm along the axis."""
        return at if end == "start" else self.sawn - at
