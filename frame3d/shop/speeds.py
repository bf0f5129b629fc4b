"""Spindle speed and feed for one cut."""

import math
from dataclasses import dataclass

from frame3d.model import Mill
from frame3d.shop.numbers import printed
from frame3d.tables import row

FOOT_MM = 304.8
FEED_MM = 0.003 * 25.4  # common practice for power feed in thin tube, no source


@dataclass(frozen=True)
class Speed:
    """One speed to cut at, with its standing."""

    kind: str = printed("", "what the speed is for")
    wanted: float = printed("rpm", "spindle speed by the cutting speed")
    step: float = printed("rpm", "the machine's next lower step, or its lowest")
    feed: float = printed("mm_rev", "power feed, mm a revolution")
    rate: float = printed("mm_min", "feed a minute at that step")
    minutes: float = printed("", "time of the cut at that feed, in minutes")
    source: str = printed("", "where the cutting speed comes from")


def rpm_for(surface_m_min: float, od: float) -> float:
    """n = 1000 V / (pi D), V in m/min and D in mm: Machinery's Handbook, Cutting Speed Formulas
    (from memory of the chapter; exact as arithmetic)."""
    return 1000.0 * surface_m_min / (math.pi * od)


def speeds(mill: Mill, material: str, saw: float, run: float) -> tuple[Speed, ...]:
    """The handbook's speed for solid stock, and thin-wall practice where there is one.

    saw: its outside diameter; run: length of the cut, both mm
    """
    table = row("cutting_speeds", material)
    solid, _, thin = table["source"].partition("; thin wall: ")
    found = [
        (
            "solid stock, handbook",
            float(table["solid_sfpm"]) * FOOT_MM / 1000.0,
            solid.removeprefix("solid: "),
        )
    ]
    if table["thin_wall_m_min"]:
        found.append(("thin wall, common practice", float(table["thin_wall_m_min"]), thin))
    return tuple(_speed(mill, kind, v, source, saw, run) for kind, v, source in found)


def _speed(mill: Mill, kind: str, v: float, source: str, saw: float, run: float) -> Speed:
    wanted = rpm_for(v, saw)
    rpm = _step_not_above(mill.spindle_rpm, wanted + 0.5)
    feed = _step_not_above(mill.feed_per_rev, FEED_MM + 1e-6)
    rate = rpm * feed
    return Speed(
        kind=kind,
        wanted=round(wanted, 1),
        step=round(rpm, 1),
        feed=round(feed, 4),
        rate=round(rate, 2),
        minutes=round(run / rate, 2),
        source=source,
    )


def _step_not_above(steps: tuple[float, ...], wanted: float) -> float:
    """The greatest step up to `wanted`; the least of all where even that is above it."""
    return max((s for s in steps if s <= wanted), default=min(steps))
