"""Drill guides for the holes of a job: one for all holes in a line that a hand's breadth holds."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial

from frame3d.guides.drill import NOTHING_TAKEN, DrillGuide, Drilling, drill_guide
from frame3d.guides.parts import Part, parts_of
from frame3d.guides.plan import Printed, Refused
from frame3d.guides.refuse import GuideError
from frame3d.guides.spread import Spread
from frame3d.model import End, Frame, Hole, Printer, Tube

LONGEST_LINE_MM = 100.0
_Task = tuple[Tube, Drilling, float | None, dict[End, float]]


@dataclass(frozen=True, eq=False)
class PrintedDrill:
    """A drill guide with the parts that it is printed as."""

    guide: DrillGuide
    parts: tuple[Part, ...]


def drill_guides(
    frame: Frame, printed: Sequence[Printed], run: Spread = map
) -> tuple[list[PrintedDrill], list[Refused]]:
    """Drill guides for all holes, on the same foot as the cope guides `printed`; and what holes
    have none. `run` spreads them over the machine's cores."""
    tasks = []
    for name, drilling in _lines(frame.holes):
        own = [p.guide for p in printed if p.guide.place.tube.name == name]
        taken = {**NOTHING_TAKEN, **{guide.place.end: guide.sleeve.length for guide in own}}
        foot = own[0].sleeve.section.foot if own else None
        tasks.append((frame.tube(name), drilling, foot, taken))
    made: list[PrintedDrill] = []
    refused: list[Refused] = []
    for result in run(partial(_printed, frame.shop.printer, frame.name), tasks):
        (made if isinstance(result, PrintedDrill) else refused).append(result)
    return made, refused


def _printed(printer: Printer, job: str, task: _Task) -> PrintedDrill | Refused:
    tube, drilling, foot, taken = task
    try:
        guide = drill_guide(tube, drilling, printer, foot, taken, job)
        parts = parts_of(guide.solid, guide.sleeve.halves, printer, guide.kept)
        return PrintedDrill(guide, parts)
    except GuideError as why:
        at = ", ".join(f"{at:g}" for at in drilling.at)
        return Refused(tube.name, f"holes at {at} mm", str(why))


def _lines(holes: Sequence[Hole]) -> list[tuple[str, Drilling]]:
    """Holes of one tube, angle and drill, up to 100 mm apart, in the order of the job."""
    lines: dict[tuple[str, float, float], list[list[float]]] = {}
    for hole in sorted(holes, key=lambda hole: hole.at):
        groups = lines.setdefault((hole.tube, hole.angle, hole.diameter), [])
        if groups and hole.at - groups[-1][0] <= LONGEST_LINE_MM:
            groups[-1].append(hole.at)
        else:
            groups.append([hole.at])
    return [
        (tube, Drilling(tuple(at), angle, diameter))
        for (tube, angle, diameter), groups in lines.items()
        for at in groups
    ]
