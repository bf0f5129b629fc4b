"""One cut after the other: what each asks for, and the state that it leaves for the next."""

from dataclasses import dataclass

import numpy as np

from frame3d.mill.blank import EDGE_MM, Blank, mark_outward
from frame3d.mill.headroom import far_end_words, headroom, spindle_words
from frame3d.mill.metal import Metal, depth_of, lying
from frame3d.mill.outside_lines import line_between, mark_step, place_along
from frame3d.mill.pose import Pose
from frame3d.mill.printed_numbers import angle, direction_angle, length
from frame3d.mill.saw_depth import cup_of
from frame3d.mill.tube_sheet import (
    CUT_HIGH,
    CUT_LOW,
    OFFSET_COLUMN,
    OFFSET_NONE,
    OFFSET_OPERATOR,
    Cut,
)
from frame3d.mill.workholding import Seats
from frame3d.model import End, Frame, Tube, axis_at
from frame3d.model.centreline import Centreline

SAME_FACE_DEG = 5e-5


@dataclass
class Bench:
    """The state that one cut leaves for the next: how the blocks are turned, what was printed.

    blank: with both ends sawn off
    seats: the blocks that hold it
    """

    frame: Frame
    tube: Tube
    blank: Blank
    order: tuple[End, End]
    seats: Seats
    face_one: float | None = None

    def __post_init__(self) -> None:
        self.turn: dict[str, float] = {"start": 0.0, "end": 0.0}
        self.oval_line: dict[str, float] = {}
        self.warnings: list[str] = []

    @property
    def single(self) -> bool:
        """Whether one block at most holds the tube, so that no other stands flat beside it."""
        return len(self.seats) < 2 or "both" in self.seats

    def cut(self, pose: Pose, metal: Metal, number: int) -> tuple[Cut, Metal]:
        """The printed numbers of one cut, and the metal that it leaves."""
        mill, end = self.frame.shop.mill, pose.cope.end
        joint = self.frame.joint_at(self.tube.name, end)
        assert joint is not None
        pose = self._this_side_up(pose)
        face, turn, bore = self._faces(pose)
        tooth = self.frame.shop.saw(2 * pose.radius).tooth
        depth = depth_of(pose, metal, tooth)
        assert depth is not None  # of a cut that takes metal
        cup = cup_of(self.frame, pose, depth)
        if cup.words:
            self.warnings.append(cup.words)
        outward, mark, x_move = self._mark(pose, metal)
        own = bool(self.tube.bends) and end == "end"
        tube = lying(pose)
        across = length(2 * tube.half_width(outward) + mill.edge_tip)
        tilt = float(np.degrees(abs(pose.rise)))
        aside, drop = self._far_end(pose, outward)
        line = direction_angle(float(np.degrees(pose.line_up)))
        far = outward * np.sin(pose.rise) - drop
        room = headroom(self.frame, self.tube, self.seats, pose, depth.first.height, far)
        about = (far_end_words(end, bool(self.tube.bends), drop, room), spindle_words(end, room))
        self.warnings += [words for words in about if words]
        cut = Cut(
            number=number,
            end=end,
            onto=joint.onto[pose.which],
            saw=length(2 * pose.radius),
            mark=mark,
            mark_from=end if own else "start",
            line_up=line,
            around=length(tube.around(outward, line)),
            face_up=face,
            block_turn=turn,
            bore_turn=bore,
            tilt=angle(tilt),
            gauge=angle(round(tilt / mill.gauge_step) * mill.gauge_step),
            high=CUT_HIGH if pose.rise >= 0 else CUT_LOW,
            drop=drop,
            aside=aside,
            across=across,
            half=length(across / 2),
            offset=length(abs(pose.y)),
            offset_to=_offset_direction(pose.y),
            x_move=x_move,
            tooth_least=length(tooth[0]),
            tooth=length(tooth[1]),
            touch_on=depth.first.on,
            touch_right=length(depth.first.right),
            touch_away=length(depth.first.away),
            run=length(depth.run + mill.overtravel),
            clear=cup.clear,
            cup=cup.cup,
            under_spindle=None if room.spindle is None else length(room.spindle),
            over_table=None if room.table is None else length(room.table),
            beside_head=None if room.head is None else length(room.head),
        )
        return cut, metal.after(pose)

    def _far_end(self, pose: Pose, outward: float) -> tuple[float, float]:
        """Of the blank's other end: towards the column from the mark, and lower than it; mm."""
        cope = pose.cope
        station = self.blank.end if cope.end == "start" else self.blank.start
        far, _, _ = axis_at(self.tube, station)
        off = far - (cope.frame.origin + outward * cope.frame.out)
        up, out, away = (float(off @ way) for way in (pose.up, cope.frame.out, pose.away))
        return length(away), length(-up * np.cos(pose.rise) - out * np.sin(pose.rise))

    def _this_side_up(self, pose: Pose) -> Pose:
        """Of a level tube either side may face up: the one nearer to face 1, or to the datum."""
        if not pose.is_level:
            return pose
        end = pose.cope.end
        wanted = flat_line(self.tube, end) if self.tube.bends else self.face_one or 0.0
        away = pose.line_up - np.radians(wanted)
        return pose if np.cos(away) > -1e-9 else pose.turned_over()

    def _faces(self, pose: Pose) -> tuple[int, float, float]:
        """Face of the block that is up, the reading across the block, and the turn of an oval's
        bore from face 1, degrees."""
        line, end = float(np.degrees(pose.line_up)), pose.cope.end
        if self.tube.oval is not None:
            return self._oval_faces(line, end, self.tube.oval.angle)
        other: End = "end" if end == "start" else "start"
        base = 0.0
        if self.tube.bends:
            base = flat_line(self.tube, end)
        elif self.face_one is None:
            self.face_one = direction_angle(line)
            return 1, 0.0, 0.0
        else:
            base = self.face_one + (0.0 if self.single else self.turn[other])
        quarters = round((line - base) / 90.0)
        reading = angle(line - base - 90.0 * quarters)
        self.turn[end] = (0.0 if self.single else self.turn[other]) + reading
        return quarters % 4 + 1, reading, 0.0

    def _oval_faces(self, line: float, end: str, oval: float) -> tuple[int, float, float]:
        """A block made for the first cut serves the others of its end whose lines are a quarter
        turn off; each other line takes a block of its own."""
        first = self.oval_line.setdefault(end, line)
        quarters = round((line - first) / 90.0)
        if abs(line - first - 90.0 * quarters) > SAME_FACE_DEG:
            first, quarters = line, 0
        return quarters % 4 + 1, 0.0, direction_angle(oval - first)

    def _mark(self, pose: Pose, metal: Metal) -> tuple[float, float, float]:
        """Where the mark stands outward of the axis's end point, how far along its line from the
        blank's end, and the move from it to the right.

        It lies as near as a rule's lines allow to where the spindle's axis meets the line that
        faces up, or, where no metal stands there any more, to where it still does.
        """
        tube, outward = lying(pose), mark_outward(pose)
        up = np.array([tube.up(outward)])
        last = float(metal.reach(pose, np.zeros(1), up)[0]) - EDGE_MM
        outward, told = self._whole(pose, outward, last)
        pointed = outward * np.cos(pose.rise) - tube.up(outward) * np.sin(pose.rise)
        return outward, told, length(pose.x - pointed)

    def _whole(self, pose: Pose, outward: float, last: float) -> tuple[float, float]:
        """The nearest place that a rule laid along the line that faces up shows by a line of its
        own, no farther out than `last`: outward, and from the blank's end; mm."""
        tube, end = self.tube, pose.cope.end
        from_end = end == "end" and bool(tube.bends)
        begin, way = (self.blank.end, -1.0) if from_end else (self.blank.start, 1.0)
        inward = 1.0 if from_end or end == "start" else -1.0
        step = mark_step(self.frame.shop.mill)

        def station(outward: float) -> float:
            return tube.length + outward if end == "end" else -outward

        def along(outward: float) -> float:
            low, high = sorted((begin, station(outward)))
            return line_between(tube, pose.line_up, low, high) / step

        told = round(along(min(outward, last)))
        if (told - along(last)) * inward < 0:
            told += round(inward)
        mark = length(told * step)
        at = place_along(tube, pose.line_up, begin, way * mark)
        return (at - tube.length if end == "end" else -at), mark


def flat_line(tube: Tube, end: End) -> float:
    """Angle from the datum of the line that faces up at an end of a bent tube, degrees, where its
    nearest bend lies flat, the end points to the right and the tube turns away from you."""
    line = tube.centreline
    bends = [k for k, bend in enumerate(line.curvature) if bend > 0.0]
    if end == "end":
        return inside_angle(line, bends[-1]) + 90.0
    return inside_angle(line, bends[0]) - 90.0


def inside_angle(line: Centreline, piece: int) -> float:
    """From the datum to the inside of a bend, degrees, right-handed about the way of travel; the
    datum is carried along, so it is the same where the bend begins and where it ends."""
    inward, mark, ahead = line.inward[piece], line.datums[piece], line.tangents[piece]
    return float(np.degrees(np.arctan2(inward @ np.cross(ahead, mark), inward @ mark)))


def _offset_direction(y: float) -> str:
    if length(abs(y)) == 0.0:
        return OFFSET_NONE
    return OFFSET_COLUMN if y > 0 else OFFSET_OPERATOR
