"""frame3d filler: how much filler each joint takes, and where closed tubes need a vent."""

import sys
from pathlib import Path

import click

from frame3d.json_text import json_text

from .common import FAILS, console, job_argument, open_or_refuse

CAUTION = (
    "Brazing and welding: fumes, glare, fire. Ventilate, wear eye and skin protection, clear what "
    "burns, and never heat a closed tube. Follow the filler's and flux's safety sheets."
)

COLUMNS = (
    "tube", "end", "line mm", "angles °", "fillet mm", "fillet mm³", "gap mm³", "filler g", "rod mm"
)  # fmt: skip


@click.command("filler")
@job_argument
@click.option(
    "--radius",
    type=click.FloatRange(0.1, 50),
    help="Radius of all fillets, mm; without it the usual one for process and tube.",
)
@click.option("--json", "as_json", is_flag=True, help="Print all figures as JSON.")
def command(job: Path, radius: float | None, as_json: bool) -> None:
    """Tell what each joint of JOB takes: length of its line, fillet, gap, filler and rod.

    The fillet is what a ball of its radius, rolled along the joint, leaves out.

    Exit status 0 when done, 1 when a joint cannot be told or its process does not fit its material,
    2 when JOB cannot be used.
    """
    build = open_or_refuse(job)
    frame = build.frame

    from frame3d.check.filler import fillers_of, rods_of
    from frame3d.check.filler_document import filler_document
    from frame3d.check.vents import hole_toml, vent_advice

    copes = build.copes
    joints = fillers_of(frame, copes, radius)
    fails = any(one.reasons for one in joints)
    advice = vent_advice(frame, copes)
    if as_json:
        click.echo(json_text(filler_document(frame, joints, advice).model_dump()))
        sys.exit(FAILS if fails else 0)

    from rich.markup import escape

    from .columns import print_table

    out = console()
    rows = [
        [
            escape(one.joint.tube),
            one.joint.end,
            f"{room.length:.1f}" if room else "-",
            f"{room.least:.0f} to {room.most:.0f}" if room else "-",
            f"{one.radius:g}",
            f"{room.fillet:.0f}" if room else "-",
            f"{room.gap:.1f}" if room else "-",
            "-" if one.mass is None else f"{one.mass:.1f}",
            "-" if one.rod is None else f"{one.rod:.0f}",
        ]
        for one in joints
        for room in [one.room]
    ]
    print_table(out, COLUMNS, rows, words=2, title=frame.name)
    for one in joints:
        for reason in one.reasons:
            out.print(f"{one.joint.tube}, {one.joint.end}: {reason}", markup=False)
    for rods in rods_of(joints):
        out.print(f"together {rods}", markup=False)
    for lack in advice:
        out.print(escape(lack.words))
    holes = [lack.hole for lack in advice if lack.hole]
    if holes:
        out.print(f"\nReady to paste into {escape(job.name)}, all of them:\n")
        click.echo("\n".join(map(hole_toml, holes)))
    out.print(CAUTION)
    sys.exit(FAILS if fails else 0)
