"""What a frame is: tubes, wall profiles, joints. Plain frozen data; no mesh, no file."""

from frame3d.model.axis import End, EndFrame, datum, direction, end_frame
from frame3d.model.frame import Frame, Joint, Limits, Saw, Shop
from frame3d.model.tube import Profile, Tube

__all__ = [
    "End",
    "EndFrame",
    "Frame",
    "Joint",
    "Limits",
    "Profile",
    "Saw",
    "Shop",
    "Tube",
    "datum",
    "direction",
    "end_frame",
]
