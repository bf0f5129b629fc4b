"""From a frame to the numbers of its mill pages."""

import math
from dataclasses import replace

import numpy as np

from frame3d.mill.blank import Blank, blank_of
from frame3d.mill.blocks import Placing, level_stretches
from frame3d.mill.cut_sequence import Bench, inside_angle
from frame3d.mill.metal import Metal, takes_metal
from frame3d.mill.outside_lines import mark_step
from frame3d.mill.pose import Pose, pose_of
from frame3d.mill.printed_numbers import angle, direction_angle, length
from frame3d.mill.saw_depth import saw_off
from frame3d.mill.tube_sheet import BendRow, Cut, Seat, TubeSheet
from frame3d.mill.workholding import Poses, Seats, held
from frame3d.model import ENDS, End, Frame, Profile, Tube
from frame3d.surfaces.cope import Copes


def tube_sheet(frame: Frame, tube: Tube, copes: Copes, blank: Blank | None = None) -> TubeSheet:
    """The mill pages of one tube; without cuts where no end of it is sawn.

    blank: where the raw tube lies; plain tube of just enough length without it.
    """
    mill = frame.shop.mill
    poses = _poses(frame, tube, copes)
    order = _end_order(poses)
    seats, poses, advice = held(tube, poses, order, mill)
    order = _end_order(poses)
    raw = blank or blank_of(tube, copes, mill.waste)
    metals = {end: Metal(raw.beyond(tube, end)) for end in ENDS}
    off = {end: saw_off(frame, poses[end], metals[end]) for end in ENDS}
    if any(poses.values()):
        off.update(_to_length(frame, tube, raw))
    lay = Blank(raw.start + off["start"], raw.end - off["end"])
    bench = Bench(frame, tube, lay, order, seats)
    cuts: list[Cut] = []
    for end in order:
        metal = Metal(lay.beyond(tube, end))
        for pose in poses[end]:
            if not takes_metal(pose, metal):
                bench.warnings.append(_nothing_left(frame, pose))
                continue
            cut, metal = bench.cut(pose, metal, len(cuts) + 1)
            cuts.append(cut)
    start_is, end_is = _ends_in_frame(tube)
    return TubeSheet(
        tube=tube.name,
        material=tube.material,
        start_is=start_is,
        end_is=end_is,
        od=_stations(tube.od, raw),
        across_od=_stations(tube.oval.across, raw) if tube.oval else (),
        oval=angle(tube.oval.angle) if tube.oval else 0.0,
        wall=_stations(tube.wall, raw),
        bends=_bends(tube, raw),
        chord=_chord(tube, raw.start + off["start"], raw.end - off["end"]) if tube.bends else None,
        blank=length(raw.length),
        saw_off_start=off["start"],
        saw_off_end=off["end"],
        start_point=length(-raw.start),
        edge_tip=length(mill.edge_tip),
        gauge_step=mill.gauge_step,
        first_end=order[0],
        face_one=bench.face_one or 0.0,
        blocks=_seats(tube, seats, lay, mark_step(mill)) if cuts else (),
        cuts=tuple(cuts),
        warnings=(*advice, *bench.warnings),
    )


def _ends_in_frame(tube: Tube) -> tuple[str, str]:
    """Start and end as one sees them in the frame, by the way that the tube runs most: x forward,
    y left, z up."""
    run = np.subtract(tube.end, tube.start)
    axis = int(np.abs(run).argmax())
    names = (("rear", "front"), ("right", "left"), ("lower", "upper"))[axis]
    return names if run[axis] > 0 else (names[1], names[0])


def _to_length(frame: Frame, tube: Tube, raw: Blank) -> dict[End, float]:
    """To saw off the ends that no joint shapes: as they stand in the finished tube, mm."""
    square = [end for end in ENDS if frame.joint_at(tube.name, end) is None]
    return {end: length(max(raw.beyond(tube, end), 0.0)) for end in square}


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
    """A profile from the raw blank's start end; a single pair where nothing changes."""
    if profile.is_constant:
        return ((0.0, length(profile.value[0])),)
    return tuple(
        (length(at - blank.start), length(value))
        for at, value in zip(profile.at, profile.value, strict=True)
    )


def _bends(tube: Tube, blank: Blank) -> tuple[BendRow, ...]:
    """The bends of a tube from the raw blank's start end."""
    if not tube.bends:
        return ()
    line = tube.centreline
    return tuple(
        BendRow(
            at=length(line.stations[k] - blank.start),
            radius=length(1.0 / bend),
            angle=angle(float(np.degrees(bend * line.lengths[k]))),
            plane=direction_angle(inside_angle(line, k)),
        )
        for k, bend in enumerate(line.curvature)
        if bend > 0.0
    )


def _chord(tube: Tube, start: float, end: float) -> float:
    """Straight between two places along a bent axis, mm."""
    points, _, _ = tube.centreline.at([start, end])
    return length(float(np.linalg.norm(points[1] - points[0])))


def _nothing_left(frame: Frame, pose: Pose) -> str:
    cope = pose.cope
    joint = frame.joint_at(cope.tube.name, cope.end)
    assert joint is not None
    return (
        f"{cope.end}: the cut for {joint.onto[pose.which]} is left out, the one before it takes "
        "all that it would"
    )


def _seats(tube: Tube, placed: Seats, blank: Blank, step: float) -> tuple[Seat, ...]:
    """The blocks by their distances along the blank."""
    return tuple(_seat(tube, end, placing, blank, step) for end, placing in placed.items())


def _seat(tube: Tube, whose: str, placing: Placing, blank: Blank, step: float) -> Seat:
    """step: what a mark is a whole number of; the block stands farther in by less than that, but
    where it must clear the saws of both ends."""
    end = placing.end
    own = bool(tube.bends) and end == "end"
    inward = 1.0 if end == "start" or own else -1.0
    at = placing.inward + blank.beyond(tube, end)
    at = at if inward > 0 else blank.length - at
    whole = inward * math.ceil(inward * at / step - 1e-6) * step
    if whose != "both" and placing.inner + abs(whole - at) <= placing.stretch[1]:
        at = whole
    seat = Seat(
        end=whose,
        bore=length(placing.block.bore),
        bore_across=length(placing.block.bore + placing.across - placing.od),
        width=length(placing.block.width),
        length=length(placing.block.length),
        at=length(at),
        to=length(at + inward * placing.block.length),
        at_from=end if own else "start",
        part="",
    )
    return replace(seat, part=_part(tube, placing))


def _part(tube: Tube, placing: Placing) -> str:
    """In words, where it is not anywhere on a straight tube of one section."""
    if not tube.bends and level_stretches(tube) == [(-np.inf, np.inf)]:
        return ""
    size = f"{placing.od:.2f}"
    if placing.across != placing.od:
        size += f" x {placing.across:.2f}"
    low, high = placing.stretch
    low, high = max(low, 0.0), min(high, tube.length)
    return (
        f"straight part of {size} mm, {low:.0f} to {high:.0f} mm from the drawing's {placing.end} "
        "point"
    )
