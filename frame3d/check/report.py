"""The report of a whole frame, as data and as the JSON that other programs read."""

import math
from dataclasses import dataclass

from frame3d.bicycle.facts import BicycleFacts
from frame3d.check.gap import Footprint, Gap
from frame3d.check.report_section import Section, number
from frame3d.model import Frame, Joint
from frame3d.model.tube import Point
from frame3d.solids.frame_solids import Clash

FORMAT = "frame3d-report/1"


@dataclass(frozen=True)
class TubeReport:
    """od, length (tip to tip along the axis) in mm; volume in mm3; mass in g; centre of mass: world
    coordinates, mm; dropped: volumes of loose pieces that the cuts leave, mm3."""

    name: str
    material: str
    od: float
    length: float
    volume: float
    mass: float
    centre: Point
    dropped: tuple[float, ...]


@dataclass(frozen=True)
class PlateReport:
    """thickness in mm; volume in mm3; mass in g; centre of mass: world coordinates, mm."""

    name: str
    material: str
    thickness: float
    volume: float
    mass: float
    centre: Point


@dataclass(frozen=True)
class MateReport:
    """How a coped tube stands on one mate: angle and phase in degrees, the rest in mm."""

    tube: str
    angle: float
    offset: float
    phase: float
    saw: float | None
    footprint: Footprint | None


@dataclass(frozen=True)
class JointReport:
    """A coped end: figures in mm, None where no cope can be shaped; worst: clock position of
    the widest gap; reasons: why it fails; notes: what to know though it is no fault."""

    joint: Joint
    mates: tuple[MateReport, ...]
    seat: float | None
    gap: Gap | None
    worst: str | None
    limit: float
    reasons: tuple[str, ...]
    notes: tuple[str, ...] = ()

    @property
    def passes(self) -> bool:
        return not self.reasons


@dataclass(frozen=True)
class Report:
    """All tubes, joints, clashes and plates of a frame; sections: what else was looked at; facts:
    what a bicycle's numbers come to."""

    frame: Frame
    tubes: tuple[TubeReport, ...]
    joints: tuple[JointReport, ...]
    clashes: tuple[Clash, ...]
    sections: tuple[Section, ...] = ()
    plates: tuple[PlateReport, ...] = ()
    facts: BicycleFacts | None = None

    @property
    def _metal(self) -> list[TubeReport | PlateReport]:
        return [*self.tubes, *self.plates]

    @property
    def mass(self) -> float:
        """Of all tubes and plates, g; filler, paint and bought parts are not in it."""
        return sum(part.mass for part in self._metal)

    @property
    def centre(self) -> Point:
        """Centre of that mass, world coordinates, mm; nan where there is no metal."""
        metal = [part for part in self._metal if part.mass > 0]
        moment = [sum(part.mass * part.centre[axis] for part in metal) for axis in range(3)]
        x, y, z = (part / self.mass if metal else math.nan for part in moment)
        return x, y, z

    @property
    def passes(self) -> bool:
        parts = (*(joint.passes for joint in self.joints), *(s.passes for s in self.sections))
        return not self.clashes and all(parts)

    def as_json(self) -> dict[str, object]:
        """The report as design.md lays it down, ready for `json.dump`."""
        return {
            "format": FORMAT,
            "job": self.frame.name,
            "process": self.frame.process,
            "verdict": _verdict(self.passes),
            "mass_g": number(self.mass),
            "centre_mm": [number(part) for part in self.centre],
            "tubes": [_tube(tube) for tube in self.tubes],
            **({"plates": [_plate(plate) for plate in self.plates]} if self.plates else {}),
            "joints": [_joint(joint) for joint in self.joints],
            "clashes": [
                {
                    "tubes": list(clash.tubes),
                    "volume_mm3": number(clash.volume),
                    "remedy": clash.remedy,
                }
                for clash in self.clashes
            ],
            **(self.facts.as_json() if self.facts else {}),
            **{section.key: section.as_json() for section in self.sections},
        }


def _tube(tube: TubeReport) -> dict[str, object]:
    return {
        "name": tube.name,
        "material": tube.material,
        "od_mm": number(tube.od),
        "length_mm": number(tube.length),
        "volume_mm3": number(tube.volume),
        "mass_g": number(tube.mass),
        "centre_mm": [number(part) for part in tube.centre],
        "dropped_mm3": [number(volume) for volume in tube.dropped],
    }


def _plate(plate: PlateReport) -> dict[str, object]:
    return {
        "name": plate.name,
        "material": plate.material,
        "thickness_mm": number(plate.thickness),
        "volume_mm3": number(plate.volume),
        "mass_g": number(plate.mass),
        "centre_mm": [number(part) for part in plate.centre],
    }


def _joint(report: JointReport) -> dict[str, object]:
    gap = report.gap
    return {
        "tube": report.joint.tube,
        "end": report.joint.end,
        "cut": _cut(report.joint),
        "onto": [_mate(mate) for mate in report.mates],
        "seat_mm": number(report.seat),
        "gap_mm": {
            "max": number(gap.widest.value if gap else None),
            "mean": number(gap.mean if gap else None),
            "outer_max": number(gap.outer.value if gap else None),
            "inner_max": number(gap.inner.value if gap else None),
        },
        "worst_clock": report.worst,
        "limit_mm": number(report.limit),
        "verdict": _verdict(report.passes),
        "reasons": list(report.reasons),
        "notes": list(report.notes),
    }


def _cut(joint: Joint) -> dict[str, object]:
    method = joint.method
    note = {"note": method.note} if method.note else {}
    return {"by": joint.cut_by, "source": method.source, **note}


def _mate(mate: MateReport) -> dict[str, object]:
    footprint = mate.footprint
    return {
        "tube": mate.tube,
        "angle_deg": number(mate.angle),
        "offset_mm": number(mate.offset),
        "phase_deg": number(mate.phase),
        "saw_mm": number(mate.saw),
        "footprint_mm": footprint and [number(footprint.low), number(footprint.high)],
        "margin_mm": footprint and number(footprint.margin),
    }


def _verdict(passes: bool) -> str:
    return "pass" if passes else "fail"
