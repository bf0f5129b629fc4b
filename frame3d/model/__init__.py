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
from frame3d.model.datum import datum
from frame3d.model.frame import Frame, Joint, Limits, Measured, Saw, Shop
from frame3d.model.hole import Hole, HoleKind
from frame3d.model.mill import Block, Mill
from frame3d.model.printer import Printer
from frame3d.model.show import PLAIN, Part, Show
from frame3d.model.tube import Bend, Oval, Profile, Tube

__all__ = [
    "ENDS",
    "PLAIN",
    "Bend",
    "Block",
    "Centreline",
    "End",
    "EndFrame",
    "Frame",
    "Hole",
    "HoleKind",
    "Joint",
    "Limits",
    "Measured",
    "Mill",
    "Oval",
    "Part",
    "Printer",
    "Profile",
    "Saw",
    "Shop",
    "Show",
    "Straight",
    "Tube",
    "Turn",
    "angle_between",
    "axis_at",
    "axis_near",
    "datum",
    "direction",
    "end_frame",
    "offset_between",
    "phase",
    "station_of",
]
