"""frame3d guides: printable guides for every coped end."""

import sys
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import click

from .common import (
    FAILS,
    console,
    job_argument,
    open_or_refuse,
    out_option,
    progress,
    refuse,
    tell_missing_pictures,
    whole_or_refuse,
)

if TYPE_CHECKING:
    from frame3d.build import Build
    from frame3d.check.frame_check import Judged
    from frame3d.guides.guide_files import File
    from frame3d.guides.plan import Refused


@dataclass(frozen=True)
class Made:
    """The files; the ends and holes that cannot have a guide; what `frame3d check` fails on."""

    files: "list[File]"
    refused: "list[Refused]"
    judged: "Judged"


@click.command("guides")
@job_argument
@out_option()
@click.option(
    "--slice/--no-slice",
    "slicing",
    default=None,
    help="Time and filament from prusa-slicer; by default where it is installed.",
)
@click.option("--blocks", is_flag=True, help="Also split blocks for every size of round tube.")
@click.option("--sheet/--no-sheet", default=True, help="The PDF with a picture of each guide.")
def command(job: Path, out: Path, slicing: bool | None, blocks: bool, sheet: bool) -> None:
    """Write printable guides for all coped ends and holes of JOB: guides/*.stl, *.3mf, guides.json
    and a sheet.

    They lead hacksaw, scriber and file along the cope that check tells: a saw's where the job has
    one for that end, else the mating tube's own outside. Exit status 0 when every end and hole has
    its guide, 1 when one cannot be made, a raw tube's trim or another check fails (all is written
    that can be), 2 when JOB cannot be used.
    """
    build = open_or_refuse(job)

    from frame3d.paper.pdf_page import CHECK_FIRST

    with whole_or_refuse(out) as folder:
        made = guides_into(folder, build, slicing, blocks, sheet)

    if sheet:
        tell_missing_pictures()
    people = console()
    for stem, entry, cost in made.files:
        size = " x ".join(f"{length:.0f}" for length in entry.part.size)
        told = f"{size} mm, {cost.minutes / 60:.1f} h, {cost.grams:.0f} g ({cost.by})"
        setting = f"set {entry.facts['setting_mm']:g} mm, " if "setting_mm" in entry.facts else ""
        if entry.facts.get("set_by") == "line":
            setting = f"line {entry.facts['tip_to_mark_mm']:.1f} mm from the tip, "
        if entry.facts.get("set_by") == "joined":
            setting = "one guide with the other end's, no setting, "
        if "raw_to_mark_mm" in entry.facts:
            setting += f"raw {entry.facts['raw_to_mark_mm']:.1f} mm, "
        people.print(f"{stem}: {setting}{told}", markup=False)
    for end in made.refused:
        people.print(f"{end.tube}, {end.end}: no guide: {end.reason}", markup=False)
    if made.judged.failing:
        people.print(CHECK_FIRST.format(made.judged.failing), markup=False)
    for tube, reasons in made.judged.stops.items():
        for words in reasons:
            people.print(f"do not cut {tube}: {words}; see frame3d check", markup=False)
    people.print(f"{len(made.files)} files, written to {out / 'guides'}", markup=False)
    sys.exit(FAILS if made.refused or made.judged.stops or made.judged.failing else 0)


def guides_into(
    folder: Path,
    build: "Build",
    slicing: bool | None = None,
    blocks: bool = False,
    sheet: bool = True,
) -> Made:
    """Write guides/ into a folder.

    slicing: None to slice where the slicer is installed.
    """
    from frame3d.guides.drill_guides import drill_guides
    from frame3d.guides.guide_error import GuideError
    from frame3d.guides.guide_files import slice_guides, write_guides, write_record
    from frame3d.guides.plan import printed_guides
    from frame3d.guides.process_pool import spread
    from frame3d.guides.record import block_entries, entries
    from frame3d.guides.slicer import SLICER, SlicerError, slicer_found

    if slicing and not slicer_found():
        refuse(f"--slice: {SLICER} is not installed; without it time and filament are estimated")
    frame, copes, told = build.frame, build.copes, build.judged
    printer, coped = frame.shop.printer, {joint.tube for joint in frame.joints}
    place = folder / "guides"
    place.mkdir()
    with spread(len(coped)) as run:
        with progress(len(coped), "guides") as advance:
            printed, refused = printed_guides(frame, advance, run)
        drills, undrilled = drill_guides(frame, copes, printed, run)
        refused += undrilled
        try:
            parts = [*entries(printed, drills), *(block_entries(frame) if blocks else ())]
        except GuideError as error:
            refuse(f"--blocks: {error}")
        with progress(len(parts), "files") as advance:
            files = write_guides(parts, printer, place, advance, run)
        if slicer_found() if slicing is None else slicing:
            try:
                with progress(len(parts), "slicing") as advance:
                    files = slice_guides(files, printer, place, advance)
            except SlicerError as error:
                refuse(str(error))
        write_record(frame, files, refused, told.stops, place)
        if sheet:
            from frame3d.paper.guide_sheet import write_guide_sheet

            with progress(len(printed) + len(drills), "sheet") as advance:
                write_guide_sheet(frame, files, refused, told, place / "guides.pdf", advance, run)
    return Made(files, refused, told)
