"""The report as a table for people."""

from math import isfinite
from typing import TYPE_CHECKING

from rich.markup import escape

from frame3d.quantities import told_beside

from .columns import print_table
from .common import counted, plain

if TYPE_CHECKING:
    from rich.console import Console

    from frame3d.check.hole_conflicts import HoleConflicts
    from frame3d.check.report import JointReport, Report
    from frame3d.check.report_section import Section

COLUMNS = ("tube", "end", "onto", "saw mm", "angle °", "seat mm", "gap mm", "limit mm", "verdict")


def print_report(report: "Report", out: "Console") -> None:
    """All joints in a table, then what is wrong with them in words, then the sum."""
    if report.joints:
        rows = [_joint_row(joint) for joint in report.joints]
        print_table(out, COLUMNS, rows, words=3, title=report.frame.name)
    for joint in report.joints:
        for text in (*joint.reasons, *joint.notes):
            end = escape(f"{joint.joint.tube}, {joint.joint.end}")
            out.print(f"[bold]{end}:[/bold] {escape(text)}")
    for clash in report.clashes:
        names = escape(" and ".join(clash.tubes))
        remedy = f": {escape(clash.remedy)}" if clash.remedy else ""
        out.print(f"[bold]{names}[/bold] stand in each other by {clash.volume:.1f} mm³{remedy}")
    if any(mate.saw is None for joint in report.joints for mate in joint.mates):
        out.print("saw none: cut along the mate itself, by hand or by a tube laser")
    unsawn: dict[str, list[str]] = {}
    for joint in report.joints:
        tube, end, note = joint.joint.tube, joint.joint.end, joint.joint.method.note
        if note:
            unsawn.setdefault(note, []).append(f"{tube}, {end}")
    for note, ends in unsawn.items():
        out.print(f"by hand, though a saw is wanted: {'; '.join(ends)}: {note}", markup=False)
    for section in report.sections:
        print_section(section, out)
    out.print(_summary(report))


def print_section(section: "Section", out: "Console") -> None:
    """A section of the report, by the module that knows its kind."""
    from frame3d.check.clearances import Clearances
    from frame3d.check.hole_conflicts import HoleConflicts
    from frame3d.check.part_fits import PartFits
    from frame3d.check.trim import TrimPlan

    from .clearance_table import print_clearances
    from .fits_table import print_fits
    from .trim_table import print_trim

    if isinstance(section, TrimPlan):
        print_trim(section, out)
    if isinstance(section, HoleConflicts):
        _print_holes(section, out)
    if isinstance(section, PartFits):
        print_fits(section.lines, out)
    if isinstance(section, Clearances):
        print_clearances(section, out)


def _print_holes(found: "HoleConflicts", out: "Console") -> None:
    for tube, words in found.conflicts:
        out.print(f"[bold]{escape(tube)}:[/bold] {escape(words)}")
    if found.passes:
        clear = "it is" if found.count == 1 else "all are"
        out.print(
            f"{counted(found.count, 'hole')}: {clear} clear of joints, ends, the butts' "
            "transitions and other holes"
        )


def _joint_row(report: "JointReport") -> list[str]:
    gap = report.gap.widest.value if report.gap else None
    verdict = "[green]pass[/green]" if report.passes else "[bold red]fail[/bold red]"
    return [
        escape(report.joint.tube),
        report.joint.end,
        escape("\n".join(mate.tube for mate in report.mates)),
        "\n".join("none" if mate.saw is None else f"{mate.saw:.1f}" for mate in report.mates),
        "\n".join(f"{mate.angle:.2f}" for mate in report.mates),
        _mm(report.seat),
        "-" if gap is None or not isfinite(gap) else told_beside(gap, report.limit, 3),
        _mm(report.limit),
        verdict,
    ]


def _mm(value: float | None) -> str:
    return "-" if value is None or not isfinite(value) else plain(value, 3)


def _summary(report: "Report") -> str:
    joints = len(report.joints)
    closing = sum(joint.passes for joint in report.joints)
    parts = counted(len(report.tubes), "tube")
    if report.plates:
        parts += f" and {counted(len(report.plates), 'plate')}"
    text = f"{parts}, {report.mass:.0f} g; {closing} of {joints} joints pass"
    if report.clashes:
        text += f"; {counted(len(report.clashes), 'clash', 'clashes')}"
    for section in report.sections:
        if not section.passes:
            text += f"; {section.key} {'fail' if section.key.endswith('s') else 'fails'}"
    return f"[green]{text}[/green]" if report.passes else f"[red]{text}[/red]"
