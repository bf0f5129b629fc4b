"""frame3d guides: printable guides for every coped end."""

import sys
from pathlib import Path

import click

from .common import (
    FAILS,
    console,
    job_argument,
    load_or_refuse,
    out_option,
    progress,
    whole_or_refuse,
)


@click.command("guides")
@job_argument
@out_option()
def command(job: Path, out: Path) -> None:
    """Write printable guides for all coped ends of JOB: guides/*.stl, *.3mf, guides.json.

    They lead hacksaw, scriber and file along the mating tube's own outside, whatever saws the job
    names. Exit status 0 when every coped end has its guide, 1 when one cannot be made (the others
    are written all the same), 2 when JOB cannot be used (nothing is written).
    """
    frame = load_or_refuse(job)

    from frame3d.guides.plan import printed_guides
    from frame3d.share.guide_files import write_guides

    coped = len({joint.tube for joint in frame.joints})
    with whole_or_refuse(out) as folder, progress(coped + 1, "guides") as advance:
        printed, refused = printed_guides(frame, done=advance)
        (folder / "guides").mkdir()
        files = write_guides(frame, printed, refused, folder / "guides")
        advance("files")

    people = console()
    for stem, guide, part in files:
        size = " x ".join(f"{length:.0f}" for length in part.size)
        text = f"set {guide.guide.setting:g} mm, {size} mm, {part.solid.volume() / 1000:.1f} cm³"
        people.print(f"{stem}: {text}", markup=False)
    for end in refused:
        people.print(f"{end.tube}, {end.end}: no guide: {end.reason}", markup=False)
    people.print(f"{len(files)} files, written to {out / 'guides'}", markup=False)
    sys.exit(FAILS if refused else 0)
