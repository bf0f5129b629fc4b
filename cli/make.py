"""frame3d make: everything that a job yields, in one folder."""

import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from frame3d.json_text import json_text

from .common import (
    FAILS,
    console,
    job_argument,
    open_or_refuse,
    out_option,
    progress,
    tell_missing_pictures,
    whole_or_refuse,
)

if TYPE_CHECKING:
    from frame3d.check.report import Report
    from frame3d.surfaces.cope import Copes


@click.command("make")
@job_argument
@click.option(
    "--plots",
    is_flag=True,
    help="Plot the gap of every joint too: gaps/*.svg and *.png, named in the report.",
)
@click.option(
    "--all",
    "whole",
    is_flag=True,
    help="Also the plots, and shop/, guides/ and share/ as setup, guides and share write them.",
)
@out_option()
def command(job: Path, plots: bool, whole: bool, out: Path) -> None:
    """Write the report and all meshes of JOB: report.json, frame.3mf, frame.glb, meshes/*.stl.

    Exit status 0 when all joints pass, 1 when one fails (all is written all the same), 2 when JOB
    cannot be used (nothing is written).
    """
    build = open_or_refuse(job)
    frame = build.frame

    from frame3d.mesh.mesh_files import write_meshes

    plots = plots or whole
    with whole_or_refuse(out) as folder:
        steps = len(frame.tubes) + 2 + (len(frame.joints) if plots else 0)
        with progress(steps, "cutting") as advance:
            solids = build.solids(done=advance)
            report = build.report
            told = report.as_json()
            advance("report")
            if plots:
                _plot(report, build.copes, told, folder / "gaps", advance)
            text = json_text(told)
            (folder / "report.json").write_text(text + "\n", encoding="utf-8")
            write_meshes(solids, folder, frame.show)
            advance("meshes")
        if whole:
            from .guides import guides_into
            from .setup import pages_into
            from .share import share_into

            pages_into(folder, build)
            guides_into(folder, build)
            (folder / "share").mkdir()
            share_into(folder / "share", [build])

    from .table import print_report

    if whole:
        tell_missing_pictures()
    people = console()
    print_report(report, people)
    people.print(f"written to {out}", markup=False)
    sys.exit(0 if report.passes else FAILS)


def _plot(
    report: "Report",
    copes: "Copes",
    told: dict[str, Any],
    folder: Path,
    advance: Callable[[str], None],
) -> None:
    """Plot every gap, and name the files in what the report tells of the joint: gap_plots."""
    from frame3d.view.gap_plot import write_gap_plots

    written = write_gap_plots(report, copes, folder, advance)
    for joint in told["joints"]:
        names = written.get((joint["tube"], joint["end"]), [])
        joint["gap_plots"] = [f"{folder.name}/{name}" for name in names]
