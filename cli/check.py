"""frame3d check: does every joint close?"""

import sys
from pathlib import Path

import click

from frame3d.json_text import json_text

from .common import FAILS, Folder, console, job_argument, open_or_refuse, progress


@click.command("check")
@job_argument
@click.option("--json", "as_json", is_flag=True, help="Print the report as JSON.")
@click.option(
    "--scan",
    type=click.Path(path_type=Path),
    help="A scan of one cut end: STL, PLY, OBJ or a point file, in any position and unit.",
)
@click.option("--end", help='The end that was scanned, such as "down tube:start".')
@click.option(
    "-o",
    "--out",
    type=Folder(),
    help="With --scan: folder for its picture and the wrap to file by.",
)
def command(job: Path, as_json: bool, scan: Path | None, end: str | None, out: Path | None) -> None:
    """Check every joint of JOB: the gap around it, its seat, its footprint, and what is in the way;
    parts, raw tubes, holes and clearances too.

    With --scan and --end, check that one end as it was scanned, and tell where to file it.

    Exit status 0 when all pass, 1 when one fails, 2 when JOB cannot be used.
    """
    build = open_or_refuse(job)
    if scan is not None:
        from .scan import check_scan

        check_scan(build, scan, end, out, as_json)

    with progress(len(build.frame.tubes), "cutting") as advance:
        build.solids(done=advance)
    report = build.report
    if as_json:
        click.echo(json_text(report.as_json()))
    else:
        from .table import print_report

        print_report(report, console())
    sys.exit(0 if report.passes else FAILS)
