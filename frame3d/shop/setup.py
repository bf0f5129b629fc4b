"""From a frame to the numbers of its mill pages."""

from dataclasses import dataclass

import numpy as np

from frame3d.model import ENDS, End, Frame, Joint, Mill, Profile, Tube
from frame3d.shop.blank import EDGE_MM, Blank, blank_of, mark_outward
from frame3d.shop.blocks import Placing, place
from frame3d.shop.metal import Metal, depth_of, radius_at, takes_metal, waste_to_saw_off
from frame3d.shop.numbers import angle, direction_angle, length
from frame3d.shop.pose import Pose, pose_of
from frame3d.shop.sheets import (
    CUT_HIGH,
    CUT_LOW,
    OFFSET_COLUMN,
    OFFSET_NONE,
    OFFSET_OPERATOR,
    Cut,
    Seat,
    TubeSheet,
)
from frame3d.surfaces.cope import Copes

CHIPS_MM = 2.0  # room for chips above the metal in the saw's cup

Poses = dict[End, tuple[Pose, ...]]


def tube_sheet(frame: Frame, tube: Tube, copes: Copes, blank: Blank | None = None) -> TubeSheet:
    """The mill pages of one tube; without cuts where no end of it is sawn.

    blank: where the raw tube lies; plain tube of just enough length without it.
    """
    mill = frame.shop.mill
    by_hand = _cannot_be_held(tube)
    poses: Poses = {"start": (), "end": ()} if by_hand else _poses(frame, tube, copes)
    order = _end_order(poses)
    lay = blank or blank_of(tube, copes, mill.waste)
    bench = _Bench(tube, lay, frame.shop.mill, order)
    cuts: list[Cut] = []
    for end in order:
        metal = Metal(lay.beyond(tube, end))
        for pose in poses[end]:
            if not takes_metal(pose, metal):
                bench.warnings.append(_nothing_left(frame, pose))
                continue
            cut, metal = bench.cut(frame, pose, metal, len(cuts) + 1)
            cuts.append(cut)
    blocks, advice = _blocks(tube, poses, order, mill, lay) if cuts else ((), ())
    return TubeSheet(
        tube=tube.name,
        material=tube.material,
        od=_stations(tube.od, lay),
        wall=_stations(tube.wall, lay),
        blank=length(lay.length),
        start_point=length(-lay.start),
        edge_tip=length(mill.edge_tip),
        first_end=order[0],
        face_one=bench.face_one or 0.0,
        blocks=blocks,
        cuts=tuple(cuts),
        warnings=(*advice, *bench.warnings, *by_hand),
    )


def _cannot_be_held(tube: Tube) -> tuple[str, ...]:
    """Why round split blocks cannot put this tube under the saw."""
    if tube.oval is not None:
        return (
            "oval: round blocks do not hold it in phase; cope it by a guide, or in fitted blocks",
        )
    if tube.bends:
        return ("bent: turning it end for end does not keep its phase; cope it by a guide or wrap",)
    return ()


def _poses(frame: Frame, tube: Tube, copes: Copes) -> Poses:
    """The sawn cuts of each end; the larger saw first, so that the smaller finds firm metal."""
    result: Poses = {}
    high = frame.shop.mill.cut_end == "high"
    for end in ENDS:
        joint = frame.joint_at(tube.name, end)
        cope = copes.get((tube.name, end))
        if joint is None or cope is None:
            result[end] = ()
            continue
        sawn = [i for i, saw in enumerate(joint.saws) if saw is not None]
        sawn.sort(key=lambda i: -(joint.saws[i] or 0.0))
        result[end] = tuple(pose_of(cope, i, cut_end_high=high) for i in sawn)
    return result


def _end_order(poses: Poses) -> tuple[End, End]:
    """The end with more cuts first, then the steeper, while there is tube to cut it again."""

    def effort(end: End) -> tuple[int, float]:
        return len(poses[end]), max((round(abs(p.rise), 6) for p in poses[end]), default=0.0)

    return ("end", "start") if effort("end") > effort("start") else ("start", "end")


def _stations(profile: Profile, blank: Blank) -> tuple[tuple[float, float], ...]:
    """A profile from the blank's start end; a single pair where nothing changes."""
    if profile.is_constant:
        return ((0.0, length(profile.value[0])),)
    return tuple(
        (length(at - blank.start), length(value))
        for at, value in zip(profile.at, profile.value, strict=True)
    )


@dataclass
class _Bench:
    """The state that one cut leaves for the next: how the blocks are turned, what was printed."""

    tube: Tube
    blank: Blank
    mill: Mill
    order: tuple[End, End]
    face_one: float | None = None

    def __post_init__(self) -> None:
        self.turn: dict[str, float] = {"start": 0.0, "end": 0.0}
        self.warnings: list[str] = []

    def cut(self, frame: Frame, pose: Pose, metal: Metal, number: int) -> tuple[Cut, Metal]:
        """The printed numbers of one cut, and the metal that it leaves."""
        cope, tube = pose.cope, self.tube
        joint = frame.joint_at(tube.name, cope.end)
        assert joint is not None
        pose = self._this_side_up(pose)
        face, turn = self._faces(pose)
        off, cup = self._cup(frame, joint, pose, metal)
        metal = Metal(metal.square - off, metal.before)
        depth = depth_of(pose, metal)
        mark, x_move = self._mark(pose, metal)
        across = length(2 * radius_at(tube, cope.end, mark_outward(pose)) + self.mill.edge_tip)
        tilt = float(np.degrees(abs(pose.rise)))
        cut = Cut(
            number=number,
            end=cope.end,
            onto=joint.onto[pose.which],
            saw=length(2 * pose.radius),
            face_up=face,
            block_turn=turn,
            line_up=direction_angle(float(np.degrees(pose.line_up))),
            around=length((pose.line_up % (2 * np.pi)) * radius_at(tube, cope.end, 0.0)),
            tilt=angle(tilt),
            gauge=angle(round(tilt / self.mill.gauge_step) * self.mill.gauge_step),
            drop=length((self._far_from(cope.end, mark)) * np.sin(pose.rise)),
            high=CUT_HIGH if pose.rise >= 0 else CUT_LOW,
            across=across,
            half=length(across / 2),
            offset=length(abs(pose.y)),
            offset_to=_offset_direction(pose.y),
            mark=mark,
            x_move=x_move,
            saw_off=off,
            run=length(depth.touch - depth.last + self.mill.overtravel),
            cup=cup,
        )
        return cut, Metal(metal.square, (*metal.before, pose))

    def _far_from(self, end: End, mark: float) -> float:
        """From a mark to the other end of the blank, mm."""
        return mark if end == "end" else self.blank.length - mark

    def _this_side_up(self, pose: Pose) -> Pose:
        """Of a level tube either side may face up: the one nearer to face 1, or to the datum."""
        if not pose.is_level:
            return pose
        wanted = np.radians(self.face_one or 0.0)
        return pose if np.cos(pose.line_up - wanted) > -1e-9 else pose.turned_over()

    def _faces(self, pose: Pose) -> tuple[int, float]:
        """Face of the block that is up, and the reading across the block, degrees."""
        line, end = float(np.degrees(pose.line_up)), pose.cope.end
        if self.face_one is None:
            self.face_one = direction_angle(line)
            return 1, 0.0
        other = self.turn["end" if end == "start" else "start"]
        away = line - self.face_one - other
        quarters = round(away / 90.0)
        reading = angle(away - 90.0 * quarters)
        self.turn[end] = other + reading
        return quarters % 4 + 1, reading

    def _cup(self, frame: Frame, joint: Joint, pose: Pose, metal: Metal) -> tuple[float, float]:
        """Waste to saw off first, and the cutting depth that the saw then needs."""
        over = self.mill.overtravel + CHIPS_MM
        depth = depth_of(pose, metal)
        cup = length(depth.top - depth.last + over)
        known = [s.depth for s in frame.shop.saws if abs(s.od - 2 * pose.radius) < 1e-6 and s.depth]
        if not known or cup <= known[0]:
            return 0.0, cup
        where = f"{joint.end}, {2 * pose.radius:g} mm saw"
        waste = waste_to_saw_off(pose, metal, known[0], over)
        if waste is None:
            self.warnings.append(
                f"{where}: it cuts {known[0]:g} mm deep, this cut takes {cup:.1f} mm: use a deeper "
                "saw, or cut from both sides"
            )
            return 0.0, cup
        off = float(np.ceil(waste))
        depth = depth_of(pose, Metal(metal.square - off, metal.before))
        if depth.top - depth.last + over > known[0]:  # rounded up past the tip
            off = length(waste)
            depth = depth_of(pose, Metal(metal.square - off, metal.before))
        return off, length(depth.top - depth.last + over)

    def _mark(self, pose: Pose, metal: Metal) -> tuple[float, float]:
        """Mark from the blank's start end, and the move from it to the right.

        It lies where the spindle's axis meets the line that faces up, or, where no metal stands
        there any more, a whole number of millimetres farther in.
        """
        end = pose.cope.end
        outward = mark_outward(pose)
        radius = radius_at(self.tube, end, outward)
        last = float(metal.reach(pose, np.zeros(1), np.array([radius]))[0]) - EDGE_MM
        if outward > last:
            outward -= float(np.ceil(outward - last))
        station = self.tube.length + outward if end == "end" else -outward
        mark = length(station - self.blank.start)
        outward = mark + self.blank.start
        outward = outward - self.tube.length if end == "end" else -outward
        radius = radius_at(self.tube, end, outward)
        pointed = outward * np.cos(pose.rise) - radius * np.sin(pose.rise)
        return mark, length(pose.x - pointed)


def _nothing_left(frame: Frame, pose: Pose) -> str:
    cope = pose.cope
    joint = frame.joint_at(cope.tube.name, cope.end)
    assert joint is not None
    return (
        f"{cope.end}: the cut for {joint.onto[pose.which]} is left out, the one before it takes "
        "all that it would"
    )


def _offset_direction(y: float) -> str:
    if length(abs(y)) == 0.0:
        return OFFSET_NONE
    return OFFSET_COLUMN if y > 0 else OFFSET_OPERATOR


def _blocks(
    tube: Tube, poses: Poses, order: tuple[End, End], mill: Mill, blank: Blank
) -> tuple[tuple[Seat, ...], tuple[str, ...]]:
    """A block near each end, and what to do where one has no place."""
    placed: dict[End, Placing] = {}
    advice: list[str] = []
    for end in order:
        placing, words = place(tube, end, poses[end], mill)
        if placing is not None:
            placed[end] = placing
        if words and words not in advice:
            advice.append(words)
    if len(placed) == 2:
        taken = sum(p.inward + p.block.length for p in placed.values())
        if taken > tube.length:
            del placed[order[1]]
            advice.append(
                "too short for two blocks: one block holds it for both ends; read the phase from "
                "the marked lines"
            )
    seats = [
        Seat(
            end=end,
            bore=length(p.block.bore),
            width=length(p.block.width),
            length=length(p.block.length),
            at=length((tube.length - p.inward if end == "end" else p.inward) - blank.start),
        )
        for end, p in placed.items()
    ]
    return tuple(seats), tuple(advice)
