"""What a frame is: tubes, wall profiles, joints. Plain frozen data; no mesh, no file."""

from frame3d.model.axis import (
    ENDS,
    End,
    EndFrame,
    angle_between,
    axis_at,
    axis_near,
    direction,
    end_frame,
    offset_between,
    phase,
    station_of,
)
from frame3d.model.centreline import Centreline, Straight, Turn
from frame3d.model.clearance_wishes import Cranks, Pair, Room
from frame3d.model.datum import datum
from frame3d.model.end_shapes import AxleSlot, Dome, EndShape, Pinch, Plate, Plug, Slot
from frame3d.model.frame import CutBy, CutMethod, Frame, Joint, Limits, Measured, Shop
from frame3d.model.hole import Hole, HoleKind
from frame3d.model.mill import Block, Mill
from frame3d.model.part_fit import PartFit
from frame3d.model.printer import Printer
from frame3d.model.saw import ProvedSpeed, Saw
from frame3d.model.show import PLAIN, Part, Show
from frame3d.model.stock import Raw, Stock, cut_from, laid
from frame3d.model.tube import Bend, Oval, Profile, Tube

__all__ = [
    "ENDS",
    "PLAIN",
    "AxleSlot",
    "Bend",
    "Block",
    "Centreline",
    "Cranks",
    "CutBy",
    "CutMethod",
    "Dome",
    "End",
    "EndFrame",
    "EndShape",
    "Frame",
    "Hole",
    "HoleKind",
    "Joint",
    "Limits",
    "Measured",
    "Mill",
    "Oval",
    "Pair",
    "Part",
    "PartFit",
    "Pinch",
    "Plate",
    "Plug",
    "Printer",
    "Profile",
    "ProvedSpeed",
    "Raw",
    "Room",
    "Saw",
    "Shop",
    "Show",
    "Slot",
    "Stock",
    "Straight",
    "Tube",
    "Turn",
    "angle_between",
    "axis_at",
    "axis_near",
    "cut_from",
    "datum",
    "direction",
    "end_frame",
    "laid",
    "offset_between",
    "phase",
    "station_of",
]
