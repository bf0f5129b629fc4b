"""A virtual mill: follows the printed numbers, and nothing else, with a fresh tube.

It has its own arithmetic on purpose. It knows the machine (x right, y away, z up, the spindle along
z) and what a builder does with each number; it never sees the drawing.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Sheet = Mapping[str, Any]

RING = 720


class MillError(RuntimeError):
    """The numbers cannot be followed: the saw hits a block, or bottoms out in its cup."""


@dataclass(frozen=True, eq=False)
class Bite:
    """What one pass took, in the tube's own coordinates: x along it from the blank's start end, y
    to the datum line, z a quarter turn clockwise from it as seen from the start. Lengths mm.

    end: which end; foot: centre of the teeth where the stop tripped (3,); up: unit direction from
    there back to the spindle (3,); radius: of the saw
    """

    end: str
    foot: Array
    up: Array
    radius: float

    def entry(self, points: Array, along: Array) -> Array:
        """How far lines from `points` (N, 3) along the unit `along` (3,) run until cut: (N,)."""
        off = points - self.foot
        c, v = np.cross(off, self.up), np.cross(along, self.up)
        a, b = v @ v, c @ v
        with np.errstate(invalid="ignore"):
            t = (-b - np.sqrt(b * b - a * (np.einsum("ij,ij->i", c, c) - self.radius**2))) / a
            deep_enough = (off @ self.up) + t * (along @ self.up) >= 0.0
        return np.where((t >= 0) & deep_enough, t, np.inf)


@dataclass
class Workpiece:
    """The tube as it is now: where its square ends stand, and the bites taken so far."""

    sheet: Sheet
    square: dict[str, float]
    bites: list[Bite] = field(default_factory=list)

    def od(self, at: float | Array) -> Array:
        return _along(self.sheet["od_mm"], at)

    def wall(self, at: float | Array) -> Array:
        return _along(self.sheet["wall_mm"], at)

    def stops(self, end: str, y: Array, z: Array) -> Array:
        """Where metal stops on lines at (y, z) off the axis, followed from the middle to an end:
        distance from the blank's start end, (N,)."""
        middle = self.sheet["blank_mm"] / 2
        sign = 1.0 if end == "end" else -1.0
        along = np.array([sign, 0.0, 0.0])
        points = np.stack([np.full(len(y), middle), y, z], axis=1)
        reach = np.full(len(y), sign * (self.square[end] - middle))
        for bite in self.bites:
            if bite.end == end:
                reach = np.minimum(reach, bite.entry(points, along))
        return np.asarray(middle + sign * reach)


def _along(stations: list[tuple[float, float]], at: float | Array) -> Array:
    places, values = zip(*stations, strict=True)
    return np.asarray(np.interp(at, places, values))


def mill(sheet: Sheet) -> Workpiece:
    """Do all that the pages of one tube say. Raises MillError where the tools do not allow it."""
    blank = sheet["blank_mm"]
    work = Workpiece(sheet, {"start": 0.0, "end": blank})
    turned = {"start": 0.0, "end": 0.0}  # how each block stands about the tube, from face 1
    for cut in sheet["cuts"]:
        end, other = cut["end"], "start" if cut["end"] == "end" else "end"
        turned[end] = turned[other] + cut["block_turn_deg"]
        up_line = sheet["face_one_deg"] + turned[end] + 90.0 * (cut["face_up"] - 1)
        sign = 1.0 if end == "end" else -1.0
        work.square[end] -= sign * cut["saw_off_mm"]
        work.bites.append(_Clamped(work, cut, np.radians(up_line)).bite())
    return work


class _Clamped:
    """The tube in the vise for one cut. Machine origin: on the tube's axis at the mark."""

    def __init__(self, work: Workpiece, cut: Sheet, up_line: float) -> None:
        self.work, self.cut = work, cut
        sign = 1.0 if cut["end"] == "end" else -1.0
        # Before tilting: the end under the saw to the right, the wanted line up. Clockwise as seen
        # from the start is right-handed about start to end, which points right or left.
        to_end = np.array([sign, 0.0, 0.0])
        up = np.array([0.0, 0.0, 1.0])
        quarter = np.cross(to_end, up)
        datum = np.cos(up_line) * up - np.sin(up_line) * quarter
        rise = np.radians(cut["tilt_deg"]) * (1.0 if cut["high"] == "cut end high" else -1.0)
        tilt = np.array(
            [[np.cos(rise), 0, -np.sin(rise)], [0, 1, 0], [np.sin(rise), 0, np.cos(rise)]]
        )
        # Rows: the tube's own x, y, z as directions in the machine.
        self.axes = np.stack([to_end, datum, np.cross(to_end, datum)]) @ tilt.T
        radius = float(work.od(cut["mark_mm"])) / 2
        pointer = tilt @ (radius * up)
        self.spindle_x = pointer[0] + cut["x_move_mm"]
        second_touch = -(radius + work.sheet["edge_tip_mm"] / 2)
        towards = {"none": 0.0, "towards the column": 1.0, "towards you": -1.0}[cut["offset_to"]]
        self.spindle_y = second_touch + cut["half_mm"] + towards * cut["offset_mm"]
        self.radius = cut["saw_mm"] / 2
        self.radii = radius, radius - float(work.wall(cut["mark_mm"]))
        self._check_touches(radius)
        self._check_blocks()

    def _check_touches(self, radius: float) -> None:
        expected = 2 * radius + self.work.sheet["edge_tip_mm"]
        if abs(expected - self.cut["across_mm"]) > 0.002:
            raise MillError("the edge finder reads otherwise across the tube")

    def _check_blocks(self) -> None:
        """No corner of this end's block may stand under the saw."""
        for block in self.work.sheet["blocks"]:
            if block["end"] != self.cut["end"]:
                continue
            sign = 1.0 if block["end"] == "end" else -1.0
            half = block["width_mm"] / 2
            for along in (block["at_mm"], block["at_mm"] - sign * block["length_mm"]):
                for y, z in ((half, half), (half, -half), (-half, half), (-half, -half)):
                    out, up = sign * self.axes[0], np.array([0.0, 1.0, 0.0])
                    square = np.cross(out, up)
                    corner = sign * (along - self.cut["mark_mm"]) * out + y * up + z * square
                    if corner[0] > self.spindle_x - self.radius:
                        raise MillError("the saw runs into the block")

    def bite(self) -> Bite:
        """Touch off, run down to the stop, and note what was cut in the tube's coordinates."""
        around = np.arange(RING) * (2 * np.pi / RING)
        # Teeth over equal steps about the tube too: its sides fall off too steeply for the others.
        lines = np.concatenate(
            [(r * np.sin(around) - self.spindle_y) / self.radius for r in self.radii]
        )
        lines = np.arcsin(lines[np.abs(lines) <= 1.0])
        teeth = np.concatenate([around, lines, np.pi - lines])
        under = self._metal_under(np.ones_like(teeth), teeth)
        if not np.isfinite(under).any():
            raise MillError("the saw's teeth meet no metal")
        floor = np.nanmax(under) - self.cut["run_mm"]
        share, turn = (g.ravel() for g in np.meshgrid(np.linspace(0.05, 1.0, 20), around))
        tall = np.nanmax(self._metal_under(share, turn)) - floor
        if tall > self.cut["cup_mm"]:
            raise MillError(f"{tall:.2f} mm of tube in a cup of {self.cut['cup_mm']:.2f} mm")
        foot = np.array([self.spindle_x, self.spindle_y, floor])
        mark = np.array([self.cut["mark_mm"], 0.0, 0.0])
        return Bite(self.cut["end"], mark + self.axes @ foot, self.axes[:, 2], self.radius)

    def _metal_under(self, share: Array, turn: Array) -> Array:
        """Heights of outside and bore, upper and lower half of each, under the saw: (4 N,).

        share: of the saw's radius; turn: radians about the spindle. nan where no metal stands.
        """
        x = self.spindle_x + self.radius * share * np.cos(turn)
        y = self.spindle_y + self.radius * share * np.sin(turn)
        # An upright line through (x, y), in the tube's coordinates: where it pierces the outside.
        mark = np.array([self.cut["mark_mm"], 0.0, 0.0])
        points = mark + np.stack([x, y, np.zeros_like(x)], axis=1) @ self.axes.T
        upright = self.axes[:, 2]
        a = upright[1:] @ upright[1:]
        b = points[:, 1:] @ upright[1:]
        found = []
        for radius in self.radii:
            square = b * b - a * (np.einsum("ij,ij->i", points[:, 1:], points[:, 1:]) - radius**2)
            root = np.sqrt(np.where(square >= 0, square, np.nan))
            for z in ((-b + root) / a, (-b - root) / a):
                at = points + z[:, None] * upright
                stop = self.work.stops(self.cut["end"], at[:, 1], at[:, 2])
                stands = at[:, 0] <= stop if self.cut["end"] == "end" else at[:, 0] >= stop
                found.append(np.where(stands, z, np.nan))
        return np.concatenate(found)
