"""How much filler a joint takes: its line, the angle between the surfaces around it, the fillet
along it, and the gap under it.

The fillet's section is the corner between two flat faces at the local angle a, closed by an arc
of radius R that touches both: area R^2 (cot(a/2) - (pi - a)/2), by plane geometry. It is swept
along the real line; a curved line sweeps more on its outer side, by Pappus' theorem.
"""

from dataclasses import dataclass

import numpy as np

from frame3d.fit.figures import clock
from frame3d.fit.section import number
from frame3d.fit.vents import VentAdvice
from frame3d.model import Frame, Joint
from frame3d.model.section import lateral
from frame3d.surfaces.cope import Cope
from frame3d.surfaces.outer import outer_surface
from frame3d.surfaces.surface import Array, Surface
from frame3d.tables import row

STEPS = 1440  # around a joint
WALL_STEPS = 24
PROBE_MM = 1e-4  # distance over which a surface's normal is taken


@dataclass(frozen=True, eq=False)
class JointLine:
    """The outer edge of a seated end, laid on its mates.

    points: (T, 3) mm, world; angle: (T,) between the surfaces through the air, radians;
    theta: (T,); bisector: (T, 3) unit, from the line into the middle of the corner
    """

    theta: Array
    points: Array
    angle: Array
    bisector: Array

    @property
    def length(self) -> float:
        """mm."""
        return float(np.linalg.norm(_after(self.points) - self.points, axis=1).sum())


@dataclass(frozen=True)
class Filler:
    """What one joint takes. length: of the joint's line, mm; least, most: local angle between the
    surfaces, degrees, with clock positions; fillet, gap: volumes, mm3; mass: g, rod: mm, both with
    what is lost."""

    joint: Joint
    length: float
    least: float
    least_at: str
    most: float
    most_at: str
    radius: float
    fillet: float
    gap: float
    mass: float
    rod: float


def filler_of(frame: Frame, joint: Joint, cope: Cope, radius: float | None = None) -> Filler:
    """Filler of one joint; `radius` of the fillet, mm, instead of the process's usual one."""
    usual = row("filler", frame.process)
    radius = float(usual["fillet_radius_mm"]) if radius is None else radius
    line = joint_line(cope)
    fillet = fillet_volume(line, radius)
    gap = gap_volume(cope)
    spent = (fillet + gap) / float(usual["used_share"])
    low, high = int(line.angle.argmin()), int(line.angle.argmax())
    return Filler(
        joint,
        line.length,
        float(np.degrees(line.angle[low])),
        clock(cope, float(line.theta[low])),
        float(np.degrees(line.angle[high])),
        clock(cope, float(line.theta[high])),
        radius,
        fillet,
        gap,
        spent * float(usual["density_g_cm3"]) / 1000.0,
        spent / (np.pi / 4 * float(usual["rod_mm"]) ** 2),
    )


def assumed(frame: Frame) -> str:
    """What the mass and the length of rod rest on, in words: the table's row for the process."""
    usual = row("filler", frame.process)
    lost = 100 * (1 - float(usual["used_share"]))
    return (
        f"taken for it: {usual['filler']}, {float(usual['density_g_cm3']):g} g/cm³, rod of "
        f"{float(usual['rod_mm']):g} mm, {lost:.0f} % lost or filed off"
    )


def joint_line(cope: Cope, steps: int = STEPS) -> JointLine:
    """The line of a joint and the angle around it.

    Raises ValueError where a part of the end is not shaped.
    """
    theta = np.asarray(np.arange(steps) * (2 * np.pi / steps), np.float64)
    points = cope.points(theta, np.ones(steps))
    if not np.isfinite(points).all():
        raise ValueError(f"the {cope.end} of {cope.tube.name} is not shaped all around")
    distances = np.stack([mate.distance(points) for mate in cope.mates])
    nearest = distances.argmin(axis=0)
    normal = np.empty_like(points)
    for which, mate in enumerate(cope.mates):
        on = nearest == which
        normal[on] = _normal(mate, points[on])
    outside = _normal(outer_surface(cope.tube), points)
    points = points - distances.min(axis=0)[:, None] * normal
    cosine = np.clip((outside * normal).sum(axis=1), -1.0, 1.0)
    middle = outside + normal
    size = np.linalg.norm(middle, axis=1, keepdims=True)
    bisector = np.divide(middle, size, out=np.zeros_like(middle), where=size > 0)
    return JointLine(theta, points, np.pi - np.arccos(cosine), bisector)


def fillet_area(angle: Array, radius: float) -> Array:
    """Section (N,), mm2, of a fillet between flat faces at `angle` (N,), radians."""
    half = np.maximum(angle, 1e-3) / 2
    return np.asarray(radius**2 * (1 / np.tan(half) - (np.pi - angle) / 2))


def fillet_centroid(angle: Array, radius: float) -> Array:
    """Distance (N,) of the section's centroid from the corner, along the bisector, mm.

    The kite of corner, two points of touch and the arc's centre, less the arc's sector.
    """
    half = np.maximum(angle, 1e-3) / 2
    sector_half = np.maximum((np.pi - angle) / 2, 1e-9)
    centre = radius / np.sin(half)
    kite, sector = radius**2 / np.tan(half), radius**2 * sector_half
    # Each half of the kite is a triangle of corner, point of touch and centre.
    kite_at = (radius / np.tan(half) * np.cos(half) + centre) / 3
    sector_at = centre - 2 * radius * np.sin(sector_half) / (3 * sector_half)
    return np.asarray((kite * kite_at - sector * sector_at) / np.maximum(kite - sector, 1e-12))


def fillet_volume(line: JointLine, radius: float) -> float:
    """Volume of a fillet along the line, mm3."""
    before, after = np.roll(line.points, 1, axis=0), _after(line.points)
    back = np.linalg.norm(line.points - before, axis=1)
    ahead = np.linalg.norm(after - line.points, axis=1)
    step = (back + ahead) / 2
    curving = ((after - line.points) / ahead[:, None] - (line.points - before) / back[:, None]) / (
        step[:, None]
    )
    lever = (curving * line.bisector).sum(axis=1) * fillet_centroid(line.angle, radius)
    swept = fillet_area(line.angle, radius) * np.maximum(1 - lever, 0.0)
    return float((swept * step).sum())


def gap_volume(cope: Cope) -> float:
    """Volume between the seated end and its mates, mm3: the open length of each of the tube's
    lines times its share of the wall's section, a quadrilateral by its diagonals."""
    theta = np.arange(STEPS) * (2 * np.pi / STEPS)
    depth = (np.arange(WALL_STEPS) + 0.5) / WALL_STEPS
    flat_theta, flat_depth = (g.ravel() for g in np.meshgrid(theta, depth, indexing="ij"))
    lack = cope.lack_of_room(flat_theta, flat_depth)
    stop = np.nan_to_num(cope.position(flat_theta, flat_depth), posinf=0.0)
    station = cope.tube.length + stop if cope.end == "end" else -stop
    half_turn, half_wall = np.pi / STEPS, 0.5 / WALL_STEPS
    corners = [
        lateral(cope.tube, station, flat_theta + turn * half_turn, flat_depth + deep * half_wall)
        for turn, deep in ((-1, -1), (-1, 1), (1, 1), (1, -1))
    ]
    one, other = corners[2] - corners[0], corners[3] - corners[1]
    area = abs(one[:, 0] * other[:, 1] - one[:, 1] * other[:, 0]) / 2
    open_ = np.where(np.isfinite(lack), np.maximum(-lack, 0.0), 0.0)
    return float((open_ * area).sum())


def _normal(surface: Surface, points: Array) -> Array:
    """Outward unit normals (N, 3), by central differences of the distance."""
    steps = PROBE_MM * np.eye(3)
    slope = np.stack(
        [surface.distance(points + step) - surface.distance(points - step) for step in steps], 1
    )
    return np.asarray(slope / np.linalg.norm(slope, axis=1, keepdims=True))


def _after(points: Array) -> Array:
    return np.roll(points, -1, axis=0)


def as_json(frame: Frame, joints: list[Filler], advice: list[VentAdvice]) -> dict[str, object]:
    """The figures of all joints, ready for `json.dump`."""
    return {
        "format": "frame3d-filler/1",
        "job": frame.name,
        "filler": row("filler", frame.process)["filler"],
        "joints": [
            {
                "tube": one.joint.tube,
                "end": one.joint.end,
                "line_mm": number(one.length),
                "least_angle_deg": number(one.least),
                "least_angle_clock": one.least_at,
                "most_angle_deg": number(one.most),
                "most_angle_clock": one.most_at,
                "fillet_radius_mm": number(one.radius),
                "fillet_mm3": number(one.fillet),
                "gap_mm3": number(one.gap),
                "filler_g": number(one.mass),
                "rod_mm": number(one.rod),
            }
            for one in joints
        ],
        "vents": [one.words for one in advice],
        "vent_holes": [
            {
                "tube": hole.tube,
                "at": hole.at,
                "angle_deg": hole.angle,
                "diameter": hole.diameter,
                "kind": hole.kind,
            }
            for hole in (one.hole for one in advice)
            if hole
        ],
    }
