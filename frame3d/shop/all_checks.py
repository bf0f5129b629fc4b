"""All that is checked of a job: the joints' fit, and what else there is to know before cutting."""

from dataclasses import replace

from frame3d.fit.check import check_frame
from frame3d.fit.clearance import clearances
from frame3d.fit.part_fits import PartFits
from frame3d.fit.report import Report
from frame3d.fit.section import Section
from frame3d.fit.verdict import verdict
from frame3d.model import Frame
from frame3d.shop.drilling import hole_conflicts
from frame3d.shop.trim import trim_plan
from frame3d.solids.frame import Solids, frame_solids
from frame3d.surfaces.cope import Copes

SAID_ELSEWHERE = ("trim", "holes")  # pages and guides tell these of each tube


def check_all(frame: Frame, copes: Copes, solids: Solids) -> Report:
    """The whole report of a frame from its finished ends and solids."""
    report = check_frame(frame, copes, solids)
    return replace(report, sections=sections_of(report, copes, solids))


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


def failing_besides(frame: Frame, copes: Copes) -> str:
    """What the check fails on besides joints, trim and holes: half a sentence, "" where nothing."""
    report = check_all(frame, copes, frame_solids(frame, copes))
    sections = tuple(part for part in report.sections if part.key not in SAID_ELSEWHERE)
    rest = replace(report, joints=(), sections=sections)
    return "" if rest.passes else verdict(rest)
