"""Drill guides for the holes of a job: one for all holes in a line that a hand's breadth holds."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import partial

from frame3d.guides.drill import NOTHING_TAKEN, DrillGuide, Drilling, drill_guide
from frame3d.guides.guide_error import GuideError
from frame3d.guides.plan import Printed, Refused
from frame3d.guides.printed_parts import Part, parts_of
from frame3d.guides.process_pool import Spread
from frame3d.mill.drilling import hole_notes
from frame3d.model import End, Frame, Pinch, Printer, Tube
from frame3d.surfaces.cope import Copes

LONGEST_LINE_MM = 100.0
ON_FLAT = (
    "a guide would stand on the {} that is pressed flat: clamp the flat and drill on a drill press"
)
_Flats = dict[End, float]  # how far an end is pressed out of the round, mm
_Task = tuple[Tube, Drilling, float | None, dict[End, float], _Flats]


@dataclass(frozen=True, eq=False)
class PrintedDrill:
    """A drill guide with the parts that it is printed as."""

    guide: DrillGuide
    parts: tuple[Part, ...]


def drill_guides(
    frame: Frame, copes: Copes, printed: Sequence[Printed], run: Spread = map
) -> tuple[list[PrintedDrill], list[Refused]]:
    """Drill guides for all holes, on the same foot as the cope guides `printed`; and what holes
    have none. `run` spreads them over the machine's cores."""
    tasks = []
    for name, drilling in _lines(frame, copes):
        own = [p.guide for p in printed if p.guide.place.tube.name == name]
        taken = {**NOTHING_TAKEN, **{guide.place.end: guide.sleeve.length for guide in own}}
        foot = own[0].sleeve.section.foot if own else None
        flats = {
            shape.end: shape.length + shape.transition
            for shape in frame.shapes_of(name)
            if isinstance(shape, Pinch)
        }
        tasks.append((frame.tube(name), drilling, foot, taken, flats))
    made: list[PrintedDrill] = []
    refused: list[Refused] = []
    for result in run(partial(_printed, frame.shop.printer, frame.name), tasks):
        (made if isinstance(result, PrintedDrill) else refused).append(result)
    return made, refused


def _printed(printer: Printer, job: str, task: _Task) -> PrintedDrill | Refused:
    tube, drilling, foot, taken, flats = task
    try:
        for end, flat in flats.items():
            if any((at if end == "start" else tube.length - at) < flat for at in drilling.at):
                raise GuideError(ON_FLAT.format(end))
        guide = drill_guide(tube, drilling, printer, foot, taken, job)
        _refuse_on_flats(guide, taken, flats)
        parts = parts_of(guide.solid, guide.sleeve.halves, printer, guide.kept)
        return PrintedDrill(guide, parts)
    except GuideError as why:
        at = ", ".join(f"{at:g}" for at in drilling.at)
        return Refused(tube.name, f"holes at {at} mm", str(why))


def _refuse_on_flats(guide: DrillGuide, taken: dict[End, float], flats: _Flats) -> None:
    """A sleeve needs a round tube under all of its length."""
    near = guide.setting + taken[guide.reference]
    for end, flat in flats.items():
        from_end = near if end == guide.reference else guide.tube.length - near - guide.sleeve.top
        if from_end < flat:
            raise GuideError(ON_FLAT.format(end))


def _lines(frame: Frame, copes: Copes) -> list[tuple[str, Drilling]]:
    """Holes of one tube and angle that are drilled alike, up to 100 mm apart, in the order of the
    job."""
    lines: dict[tuple[str, Drilling], list[list[float]]] = {}
    for hole in sorted(frame.holes, key=lambda hole: hole.at):
        notes = hole_notes(frame, copes, hole)
        alike = Drilling((), hole.angle, hole.diameter, hole.through, notes)
        groups = lines.setdefault((hole.tube, alike), [])
        if groups and hole.at - groups[-1][0] <= LONGEST_LINE_MM:
            groups[-1].append(hole.at)
        else:
            groups.append([hole.at])
    return [
        (tube, replace(alike, at=tuple(at)))
        for (tube, alike), groups in lines.items()
        for at in groups
    ]
