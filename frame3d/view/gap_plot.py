"""The gap of a joint, unrolled: angle around the tube against gap, with the limit."""

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from frame3d.check.gap import clock
from frame3d.check.joint_reasons import GAP_ROUNDING_MM
from frame3d.check.report import JointReport, Report
from frame3d.fonts import family
from frame3d.mesh.mesh_files import file_stems
from frame3d.surfaces.cope import Cope, Copes
from frame3d.view.lettering import plot_facts, plotted, text_size

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

STEPS = 720
BELOW = 0.04  # of the height, so that the line of an end without a gap is seen
TITLE_WIDE_PT = 430.0
PLACE = (0.09, 0.3, 0.88, 0.52)  # of the axes in the figure: left, bottom, width, height
# Okabe and Ito's set, told apart with any colour vision; the lines differ in their dashes too.
OUTER, INNER, LIMIT = "#0072b2", "#d55e00", "#1b2530"
STEADY: dict[str, object] = {"svg.hashsalt": "frame3d", "svg.fonttype": "none"}  # same file again


def write_gap_plot(report: JointReport, cope: Cope, *paths: Path) -> None:
    """Write the plot of a joint to SVG or PNG files, as the suffix of each path says."""
    from matplotlib import rc_context

    with rc_context({**STEADY, "font.family": family(_title(report))}):
        figure = gap_figure(report, cope)
        for path in paths:
            metadata = plot_facts(path, _said(report))
            figure.savefig(path, dpi=160, metadata=metadata)


def write_gap_plots(
    report: Report,
    copes: Copes,
    folder: Path,
    done: Callable[[str], None] = lambda name: None,
) -> dict[tuple[str, str], list[str]]:
    """Write <tube> <end>.svg and .png of every joint that has a cope into `folder`, and tell the
    files' names by tube and end; `done` hears of each joint."""
    folder.mkdir(exist_ok=True)
    joints = [r for r in report.joints if (r.joint.tube, r.joint.end) in copes]
    stems = file_stems([f"{r.joint.tube} {r.joint.end}" for r in joints])
    written: dict[tuple[str, str], list[str]] = {}
    for joint, stem in zip(joints, stems.values(), strict=True):
        tube, end = joint.joint.tube, joint.joint.end
        written[tube, end] = names = [f"{stem}.svg", f"{stem}.png"]
        write_gap_plot(joint, copes[tube, end], *(folder / name for name in names))
        done(stem)
    return written


def gap_figure(report: JointReport, cope: Cope) -> "Figure":
    """The plot as a matplotlib figure, 160 by 90 mm."""
    from matplotlib.figure import Figure

    theta = np.linspace(0.0, 2 * np.pi, STEPS + 1)
    degrees = np.degrees(theta)
    figure = Figure(figsize=(6.3, 3.54))
    axes = figure.add_axes(PLACE)
    top = report.limit
    for name, depth, colour, dash in (
        ("outer edge", 1.0, OUTER, "-"),
        ("inner edge", 0.0, INNER, (0, (6, 2))),
    ):
        gap = cope.gap(theta, np.full_like(theta, depth))
        gap = np.where(np.isfinite(gap), gap, np.nan)
        axes.plot(degrees, gap, color=colour, linestyle=dash, linewidth=1.8, label=name)
        top = np.nanmax([top, np.nanmax(gap, initial=0.0)])
    axes.axhline(
        report.limit,
        color=LIMIT,
        linestyle=":",
        linewidth=1.6,
        label=f"limit {report.limit:.3f} mm",
    )
    if report.gap is not None and report.gap.widest.value > GAP_ROUNDING_MM:
        widest = report.gap.widest
        axes.plot(
            np.degrees(widest.theta), widest.value, "o", color=LIMIT, markersize=5, zorder=4,
            label=f"widest {widest.value:.3f} mm at {report.worst} o'clock",
        )  # fmt: skip
        top = max(top, widest.value)
    elif report.gap is not None:
        axes.plot([], [], " ", label="no gap: the end has its mate's own shape")
    axes.set(xlim=(0, 360), ylim=(-BELOW * top, 1.12 * top), ylabel="gap, mm")
    axes.set_xticks(range(0, 361, 45))
    axes.set_xlabel(
        "angle about the tube from its datum line, degrees (right-handed, start to end)", fontsize=9
    )
    axes.grid(color="#d5dade", linewidth=0.6)
    _clock_axis(axes, cope)
    title = _title(report)
    letters = min(10.0, 10.0 * TITLE_WIDE_PT / text_size(title, 10)[0])
    figure.suptitle(title, fontsize=letters, parse_math=False)
    axes.legend(
        fontsize=8, framealpha=0.9, ncols=2, loc="upper center", bbox_to_anchor=(0.5, -0.29)
    )
    return figure


def _title(report: JointReport) -> str:
    return plotted(_said(report))


def _said(report: JointReport) -> str:
    joint = report.joint
    onto = ", ".join(_short(name) for name in joint.onto)
    return f"{_short(joint.tube)}, {joint.end}, onto {onto}"


def _short(name: str, most: int = 40) -> str:
    return name if len(name) <= most else name[: most - 1] + "…"


def _clock_axis(axes: "Axes", cope: Cope) -> None:
    """O'clock as seen from the tube's outer end, along the top."""
    hours = axes.secondary_xaxis("top")
    angles = np.arange(0, 361, 45)
    hours.set_xticks(angles, [clock(cope, float(np.radians(angle))) for angle in angles])
    hours.tick_params(labelsize=8, length=2)
