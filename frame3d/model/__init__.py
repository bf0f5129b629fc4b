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
from frame3d.model.frame import Frame, Joint, Limits, Measured, Saw, Shop
from frame3d.model.tube import Profile, Tube

__all__ = [
    "ENDS",
    "End",
    "EndFrame",
    "Frame",
    "Joint",
    "Limits",
    "Measured",
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
