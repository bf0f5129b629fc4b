"""frame3d filler: how much filler each joint takes, and where closed tubes need a vent."""

from pathlib import Path

import click

from frame3d.json_text import json_text

from .common import console, job_argument, open_or_refuse, refuse

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
    help="Radius of the fillet, mm; without it the process's usual one.",
)
@click.option("--json", "as_json", is_flag=True, help="Print all figures as JSON.")
def command(job: Path, radius: float | None, as_json: bool) -> None:
    """Tell what each joint of JOB takes: length of its line, fillet, gap, filler and rod.

    Exit status 0 when done, 2 when JOB cannot be used.
    """
    build = open_or_refuse(job)
    frame = build.frame

    from frame3d.fit.filler import as_json as json_of
    from frame3d.fit.filler import assumed, filler_of
    from frame3d.fit.vents import hole_toml, vent_advice

    copes = build.copes
    try:
        joints = [
            filler_of(frame, joint, copes[joint.tube, joint.end], radius)
            for joint in frame.joints
            if (joint.tube, joint.end) in copes
        ]
    except ValueError as error:
        refuse(f"{job}: {error}; frame3d check tells why")
    advice = vent_advice(frame, copes)
    if as_json:
        click.echo(json_text(json_of(frame, joints, advice)))
        return

    from rich.markup import escape

    from .columns import print_table

    out = console()
    rows = [
        [
            escape(one.joint.tube),
            one.joint.end,
            f"{one.length:.1f}",
            f"{one.least:.0f} to {one.most:.0f}",
            f"{one.radius:g}",
            f"{one.fillet:.0f}",
            f"{one.gap:.1f}",
            f"{one.mass:.1f}",
            f"{one.rod:.0f}",
        ]
        for one in joints
    ]
    print_table(out, COLUMNS, rows, words=2, title=frame.name)
    out.print(
        f"together {sum(one.mass for one in joints):.0f} g of filler, what is lost and filed off "
        "included"
    )
    out.print(escape(assumed(frame)))
    for lack in advice:
        out.print(escape(lack.words))
    holes = [lack.hole for lack in advice if lack.hole]
    if holes:
        out.print(f"\nReady to paste into {escape(job.name)}, all of them:\n")
        click.echo("\n".join(map(hole_toml, holes)))
    out.print(CAUTION)
