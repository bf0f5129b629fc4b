"""The wheels of a bicycle where they turn: drawn, and measured against the frame."""

from dataclasses import replace

from frame3d.bicycle.geometry import Bicycle
from frame3d.model import Frame, Part


def with_wheels(frame: Frame, bicycle: Bicycle) -> Frame:
    """The frame with the wheels that the bicycle names, unless the job draws its own."""
    if any(part.kind == "wheel" for part in frame.show.parts):
        return frame
    nodes = bicycle.geometry.nodes()
    wheels = tuple(
        Part(
            f"{end} wheel",
            "wheel",
            nodes[f"{end} axle"],
            wheel.width,
            bicycle.geometry[f"{end}_wheel_radius"],
        )
        for end, wheel in (("rear", bicycle.rear_wheel), ("front", bicycle.front_wheel))
        if wheel is not None
    )
    return replace(frame, show=replace(frame.show, parts=(*wheels, *frame.show.parts)))
