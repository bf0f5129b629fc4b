"""How much filler a joint takes: the fillet along its line, and the gap under it."""

from dataclasses import dataclass
from math import ceil

import numpy as np

from frame3d.check.filler_metals import filler_row, process_reason, usual_radius
from frame3d.check.gap import clock
from frame3d.model import Frame, Joint
from frame3d.model.tube_section import lateral
from frame3d.surfaces.cope import Cope, Copes
from frame3d.surfaces.fillet import corner_of, fillet_of
from frame3d.tables import rows

GAP_STEPS = 1440  # around a joint
WALL_STEPS = 24


@dataclass(frozen=True)
class Room:
    """What a joint has to be filled. length: of the joint's line, mm; least, most: local angle
    between the surfaces, degrees, with clock positions; fillet, gap: volumes, mm3."""

    length: float
    least: float
    least_at: str
    most: float
    most_at: str
    fillet: float
    gap: float


@dataclass(frozen=True)
class Filler:
    """What one joint takes. radius: of its fillet, mm; room: None where none can be told; name: of
    the filler, mass: g, rod: mm, both with what is lost: None where none fits; reasons: why not."""

    joint: Joint
    radius: float
    room: Room | None = None
    name: str | None = None
    mass: float | None = None
    rod: float | None = None
    reasons: tuple[str, ...] = ()


@dataclass(frozen=True)
class Rods:
    """What a frame takes of one filler. mass: g; length: mm of rod; count: of rods, sold in `sold`
    mm and `thick` mm thick; density: g/cm3; lost: share that is lost or filed off."""

    name: str
    mass: float
    length: float
    count: int
    sold: float
    thick: float
    density: float
    lost: float

    def __str__(self) -> str:
        return (
            f"{self.name}: {self.mass:.0f} g, {self.length:.0f} mm of rod, "
            f"{self.count} of {self.sold:.0f} mm; taken for it: {self.density:g} g/cm³, rod of "
            f"{self.thick:g} mm, {100 * self.lost:.0f} % lost or filed off"
        )


def fillers_of(frame: Frame, copes: Copes, radius: float | None = None) -> list[Filler]:
    """Filler of all joints; `radius` of the fillets, mm, instead of the usual ones."""
    return [
        filler_of(frame, joint, copes.get((joint.tube, joint.end)), radius)
        for joint in frame.joints
    ]


def filler_of(frame: Frame, joint: Joint, cope: Cope | None, radius: float | None = None) -> Filler:
    """Filler of one joint; `radius` of the fillet, mm, instead of the usual one for its tube."""
    tube = frame.tube(joint.tube)
    if radius is None:
        od = float(tube.od(tube.length if joint.end == "end" else 0.0))
        radius = usual_radius(frame.process, od)
    unfit = tuple(process_reason(frame, joint))
    if cope is None:
        why = f"the {joint.end} of {joint.tube} is too near parallel to its mates to be shaped"
        return Filler(joint, radius, reasons=(why, *unfit))
    try:
        room = room_of(cope, radius)
    except ValueError as error:
        return Filler(joint, radius, reasons=(str(error), *unfit))
    usual = filler_row(frame, joint)
    if usual is None:
        return Filler(joint, radius, room, reasons=unfit)
    spent = (room.fillet + room.gap) / float(usual["used_share"])
    mass = spent * float(usual["density_g_cm3"]) / 1000.0
    rod = spent / (np.pi / 4 * float(usual["rod_mm"]) ** 2)
    return Filler(joint, radius, room, usual["filler"], mass, rod)


def room_of(cope: Cope, radius: float) -> Room:
    """What a joint has to be filled, with a fillet of `radius`, mm.

    Raises ValueError where the tube does not meet its mates all around, or the fillet has no place.
    """
    corner = corner_of(cope)
    low, high = int(corner.angle.argmin()), int(corner.angle.argmax())
    return Room(
        corner.length,
        float(np.degrees(corner.angle[low])),
        clock(cope, float(corner.theta[low])),
        float(np.degrees(corner.angle[high])),
        clock(cope, float(corner.theta[high])),
        fillet_of(cope, corner, radius).volume,
        gap_volume(cope),
    )


def rods_of(fillers: list[Filler]) -> list[Rods]:
    """What the whole frame takes, of each filler."""
    found = []
    for row in rows("fillers"):
        own = [one for one in fillers if one.name and one.name == row["filler"]]
        if own:
            length = sum(one.rod or 0.0 for one in own)
            sold = float(row["rod_length_mm"])
            found.append(
                Rods(
                    row["filler"],
                    sum(one.mass or 0.0 for one in own),
                    length,
                    ceil(length / sold),
                    sold,
                    float(row["rod_mm"]),
                    float(row["density_g_cm3"]),
                    1 - float(row["used_share"]),
                )
            )
    return found


def gap_volume(cope: Cope) -> float:
    """Volume between the seated end and its mates, mm3: the open length of each of the tube's
    lines times its share of the wall's section, a quadrilateral by its diagonals."""
    theta = np.arange(GAP_STEPS) * (2 * np.pi / GAP_STEPS)
    depth = (np.arange(WALL_STEPS) + 0.5) / WALL_STEPS
    flat_theta, flat_depth = (g.ravel() for g in np.meshgrid(theta, depth, indexing="ij"))
    lack = cope.lack_of_room(flat_theta, flat_depth)
    stop = np.nan_to_num(cope.position(flat_theta, flat_depth), posinf=0.0)
    station = cope.tube.length + stop if cope.end == "end" else -stop
    half_turn, half_wall = np.pi / GAP_STEPS, 0.5 / WALL_STEPS
    corners = [
        lateral(cope.tube, station, flat_theta + turn * half_turn, flat_depth + deep * half_wall)
        for turn, deep in ((-1, -1), (-1, 1), (1, 1), (1, -1))
    ]
    one, other = corners[2] - corners[0], corners[3] - corners[1]
    area = abs(one[:, 0] * other[:, 1] - one[:, 1] * other[:, 0]) / 2
    open_ = np.where(np.isfinite(lack), np.maximum(-lack, 0.0), 0.0)
    return float((open_ * area).sum())
