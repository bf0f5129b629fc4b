"""What a frame is: tubes, wall profiles, joints. Plain frozen data; no mesh, no file."""

from frame3d.model.axis import (
    ENDS,
    End,
    EndFrame,
    angle_between,
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
    "Measured",
    "Oval",
    "Profile",
    "Saw",
    "Shop",
    "Straight",
    "Tube",
    "Turn",
    "angle_between",
    "axis_near",
    "datum",
    "direction",
    "end_frame",
    "offset_between",
    "phase",
    "station_of",
]
