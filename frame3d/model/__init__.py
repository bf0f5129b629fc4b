"""What a frame is: tubes, wall profiles, joints. Plain frozen data; no mesh, no file."""

from frame3d.model.axis import (
    ENDS,
    End,
    EndFrame,
    angle_between,
    datum,
    direction,
    end_frame,
    offset_between,
    phase,
)
from frame3d.model.frame import Frame, Joint, Limits, Saw, Shop
from frame3d.model.hole import Hole, HoleKind
from frame3d.model.mill import Block, Mill
from frame3d.model.tube import Profile, Tube

__all__ = [
    "ENDS",
    "Block",
    "End",
    "EndFrame",
    "Frame",
    "Hole",
    "HoleKind",
    "Joint",
    "Limits",
    "Mill",
    "Profile",
    "Saw",
    "Shop",
    "Tube",
    "angle_between",
    "datum",
    "direction",
    "end_frame",
    "offset_between",
    "phase",
]
