"""The trim plan: how much to take off each end of a raw tube, and the wall left at the joints."""

import math
from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np

from frame3d.check.report import Report
from frame3d.check.report_section import number
from frame3d.model import ENDS, End, Frame, Tube
from frame3d.surfaces.cope import Copes
from frame3d.surfaces.placing import heated_zone

ROUNDING_MM = 1e-6
SAME_WALL_MM = 1e-6
NEAR_WASTE_MM = 1.0  # another saw moves the tip by less


@dataclass(frozen=True)
class EndTrim:
    """One end. All mm.

    cut:           taken off the raw tube, up to the long side of the finished end
    butt_long:     butt that stays, from the long side; inf where the wall never gets thinner
    butt_short:    the same from the short side, negative where the short side is past the butt
    wall_at_joint: the thinnest wall between long and short side
    wall_at_zone:  the wall where the heated zone ends, counted from the short side
    coped:         whether a joint shapes it
    """

    end: End
    cut: float
    butt_long: float
    butt_short: float
    wall_at_joint: float
    wall_at_zone: float
    coped: bool


@dataclass(frozen=True)
class Landing:
    """Where another tube stands on this one: its name and end, and the thinnest wall, mm, under the
    footprint and as far as the heat goes on both sides of it."""

    tube: str
    end: End
    wall_at_joint: float
    wall_at_zone: float


@dataclass(frozen=True)
class TubeTrim:
    """One raw tube. raw: its length; finished: tip to tip; least: where the raw tube is too short,
    a length that does, with waste; mm. reasons: why it cannot be made so; notes: what to know
    though it can."""

    tube: str
    stock: str
    raw: float
    finished: float
    least: float | None
    ends: Mapping[End, EndTrim]
    landings: tuple[Landing, ...]
    reasons: tuple[str, ...]
    notes: tuple[str, ...]

    @property
    def passes(self) -> bool:
        return not self.reasons


@dataclass(frozen=True)
class Order:
    """So many raw tubes to have at hand; one for every tube of the frame. raw: their length, mm;
    least: where that is too short, the length to buy at least, waste and all, in whole mm."""

    stock: str
    raw: float
    count: int
    least: float | None


@dataclass(frozen=True)
class TrimPlan:
    """All tubes that are cut from a listed raw tube. zone: length heated beside a joint, mm."""

    zone: float
    tubes: tuple[TubeTrim, ...]
    key: str = "trim"

    @property
    def passes(self) -> bool:
        return all(tube.passes for tube in self.tubes)

    @property
    def stops(self) -> Mapping[str, tuple[str, ...]]:
        """Why tubes must not be cut, by their names."""
        return {tube.tube: tube.reasons for tube in self.tubes if not tube.passes}

    @property
    def orders(self) -> tuple[Order, ...]:
        """The order list, in the order of first use."""
        counts = Counter((tube.stock, tube.raw, tube.least) for tube in self.tubes)
        return tuple(
            Order(stock, raw, count, least) for (stock, raw, least), count in counts.items()
        )

    def as_json(self) -> dict[str, object]:
        return {
            "heated_zone_mm": number(self.zone),
            "tubes": [_tube_json(tube) for tube in self.tubes],
            "order": [
                {
                    "stock": order.stock,
                    "raw_mm": number(order.raw),
                    "count": order.count,
                    "buy_at_least_mm": number(order.least),
                }
                for order in self.orders
            ],
        }


# What each number of the plan means, by its name in JSON.
MEANINGS = {
    "heated_zone_mm": "length heated beside a joint",
    "raw_mm": "length of the raw tube",
    "finished_mm": "length of the finished tube, tip to tip",
    "cut_mm": "taken off the raw tube, up to the long side of the finished end",
    "butt_long_mm": "butt that stays, from the long side; none where the wall never gets thinner",
    "butt_short_mm": "butt that stays, from the short side",
    "wall_at_joint_mm": "thinnest wall at the joint",
    "wall_at_zone_mm": "wall where the heated zone ends",
    "buy_at_least_mm": "where the raw tube is too short, the length to buy, with waste",
    "count": "raw tubes to have at hand",
}


def trim_plan(frame: Frame, copes: Copes, report: Report) -> TrimPlan:
    """The plan for all tubes that are cut from raw ones; the report has their footprints."""
    zone, waste = heated_zone(frame), frame.shop.mill.waste
    return TrimPlan(
        zone,
        tuple(
            _tube_trim(tube, copes, report, zone, waste)
            for tube in frame.tubes
            if tube.raw is not None
        ),
    )


def _tube_trim(tube: Tube, copes: Copes, report: Report, zone: float, waste: float) -> TubeTrim:
    assert tube.raw is not None
    ends = {end: _end_trim(tube, end, copes, zone) for end in ENDS}
    raw = tube.raw.stock.length
    finished = raw - ends["start"].cut - ends["end"].cut
    short = finished - raw > ROUNDING_MM
    landings = tuple(_landings(tube, report, zone))
    return TubeTrim(
        tube.name,
        tube.raw.stock.name,
        raw,
        finished,
        math.ceil(finished + waste * sum(end.coped for end in ends.values())) if short else None,
        ends,
        landings,
        tuple(_reasons(tube, ends, landings, finished)),
        tuple(_notes(ends, landings, zone, 0.0 if short else waste)),
    )


def _end_trim(tube: Tube, end: End, copes: Copes, zone: float) -> EndTrim:
    assert tube.raw is not None
    stock, start = tube.raw.stock, tube.raw.start
    cope = copes.get((tube.name, end))
    long, short = (cope.tip.value, -cope.throat.value) if cope else (0.0, 0.0)
    if not np.isfinite([long, short]).all():
        cope, long, short = None, 0.0, 0.0
    past = -start if end == "start" else start + stock.length - tube.length
    cut = past - long
    left = (stock.butt_start if end == "start" else stock.butt_end) - cut
    return EndTrim(
        end,
        cut,
        left,
        left - (long - short),
        _thinnest(tube, _station(tube, end, short), _station(tube, end, long)),
        float(tube.wall(_station(tube, end, short - zone))),
        cope is not None,
    )


def _station(tube: Tube, end: End, outward: float) -> float:
    """How far from the tube's start a place stands that is so far past its axis's end point."""
    return tube.length + outward if end == "end" else -outward


def _thinnest(tube: Tube, one: float, other: float) -> float:
    return tube.wall.least_between(min(one, other), max(one, other))


def _landings(tube: Tube, report: Report, zone: float) -> Iterator[Landing]:
    for joint in report.joints:
        for mate in joint.mates:
            at = mate.footprint
            if mate.tube == tube.name and at is not None and np.isfinite([at.low, at.high]).all():
                yield Landing(
                    joint.joint.tube,
                    joint.joint.end,
                    _thinnest(tube, at.low, at.high),
                    _thinnest(tube, at.low - zone, at.high + zone),
                )


def _reasons(
    tube: Tube, ends: Mapping[End, EndTrim], landings: tuple[Landing, ...], finished: float
) -> Iterator[str]:
    assert tube.raw is not None
    stock = tube.raw.stock
    missing = finished - stock.length
    if missing > ROUNDING_MM:
        yield (
            f"{stock.name} is {stock.length:.1f} mm long, {tube.name} needs {finished:.1f} mm: "
            f"{missing:.1f} mm too short"
        )
        return
    for end in ends.values():
        if end.cut < -ROUNDING_MM:
            yield (
                f"cut so, the {end.end} stands {-end.cut:.1f} mm past the raw tube; change "
                f"trim_start, or leave it out"
            )
        elif end.coped and end.butt_short < -ROUNDING_MM:
            yield (
                f"the joint at the {end.end} falls on the thin part: its short side is "
                f"{-end.butt_short:.1f} mm past the butt, the wall there {end.wall_at_joint:.2f} mm"
            )
    butted = min(stock.wall(0.0), stock.wall(stock.length))
    for landing in landings:
        if landing.wall_at_joint < butted - SAME_WALL_MM:
            yield (
                f"{landing.tube} ({landing.end}) stands on the thin part: the wall there is "
                f"{landing.wall_at_joint:.2f} mm, {butted:.2f} mm at the butts"
            )


def _notes(
    ends: Mapping[End, EndTrim], landings: tuple[Landing, ...], zone: float, waste: float
) -> Iterator[str]:
    for end in ends.values():
        if end.coped and -ROUNDING_MM <= end.cut < waste - NEAR_WASTE_MM:
            yield (
                f"the tip of the {end.end} stands {max(end.cut, 0.0):.1f} mm from the raw end, "
                f"{waste:g} mm of waste wanted: take care that the saw does not slip off"
            )
        if end.coped and 0 <= end.butt_short < zone:
            yield (
                f"the heat at the {end.end} goes past the butt: {zone:.0f} mm from the short side "
                f"the wall is {end.wall_at_zone:.2f} mm"
            )
    for landing in landings:
        if landing.wall_at_zone < landing.wall_at_joint - SAME_WALL_MM:
            yield (
                f"the heat of {landing.tube} ({landing.end}) goes past the butt, to a wall of "
                f"{landing.wall_at_zone:.2f} mm"
            )


def _tube_json(trim: TubeTrim) -> dict[str, object]:
    return {
        "tube": trim.tube,
        "stock": trim.stock,
        "raw_mm": number(trim.raw),
        "finished_mm": number(trim.finished),
        **{
            end: {
                "cut_mm": number(found.cut),
                "butt_long_mm": number(found.butt_long),
                "butt_short_mm": number(found.butt_short),
                "wall_at_joint_mm": number(found.wall_at_joint),
                "wall_at_zone_mm": number(found.wall_at_zone),
            }
            for end, found in trim.ends.items()
        },
        "landings": [
            {
                "tube": landing.tube,
                "end": landing.end,
                "wall_at_joint_mm": number(landing.wall_at_joint),
                "wall_at_zone_mm": number(landing.wall_at_zone),
            }
            for landing in trim.landings
        ],
        "verdict": "pass" if trim.passes else "fail",
        "reasons": list(trim.reasons),
        "notes": list(trim.notes),
    }
