"""What `frame3d filler --json` prints."""

from typing import Literal

from pydantic import Field

from frame3d.check.filler import Filler, rods_of
from frame3d.check.report_section import number
from frame3d.check.vents import VentAdvice
from frame3d.document import Document, Part
from frame3d.model import Frame


class JointFiller(Part):
    """What one joint takes; null where it cannot be told."""

    tube: str
    end: Literal["start", "end"]
    line_mm: float | None = Field(description="length of the joint's line")
    least_angle_deg: float | None = Field(description="smallest angle between the two outsides")
    least_angle_clock: str | None = Field(description="clock position where that is")
    most_angle_deg: float | None = Field(description="greatest angle between the two outsides")
    most_angle_clock: str | None = Field(description="clock position where that is")
    fillet_radius_mm: float = Field(description="of the ball that, rolled along, leaves it out")
    fillet_mm3: float | None = Field(description="volume of the fillet")
    gap_mm3: float | None = Field(description="volume of the gap")
    filler: str | None = Field(description="name of the filler metal")
    filler_g: float | None = Field(description="mass of the filler, with what is lost")
    rod_mm: float | None = Field(description="length of rod, with what is lost")
    reasons: tuple[str, ...] = Field(description="why not, in words")


class FillerRods(Part):
    """What the frame takes of one filler."""

    filler: str
    filler_g: float | None
    rod_mm: float | None = Field(description="length of rod")
    rods: int = Field(description="how many, whole")
    rod_length_mm: float | None = Field(description="of one rod as sold")
    rod_diameter_mm: float | None
    lost_share: float | None = Field(description="share that is lost or filed off, 0 to 1")


class VentHole(Part):
    """A [[hole]] that lets the gas out, keys as in the job file, lengths in mm."""

    tube: str
    at: float
    angle_deg: float
    diameter: float
    kind: str


class FillerDocument(Document):
    """What each joint of a frame takes, the rods, and the tubes that lack a vent."""

    format: Literal["frame3d-filler/2"] = "frame3d-filler/2"
    job: str = Field(description="the job's name")
    joints: tuple[JointFiller, ...]
    rods: tuple[FillerRods, ...]
    vents: tuple[str, ...] = Field(description="tubes without a way for hot gas, in words")
    vent_holes: tuple[VentHole, ...]


def filler_document(frame: Frame, joints: list[Filler], advice: list[VentAdvice]) -> FillerDocument:
    """The figures of all joints."""
    return FillerDocument(
        job=frame.name,
        joints=tuple(_joint(one) for one in joints),
        rods=tuple(
            FillerRods(
                filler=one.name,
                filler_g=number(one.mass),
                rod_mm=number(one.length),
                rods=one.count,
                rod_length_mm=number(one.sold),
                rod_diameter_mm=number(one.thick),
                lost_share=number(one.lost),
            )
            for one in rods_of(joints)
        ),
        vents=tuple(one.words for one in advice),
        vent_holes=tuple(
            VentHole(
                tube=hole.tube,
                at=hole.at,
                angle_deg=hole.angle,
                diameter=hole.diameter,
                kind=hole.kind,
            )
            for hole in (one.hole for one in advice)
            if hole
        ),
    )


def _joint(one: Filler) -> JointFiller:
    room = one.room
    return JointFiller(
        tube=one.joint.tube,
        end=one.joint.end,
        line_mm=number(room.length) if room else None,
        least_angle_deg=number(room.least) if room else None,
        least_angle_clock=room.least_at if room else None,
        most_angle_deg=number(room.most) if room else None,
        most_angle_clock=room.most_at if room else None,
        fillet_radius_mm=round(one.radius, 6),
        fillet_mm3=number(room.fillet) if room else None,
        gap_mm3=number(room.gap) if room else None,
        filler=one.name,
        filler_g=number(one.mass),
        rod_mm=number(one.rod),
        reasons=one.reasons,
    )
