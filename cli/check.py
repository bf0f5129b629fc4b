"""frame3d check: does every joint close?"""

import json
import sys
from pathlib import Path

import click

from .common import FAILS, console, job_argument, load_or_refuse, progress


@click.command("check")
@job_argument
@click.option("--json", "as_json", is_flag=True, help="Print the report as JSON.")
def command(job: Path, as_json: bool) -> None:
    """Check every joint of JOB: the gap around it, its seat, its footprint, and what is in the way.

    Exit status 0 when all joints pass, 1 when one fails, 2 when JOB cannot be used.
    """
    frame = load_or_refuse(job)

    from frame3d.shop.all_checks import check_all
    from frame3d.solids.frame import frame_solids
    from frame3d.surfaces.cope import copes_of

    copes = copes_of(frame)
    with progress(len(frame.tubes), "cutting") as advance:
        solids = frame_solids(frame, copes, done=advance)
    report = check_all(frame, copes, solids)
    if as_json:
        click.echo(json.dumps(report.as_json(), indent=1))
    else:
        from .table import print_report

        print_report(report, console())
    sys.exit(0 if report.passes else FAILS)
