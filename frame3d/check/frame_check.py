"""All that is checked of a job: the joints' fit, and what else there is to know before cutting."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from frame3d.check.clearances import clearances
from frame3d.check.hole_conflicts import hole_conflicts
from frame3d.check.part_fits import PartFits
from frame3d.check.report import Report
from frame3d.check.report_section import Section
from frame3d.check.trim import TrimPlan, trim_plan
from frame3d.check.verdict import verdict
from frame3d.solids.frame_solids import Solids
from frame3d.surfaces.cope import Copes

SAID_ELSEWHERE = ("trim", "holes")  # pages and guides tell these of each tube

Stops = Mapping[str, tuple[str, ...]]  # tubes that must not be cut, and why


@dataclass(frozen=True)
class Judged:
    """What the check says of a frame before any of it is cut.

    stops:   by tube: what its trim plan and the joints at its ends fail on, those with their end
    failing: what else the check fails on, half a sentence; "" where nothing
    trim:    the plan of the tubes that come from the tube list
    """

    stops: Stops
    failing: str
    trim: TrimPlan | None


def sections_of(report: Report, copes: Copes, solids: Solids) -> tuple[Section, ...]:
    """What else is checked of the frame of a report of tubes and joints."""
    frame = report.frame
    sections: list[Section] = []
    if frame.fits:
        sections.append(PartFits(frame.fits))
    if any(tube.raw for tube in frame.tubes):
        sections.append(trim_plan(frame, copes, report))
    if frame.holes:
        sections.append(hole_conflicts(frame, copes))
    found = clearances(frame, solids)
    if found.lines:
        sections.append(found)
    return tuple(sections)


def judged(report: Report) -> Judged:
    """The check's words, as pages and guides tell them of each tube."""
    trim = next((part for part in report.sections if isinstance(part, TrimPlan)), None)
    stops = {name: list(reasons) for name, reasons in (trim.stops if trim else {}).items()}
    for found in report.joints:
        if found.reasons:
            told = (f"{found.joint.end}: {words}" for words in found.reasons)
            stops.setdefault(found.joint.tube, []).extend(told)
    sections = tuple(part for part in report.sections if part.key not in SAID_ELSEWHERE)
    rest = replace(report, joints=(), sections=sections)
    failing = "" if rest.passes else verdict(rest)
    return Judged({name: tuple(reasons) for name, reasons in stops.items()}, failing, trim)


def first_of(end: str, reasons: Sequence[str]) -> tuple[str, ...]:
    """Reasons not to cut a tube, those of one end first."""
    return tuple(sorted(reasons, key=lambda words: not words.startswith(f"{end}: ")))
