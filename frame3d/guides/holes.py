"""Drill guides for the holes of a job: one for all holes in a line that a hand's breadth holds."""

from collections.abc import Sequence
from dataclasses import dataclass

from frame3d.guides.drill import NOTHING_TAKEN, DrillGuide, Drilling, drill_guide
from frame3d.guides.parts import Part, parts_of
from frame3d.guides.plan import Printed, Refused
from frame3d.guides.refuse import GuideError
from frame3d.model import Frame, Hole

LONGEST_LINE_MM = 100.0


@dataclass(frozen=True, eq=False)
class PrintedDrill:
    """A drill guide with the parts that it is printed as."""

    guide: DrillGuide
    parts: tuple[Part, ...]


def drill_guides(
    frame: Frame, printed: Sequence[Printed]
) -> tuple[list[PrintedDrill], list[Refused]]:
    """Drill guides for all holes, on the same foot as the cope guides `printed`; and what holes
    have none."""
    made, refused = [], []
    for name, drilling in _lines(frame.holes):
        own = [p.guide for p in printed if p.guide.place.tube.name == name]
        taken = {**NOTHING_TAKEN, **{guide.place.end: guide.sleeve.length for guide in own}}
        foot = own[0].sleeve.section.foot if own else None
        printer = frame.shop.printer
        try:
            guide = drill_guide(frame.tube(name), drilling, printer, foot, taken, frame.name)
            made.append(PrintedDrill(guide, parts_of(guide.solid, printer)))
        except GuideError as why:
            at = ", ".join(f"{at:g}" for at in drilling.at)
            refused.append(Refused(name, f"holes at {at} mm", str(why)))
    return made, refused


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
