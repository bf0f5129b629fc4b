"""What a frame is: tubes, wall profiles, joints. Plain frozen data; no mesh, no file."""

from frame3d.model.axis import (
    ENDS,
    End,
    EndFrame,
    angle_between,
    direction,
    end_frame,
    offset_between,
    phase,
)
from frame3d.model.centreline import Centreline, Straight, Turn
from frame3d.model.datum import datum
from frame3d.model.frame import Frame, Joint, Limits, Saw, Shop
from frame3d.model.show import Part, Show
from frame3d.model.tube import Bend, Oval, Profile, Tube

__all__ = [
    "ENDS",
    "Bend",
    "Centreline",
    "End",
    "EndFrame",
    "Frame",
    "Joint",
    "Limits",
    "Oval",
    "Part",
    "Profile",
    "Saw",
    "Shop",
    "Show",
    "Straight",
    "Tube",
    "Turn",
    "angle_between",
    "datum",
    "direction",
    "end_frame",
    "offset_between",
    "phase",
]
