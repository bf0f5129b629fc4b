"""frame3d measured: will the tubes that are cut close?"""

import sys
from pathlib import Path

import click

from frame3d.json_text import json_text

from .common import FAILS, console, job_argument, open_or_refuse, refuse


@click.command("measured")
@job_argument
@click.option("--json", "as_json", is_flag=True, help="Print all figures as JSON.")
def command(job: Path, as_json: bool) -> None:
    """Tell whether the tubes measured in JOB's [[measured]] tables will close.

    Exit status 0 when all do, 1 when one does not, 2 when JOB cannot be used.
    """
    build = open_or_refuse(job)
    frame = build.frame
    if not frame.measured:
        refuse(f"{job}: has no [[measured]] table, expected one for each end that was measured")

    from rich.markup import escape

    from frame3d.tolerance.measured_document import measured_document
    from frame3d.tolerance.measured_fit import measured_fit
    from frame3d.tolerance.simulate import target_or_reason, targets_of

    copes = build.copes
    targets = targets_of(copes)
    fits = []
    for measured in frame.measured:
        key = (measured.tube, measured.end)
        if key not in targets:
            reason = target_or_reason(copes[key]) if key in copes else "it cannot be shaped"
            refuse(f"{job}: measured, {measured.tube}, {measured.end}: {reason}")
        try:
            fits.append(measured_fit(frame, copes, targets, measured))
        except ValueError as error:
            refuse(f"{job}: measured, {measured.tube}, {measured.end}, {error}")
    if as_json:
        click.echo(json_text(measured_document(frame, fits).model_dump()))
    else:
        out = console()
        for fit in fits:
            verdict = "[green]pass[/green]" if fit.passes else "[bold red]fail[/bold red]"
            out.print(
                f"[bold]{escape(fit.measured.tube)}, {fit.measured.end}:[/bold] {verdict}, gap "
                f"{fit.gap:.3f} mm of {fit.limit:.3f} mm; cut {fit.tilt:+z.2f} degrees off"
                + (f", {fit.centring:.2f} mm beside the axis" if fit.centring else "")
                + (f", {2 * fit.short:.2f} mm short" if fit.short else "")
            )
            for note in (*fit.remedies, *fit.notes):
                out.print(f"  {escape(note)}")
    sys.exit(0 if all(fit.passes for fit in fits) else FAILS)
