"""Which oval tubes the mill's pages hold, and how the bores of their blocks are turned."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

from frame3d.mill.blank import raw_blank
from frame3d.mill.setup import tube_sheet
from frame3d.model import Frame
from frame3d.surfaces.cope import copes_of


@dataclass(frozen=True)
class OvalBlock:
    """A block for one cut of an oval tube; mm, degrees. turn: of the od from face 1, clockwise as
    seen from the tube's start."""

    tube: str
    end: str
    cut: int
    od: float
    across: float
    turn: float


def oval_blocks(frame: Frame) -> Iterator[OvalBlock]:
    """One for every line that must face up; cuts a quarter turn apart share theirs."""
    ovals = [tube for tube in frame.tubes if tube.oval is not None]
    names = {tube.name for tube in ovals}
    own = replace(frame, joints=tuple(joint for joint in frame.joints if joint.tube in names))
    copes = copes_of(own)
    for tube in ovals:
        sheet = tube_sheet(own, tube, copes, raw_blank(tube))
        made = set()
        for cut in sheet.cuts:
            block = sheet.block(cut.end)
            if block is None or (cut.end, cut.bore_turn) in made:
                continue
            made.add((cut.end, cut.bore_turn))
            yield OvalBlock(
                tube.name, cut.end, cut.number, block.bore, block.bore_across, cut.bore_turn
            )
