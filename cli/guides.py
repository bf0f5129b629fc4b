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
    refuse,
    whole_or_refuse,
)


@click.command("guides")
@job_argument
@out_option()
@click.option("--slice", "slicing", is_flag=True, help="Time and filament from prusa-slicer.")
@click.option("--sheet/--no-sheet", default=True, help="The PDF with a picture of each guide.")
def command(job: Path, out: Path, slicing: bool, sheet: bool) -> None:
    """Write printable guides for all coped ends of JOB: guides/*.stl, *.3mf, guides.json, a sheet.

    They lead hacksaw, scriber and file along the mating tube's own outside, whatever saws the job
    names. Exit status 0 when every coped end has its guide, 1 when one cannot be made (the others
    are written all the same), 2 when JOB cannot be used (nothing is written).
    """
    frame = load_or_refuse(job)

    from frame3d.guides.plan import printed_guides
    from frame3d.share.guide_files import write_guides
    from frame3d.share.slicer import SLICER, SlicerError, slicer_found

    if slicing and not slicer_found():
        refuse(f"--slice: {SLICER} is not installed; without it time and filament are estimated")
    coped = len({joint.tube for joint in frame.joints})
    with whole_or_refuse(out) as folder:
        with progress(coped, "guides") as advance:
            printed, refused = printed_guides(frame, done=advance)
        place = folder / "guides"
        place.mkdir()
        parts = sum(len(guide.parts) for guide in printed)
        with progress(parts, "slicing" if slicing else "files") as advance:
            try:
                files, costs = write_guides(frame, printed, refused, place, slicing, advance)
            except SlicerError as error:
                refuse(str(error))
        if sheet:
            from frame3d.share.guide_sheet import write_guide_sheet

            with progress(len(printed), "sheet") as advance:
                write_guide_sheet(frame, files, refused, costs, place / "guides.pdf", advance)

    people = console()
    for stem, guide, part in files:
        size = " x ".join(f"{length:.0f}" for length in part.size)
        cost = costs[stem]
        told = f"{cost.minutes / 60:.1f} h, {cost.grams:.0f} g ({cost.by})"
        people.print(f"{stem}: set {guide.guide.setting:g}, {size} mm, {told}", markup=False)
    for end in refused:
        people.print(f"{end.tube}, {end.end}: no guide: {end.reason}", markup=False)
    people.print(f"{len(files)} files, written to {out / 'guides'}", markup=False)
    sys.exit(FAILS if refused else 0)
