"""Printed blocks hold an oval tube as the mill's pages say."""

import numpy as np
import pytest
from test_virtual_mill_shapes import shaped

from frame3d.guides.blocks import split_block
from frame3d.guides.oval_blocks import oval_blocks
from frame3d.guides.record import block_entries
from frame3d.mill.setup import tube_sheet
from frame3d.model import Printer


def test_every_line_that_must_face_up_has_its_block() -> None:
    coped = shaped("oval")
    sheet = tube_sheet(coped.frame, coped.tube, coped.copes)
    made = {(block.end, block.turn) for block in oval_blocks(coped.frame)}
    assert made == {(cut.end, cut.bore_turn) for cut in sheet.cuts}
    named = [entry for entry in block_entries(coped.frame) if "turn_deg" in entry.facts]
    assert {entry.facts["cut"] for entry in named} == {1, 2, 3}


@pytest.mark.parametrize("turn", [0.0, 35.0, 120.0])
def test_the_bore_is_the_tube_turned_from_the_first_face(turn: float) -> None:
    """Seen from below, where the tube's start is, face 1 is up (+y) and the turn clockwise."""
    block = split_block(30.0, Printer(), 20.0, turn)
    inside = split_block(30.0, Printer(), 30.0, 0.0)
    assert block.volume() > inside.volume()
    ring = np.concatenate(list(block.slice(10.0).to_polygons()))
    away = np.hypot(*ring.T)
    bore = ring[away < 15.2]
    # Points of the bore lie on the ellipse whose longer axis leans `turn` anticlockwise of +y as
    # seen from above, which is clockwise from below.
    lean = np.radians(turn)
    along = bore @ np.array([-np.sin(lean), np.cos(lean)])
    aside = bore @ np.array([np.cos(lean), np.sin(lean)])
    on = np.hypot(along / 15.0, aside / 10.0)
    assert np.sum(np.abs(on - 1.0) < 2e-3) > 100
