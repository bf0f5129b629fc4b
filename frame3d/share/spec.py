"""The spec table: geometry, tubes and mass, as texts for a page or a sheet."""

from dataclasses import dataclass

from frame3d.fit.report import Report, TubeReport
from frame3d.model import Frame, Tube


@dataclass(frozen=True)
class Sheet:
    """A table: title, column headings, and rows of as many texts."""

    title: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


def spec_of(report: Report) -> tuple[Sheet, ...]:
    """What a customer is told. No gaps, saws or prices."""
    return (tube_sheet(report), geometry_sheet(report))


def tube_sheet(report: Report) -> Sheet:
    """Every tube with its sizes and mass, and the frame's mass last."""
    rows = [_tube_row(report.frame.tube(tube.name), tube) for tube in report.tubes]
    total = sum(tube.mass for tube in report.tubes)
    rows.append(("all tubes", "", "", "", "", f"{total:.0f}"))
    columns = ("tube", "material", "outside, mm", "wall, mm", "length, mm", "mass, g")
    return Sheet("Tubes", columns, tuple(rows))


def geometry_sheet(report: Report) -> Sheet:
    """What the job tells of its geometry, and the angle at which each tube meets another."""
    rows = list(report.frame.show.facts)
    for joint in report.joints:
        for mate in joint.mates:
            rows.append((f"{joint.joint.tube} to {mate.tube}, angle", f"{mate.angle:.2f}°"))
    return Sheet("Geometry", ("what", "how much"), tuple(rows))


def fit_sheet(report: Report) -> Sheet:
    """Shop-private: every joint's gap, limit and saws."""
    rows = []
    for joint in report.joints:
        saws = ", ".join("none" if mate.saw is None else f"{mate.saw:g}" for mate in joint.mates)
        gap = f"{joint.gap.widest.value:.3f}" if joint.gap else "none"
        onto = ", ".join(joint.joint.onto)
        verdict = "pass" if joint.passes else "; ".join(joint.reasons)
        rows.append(
            (joint.joint.tube, joint.joint.end, onto, saws, gap, f"{joint.limit:.3f}", verdict)
        )
    columns = ("tube", "end", "onto", "saw, mm", "gap, mm", "limit, mm", "verdict")
    return Sheet("Joints (shop-private)", columns, tuple(rows))


def details(tube: Tube, report: TubeReport) -> str:
    """One line about a tube, for a label."""
    return (
        f"{sizes(tube.od.value)} mm outside, {sizes(tube.wall.value)} mm wall, "
        f"{report.length:.1f} mm long, {report.mass:.0f} g, {tube.material}"
    )


def sizes(values: tuple[float, ...]) -> str:
    """Changing sizes along a tube, without repetition: "0.9 / 0.6 / 0.9"."""
    told: list[str] = []
    for value in values:
        text = f"{value:.2f}".rstrip("0").rstrip(".")
        if not told or told[-1] != text:
            told.append(text)
    return " / ".join(told)


def _tube_row(tube: Tube, report: TubeReport) -> tuple[str, ...]:
    return (
        tube.name,
        tube.material,
        sizes(tube.od.value),
        sizes(tube.wall.value),
        f"{report.length:.1f}",
        f"{report.mass:.0f}",
    )


def summary(frame: Frame, report: Report) -> str:
    """The frame in a sentence."""
    total = sum(tube.mass for tube in report.tubes)
    return f"{len(frame.tubes)} tubes, {len(frame.joints)} coped ends, {total:.0f} g of tube."
