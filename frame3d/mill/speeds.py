"""Spindle speed and feed for one cut."""

import math
from dataclasses import dataclass

from frame3d.mill.printed_numbers import printed
from frame3d.model import Mill, Saw
from frame3d.tables import row

FOOT_MM = 304.8
FEED_MM = 0.003 * 25.4  # common practice for power feed in thin tube, no source


NEAR = 1.03  # a step this little above the wanted speed is that speed; own choice, no source
THIN_WALL = "thin wall, common practice"
PROVED = "proved in this shop"


@dataclass(frozen=True)
class Speed:
    """One speed to cut at, with its standing."""

    kind: str = printed("", "what the speed is for; the first is the one to start with")
    wanted: float = printed("rpm", "spindle speed by the cutting speed, or as proved")
    step: float = printed("rpm", "the machine's step for it, the next lower one, or its lowest")
    feed: float = printed("mm_rev", "power feed, mm a revolution")
    chip: float | None = printed(
        "mm", "chip load: feed for each tooth; null where the saw's teeth are not told"
    )
    rate: float = printed("mm_min", "feed a minute at that step")
    minutes: float = printed("", "time of the cut at that feed, in minutes")
    source: str = printed("", "where the cutting speed comes from")


def rpm_for(surface_m_min: float, od: float) -> float:
    """n = 1000 V / (pi D), V in m/min and D in mm: Machinery's Handbook, Cutting Speed Formulas
    (from memory of the chapter; exact as arithmetic)."""
    return 1000.0 * surface_m_min / (math.pi * od)


def speeds(mill: Mill, saw: Saw, material: str, wall: float, run: float) -> tuple[Speed, ...]:
    """The speed to start with: one that this shop has proved, or else the handbook's for solid
    stock; then the others, thin-wall practice where there is one.

    wall: of the tube; run: length of the cut, both mm
    """
    table = row("cutting_speeds", material)
    solid, _, thin = table["source"].partition("; thin wall: ")
    by_surface = [("solid stock, handbook", float(table["solid_sfpm"]) * FOOT_MM / 1000.0, solid)]
    if table["thin_wall_m_min"]:
        by_surface.append((THIN_WALL, float(table["thin_wall_m_min"]), thin))
    found = []
    proved = saw.proved_in(material, wall)
    if proved is not None:
        own = f"[[saw]] of the shop file, {material} of this wall"
        found.append(_speed(mill, saw, run, PROVED, proved, proved, own))
    for kind, surface, source in by_surface:
        wanted = rpm_for(surface, saw.od)
        step = _step_not_above(mill.spindle_rpm, wanted * NEAR)
        found.append(_speed(mill, saw, run, kind, wanted, step, source.removeprefix("solid: ")))
    return tuple(found)


def _speed(
    mill: Mill, saw: Saw, run: float, kind: str, wanted: float, rpm: float, source: str
) -> Speed:
    feed = _step_not_above(mill.feed_per_rev, FEED_MM + 1e-6)
    rate = rpm * feed
    return Speed(
        kind=kind,
        wanted=round(wanted, 1),
        step=round(rpm, 1),
        feed=round(feed, 4),
        chip=round(feed / saw.teeth, 5) if saw.teeth else None,
        rate=round(rate, 2),
        minutes=round(run / rate, 2),
        source=source,
    )


def _step_not_above(steps: tuple[float, ...], wanted: float) -> float:
    """The greatest step up to `wanted`; the least of all where even that is above it."""
    return max((s for s in steps if s <= wanted), default=min(steps))
