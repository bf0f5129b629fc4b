"""A virtual mill: follows the printed numbers, and nothing else, with a fresh tube.

It has its own arithmetic on purpose, but for closing in on a wall that changes. It knows the
machine (x right, y away, z up, the spindle along z) and what a builder does with each number; it
never sees the drawing.
"""

from dataclasses import dataclass, field, replace

import numpy as np

from frame3d.mill.virtual_tube import Array, Fresh, Sheet
from frame3d.surfaces.fixed_point import settled

RING = 720
RIMS = 7  # circles over the thickness of the teeth
SETTLED_MM, HERE_MM = 1e-5, 1e-3
SEEN_MM, SEEN_DEG = 0.005, 0.01  # what a builder would notice on scale and gauge
ABOVE_MM = 1e-9  # heights are that exact
FAR_MM = 1e4
FITS_MM = 0.16  # a split block closes on a tube so much smaller; more takes a shim


class MillError(RuntimeError):
    """The numbers cannot be followed: they contradict each other, the saw hits a block, or it
    bottoms out in its cup."""


@dataclass(frozen=True, eq=False)
class Bite:
    """What one pass took, in the coordinates of the end that was cut (see `fresh`). Lengths mm.

    end: which end; foot: centre of the teeth where the stop tripped (3,); up: unit direction from
    there back to the spindle (3,); radius: of the saw
    """

    end: str
    foot: Array
    up: Array
    radius: float

    def entry(self, points: Array, along: Array) -> Array:
        """How far lines from `points` (N, 3) along the unit `along` (3,) run until cut: (N,).

        A line comes into what was cut by its side, or, in the air before a tube that grows wider,
        from below the teeth.
        """
        off = points - self.foot
        c, v = np.cross(off, self.up), np.cross(along, self.up)
        a, b = v @ v, c @ v
        height, rise = off @ self.up, along @ self.up
        with np.errstate(invalid="ignore", divide="ignore"):
            half = np.sqrt(b * b - a * (np.einsum("ij,ij->i", c, c) - self.radius**2))
            side, beyond = (-b - half) / a, (-b + half) / a
            t = np.maximum(side, -height / rise) if rise > 0 else side
            cut = (t >= 0) & (t <= beyond) & (height + t * rise >= -ABOVE_MM)
        return np.where(cut, t, np.inf)

    def through(self) -> "Bite":
        """The same with the teeth far below the tube."""
        return replace(self, foot=self.foot - FAR_MM * self.up)


@dataclass
class Workpiece:
    """The tube as it is now: where its square ends stand, and the bites taken so far."""

    fresh: Fresh
    square: dict[str, float]
    bites: list[Bite] = field(default_factory=list)

    def stops(self, end: str, y: Array, z: Array, severed: bool = False) -> Array:
        """Where metal stops on lines at (y, z) off the axis, followed towards an end from the
        middle, or from its last bend: distance from the raw blank's start end, (N,).

        severed: without what falls away where every cut has gone all through
        """
        straight = self.fresh.straight(end)
        bent = bool(self.fresh.sheet["bends"])
        middle = straight[0 if end == "end" else 1] if bent else self.fresh.length / 2
        sign = 1.0 if end == "end" else -1.0
        along = np.array([sign, 0.0, 0.0])
        points = np.stack([np.full(len(y), middle), y, z], axis=1)
        reach = np.full(len(y), sign * (self.square[end] - middle))
        for bite in self.bites:
            if bite.end == end:
                taken = bite.through() if severed else bite
                reach = np.minimum(reach, taken.entry(points, along))
        return np.asarray(middle + sign * reach)


def mill(sheet: Sheet, cuts: int | None = None, tooth: float | None = None) -> Workpiece:
    """Do all that the pages of one tube say, or its first cuts only.

    tooth: thickness of the saws' teeth, mm; the greatest of the page without it
    Raises MillError where the tools do not allow it or the numbers contradict each other.
    """
    fresh = Fresh(sheet)
    square = {"start": sheet["saw_off_start_mm"], "end": sheet["blank_mm"]}
    square["end"] -= sheet["saw_off_end_mm"]
    work = Workpiece(fresh, square)
    blocks = sheet["blocks"]
    beside = len(blocks) == 2  # another block stands flat beside the one that is turned
    turned = {"start": 0.0, "end": 0.0}  # how each block stands about the tube, from face 1
    for cut in sheet["cuts"][:cuts]:
        end, other = cut["end"], "start" if cut["end"] == "end" else "end"
        if fresh.is_oval:
            face_one = sheet["oval_deg"] - cut["bore_turn_deg"]
        elif sheet["bends"]:
            face_one = _flat(fresh, end) + cut["block_turn_deg"]
        else:
            turned[end] = (turned[other] if beside else 0.0) + cut["block_turn_deg"]
            face_one = sheet["face_one_deg"] + turned[end]
        up_line = face_one + 90.0 * (cut["face_up"] - 1)
        thick = cut["tooth_mm"] if tooth is None else tooth
        work.bites.append(_Clamped(work, cut, up_line).bite(thick))
    return work


def _flat(fresh: Fresh, end: str) -> float:
    """The line under face 1 where the bend nearest to an end lies flat: laid on a plate with the
    end to the right, so that the tube beyond the bend turns away. Degrees from the datum."""
    bends = fresh.sheet["bends"]
    if end == "end":
        at, beyond = fresh.length, bends[-1]["at_mm"]
    else:
        at, beyond = 0.0, fresh.turned(0)
    here, there = fresh.path(at), fresh.path(beyond)
    right = here[1] if end == "end" else -here[1]
    off = there[0] - here[0]
    away = off - (off @ right) * right
    up = np.cross(right, away / np.linalg.norm(away))
    return float(np.degrees(np.arctan2(up @ here[3], up @ here[2])))


class _Clamped:
    """The tube in the vise for one cut. Machine origin: on the tube's axis at the mark."""

    def __init__(self, work: Workpiece, cut: Sheet, up_line: float) -> None:
        self.work, self.cut = work, cut
        self.sheet, fresh = work.fresh.sheet, work.fresh
        self.sign = 1.0 if cut["end"] == "end" else -1.0
        line = np.radians(up_line)
        self.up_way = np.array([np.cos(line), np.sin(line)])
        if cut["mark_mm"] < 0.0:
            raise MillError("the mark stands off the tube")
        begin, way = self._from(cut["mark_from"], 0.0), 1.0 if cut["mark_from"] == "start" else -1.0
        self.mark = fresh.along(self.up_way, begin, way, cut["mark_mm"])
        # Before tilting: the end under the saw to the right, the wanted line up. Clockwise as seen
        # from the start is right-handed about start to end, which points right or left.
        to_end = np.array([self.sign, 0.0, 0.0])
        up = np.array([0.0, 0.0, 1.0])
        quarter = np.cross(to_end, up)
        datum = np.cos(line) * up - np.sin(line) * quarter
        rise = np.radians(cut["tilt_deg"]) * (1.0 if cut["high"] == "cut end high" else -1.0)
        tilt = np.array(
            [[np.cos(rise), 0, -np.sin(rise)], [0, 1, 0], [np.sin(rise), 0, np.cos(rise)]]
        )
        # Rows: the tube's own x, y, z as directions in the machine.
        self.axes = np.stack([to_end, datum, np.cross(to_end, datum)]) @ tilt.T
        self._check_mark(up_line)
        pointer = tilt @ (fresh.radius(self.mark, self.up_way) * up)
        self.spindle_x = pointer[0] + cut["x_move_mm"]
        self.half_width = fresh.half_width(self.mark, self.axes[1:, 1])
        second_touch = -(self.half_width + self.sheet["edge_tip_mm"] / 2)
        towards = {"none": 0.0, "towards the column": 1.0, "towards you": -1.0}[cut["offset_to"]]
        self.spindle_y = second_touch + cut["half_mm"] + towards * cut["offset_mm"]
        self.radius = cut["saw_mm"] / 2
        self._check_touches()
        self._check_blocks()
        self._check_far_end()

    def _from(self, end: str, distance: float) -> float:
        """A distance from an end as sawn off, as one from the raw blank's start end."""
        sheet = self.sheet
        if end == "start":
            return float(sheet["saw_off_start_mm"] + distance)
        return float(sheet["blank_mm"] - sheet["saw_off_end_mm"] - distance)

    def _check_mark(self, up_line: float) -> None:
        """The marked line faces up where the block says so, and the gauge reads as told."""
        cut, off = self.cut, (self.cut["line_up_deg"] - up_line + 180.0) % 360.0 - 180.0
        if abs(off) > SEEN_DEG:
            raise MillError("the marked line does not face up")
        around = self.work.fresh.girth(self.mark, cut["line_up_deg"])
        if abs(around - cut["around_mm"]) > SEEN_MM:
            raise MillError("the line stands elsewhere around the tube")
        if abs(cut["gauge_deg"] - cut["tilt_deg"]) > self.sheet["gauge_step_deg"] / 2 + 1e-3:
            raise MillError("the gauge does not read the tilt")

    def _check_touches(self) -> None:
        expected = 2 * self.half_width + self.sheet["edge_tip_mm"]
        if abs(expected - self.cut["across_mm"]) > 0.002:
            raise MillError("the edge finder reads otherwise across the tube")

    def _check_far_end(self) -> None:
        """The far end hangs where the page says."""
        fresh, end = self.work.fresh, self.cut["end"]
        if end == "start":
            far, here = fresh.length - self.sheet["saw_off_end_mm"], 0.0
        else:
            far, here = self.sheet["saw_off_start_mm"], fresh.length
        at_end, at_far = fresh.path(here), fresh.path(far)
        off = at_end[1:] @ (at_far[0] - at_end[0]) + np.array([here - self.mark, 0.0, 0.0])
        off = off @ self.axes
        if abs(off[2] + self.cut["drop_mm"]) > 0.05 or abs(off[1] - self.cut["aside_mm"]) > 0.05:
            raise MillError("the far end stands elsewhere")

    def _check_blocks(self) -> None:
        """A block grips the tube on a straight of one section; none of its corners is under the
        saw."""
        straight = self.work.fresh.straight(self.cut["end"])
        for block in self.sheet["blocks"]:
            if block["end"] not in (self.cut["end"], "both"):
                continue
            ends = (
                self._from(block["at_from"], block["at_mm"]),
                self._from(block["at_from"], block["to_mm"]),
            )
            half = block["width_mm"] / 2
            self._check_grip(block, ends, straight)
            for along in ends:
                for y, z in ((half, half), (half, -half), (-half, half), (-half, -half)):
                    out, up = self.sign * self.axes[0], np.array([0.0, 1.0, 0.0])
                    square = np.cross(out, up)
                    corner = self.sign * (along - self.mark) * out + y * up + z * square
                    if corner[0] > self.spindle_x - self.radius:
                        raise MillError("the saw runs into the block")

    def _check_grip(
        self, block: Sheet, ends: tuple[float, float], straight: tuple[float, float]
    ) -> None:
        fresh = self.work.fresh
        low, high = min(ends), max(ends)
        if fresh.sheet["bends"] and (low < straight[0] - SEEN_MM or high > straight[1] + SEEN_MM):
            raise MillError("the block stands on a bend")
        for at in np.linspace(low, high, 9):
            a, b = fresh.semi(float(at))
            bores = block["bore_mm"], block["bore_across_mm"]
            # A larger bore is shimmed all around, and must close evenly.
            shim = [bore - 2 * float(s) for bore, s in zip(bores, (a, b), strict=True)]
            if abs(shim[0] - shim[1]) > 2 * SEEN_MM or min(shim) < -FITS_MM or max(shim) > 4.1:
                raise MillError("the block does not grip the tube evenly")

    def bite(self, tooth: float) -> Bite:
        """Touch off with teeth of that thickness, run down to the stop, and note what was cut in
        the tube's coordinates."""
        around: Array = np.linspace(0.0, 2 * np.pi, RING, endpoint=False)
        # Teeth over equal steps about the tube too: its sides fall off too steeply for the others.
        lines = np.concatenate(
            [
                self.work.fresh.half_width(self.mark, self.axes[1:, 1], bore) * np.sin(around)
                for bore in (False, True)
            ]
        )
        lines = (lines - self.spindle_y) / self.radius
        lines = np.arcsin(lines[np.abs(lines) <= 1.0])
        teeth = np.concatenate([around, lines, np.pi - lines])
        met = np.concatenate([self._metal_under(np.ones_like(teeth), teeth), self._met(around)])
        if not np.isfinite(met).any():
            raise MillError("the saw's teeth meet no metal")
        inner = max(1.0 - tooth / self.radius, 0.05)
        share, turn = (g.ravel() for g in np.meshgrid(np.linspace(inner, 1.0, RIMS), teeth))
        touch = float(np.nanmax([np.nanmax(met), np.nanmax(self._metal_under(share, turn))]))
        run = self.cut["run_mm"]
        share, turn = (g.ravel() for g in np.meshgrid(np.linspace(0.05, inner, 20), around))
        top = float(np.nanmax(self._metal_under(share, turn), initial=-np.inf))
        self._run_down(top - touch, run)
        foot = np.array([self.spindle_x, self.spindle_y, touch - run])
        mark = np.array([self.mark, 0.0, 0.0])
        return Bite(self.cut["end"], mark + self.axes @ foot, self.axes[:, 2], self.radius)

    def _met(self, turn: Array) -> Array:
        """Heights at which lines along outside and bore, at angles (N,) about the tube, first meet
        the saw's cylinder: (2 N,). nan where they do not, or no metal stands there any more."""
        return np.concatenate([self._met_along(turn, bore) for bore in (False, True)])

    def _met_along(self, turn: Array, bore: bool) -> Array:
        fresh, end, upright = self.work.fresh, self.cut["end"], self.axes[:, 2]
        mark = np.array([self.mark, 0.0, 0.0])
        spindle = mark + self.axes @ np.array([self.spindle_x, self.spindle_y, 0.0])
        saw = Bite(end, spindle, upright, self.radius).through()
        low, high = fresh.straight(end)
        begin = (low if self.sign > 0 else high) if fresh.sheet["bends"] else fresh.length / 2

        def lines(at: Array) -> tuple[Array, Array, Array]:
            a, b = fresh.semi(at, bore)
            across = (a * np.cos(turn))[:, None] * fresh.od_way
            across = across + (b * np.sin(turn))[:, None] * fresh.across_way
            origins = np.column_stack([np.full(len(turn), begin), across])
            entry = saw.entry(origins, np.array([self.sign, 0.0, 0.0]))
            return across, entry, self.work.stops(end, across[:, 0], across[:, 1], severed=True)

        def place(at: Array) -> Array:
            _, entry, stop = lines(at)
            return np.where(np.isfinite(entry), begin + self.sign * entry, stop)

        at = np.full(len(turn), self.mark)
        at = place(at) if self._even else settled(place, at, SETTLED_MM)
        across, entry, stop = lines(at)
        here = np.abs(begin + self.sign * entry - at) < HERE_MM
        stands = here & (self.sign * (stop - at) > 0.0)
        return np.where(stands, (np.column_stack([at, across]) - mark) @ upright, np.nan)

    @property
    def _even(self) -> bool:
        """Whether the tube has one section all along."""
        profiles = (self.sheet[key] for key in ("od_mm", "wall_mm", "across_od_mm"))
        return all(len(stations) < 2 for stations in profiles)

    def _run_down(self, above: float, run: float) -> None:
        """In one pass, or clearing the saw after each so deep; above: metal over the first touch
        that stands inside the saw."""
        step = self.cut["clear_mm"] or run
        done = 0.0
        while done < run:
            done += min(step, run - done)
            if above + done > self.cut["cup_mm"]:
                tall = above + done
                raise MillError(f"{tall:.2f} mm of tube in a cup of {self.cut['cup_mm']:.2f} mm")
            above = -done  # what stands inside is snipped off

    def _metal_under(self, share: Array, turn: Array) -> Array:
        """Heights of outside and bore, upper and lower half of each, under the saw: (4 N,).

        share: of the saw's radius; turn: radians about the spindle. nan where no metal stands.
        """
        x = self.spindle_x + self.radius * share * np.cos(turn)
        y = self.spindle_y + self.radius * share * np.sin(turn)
        faces = [(bore, side) for bore in (False, True) for side in (1.0, -1.0)]
        return np.concatenate([self._heights(x, y, bore, side) for bore, side in faces])

    def _heights(self, x: Array, y: Array, bore: bool, side: float) -> Array:
        """Where upright lines through (x, y) pierce the upper (side 1) or lower (-1) face: (N,)."""
        fresh, upright = self.work.fresh, self.axes[:, 2]
        mark = np.array([self.mark, 0.0, 0.0])
        points = mark + np.stack([x, y, np.zeros_like(x)], axis=1) @ self.axes.T
        ways = np.stack([fresh.od_way, fresh.across_way])

        def face(z: Array) -> Array:
            at = points[:, 0] + np.nan_to_num(z) * upright[0]
            semi = np.stack(fresh.semi(at, bore))
            p = ways @ points[:, 1:].T / semi
            u = (ways @ upright[1:])[:, None] / semi
            a, b = (u * u).sum(axis=0), (p * u).sum(axis=0)
            square = b * b - a * ((p * p).sum(axis=0) - 1.0)
            return np.asarray((-b + side * np.sqrt(np.where(square >= 0, square, np.nan))) / a)

        z = face(np.zeros_like(x)) if self._even else settled(face, np.zeros_like(x), SETTLED_MM)
        at3 = points + z[:, None] * upright
        stop = self.work.stops(self.cut["end"], at3[:, 1], at3[:, 2], severed=True)
        stands = at3[:, 0] <= stop if self.sign > 0 else at3[:, 0] >= stop
        return np.where(stands, z, np.nan)
