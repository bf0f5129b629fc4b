"""frame3d share: a page, a sheet and meshes for the customer."""

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from .common import (
    console,
    job_argument,
    open_or_refuse,
    out_option,
    progress,
    tell_missing_pictures,
    whole_or_refuse,
)
from .verdict import end_with

if TYPE_CHECKING:
    from frame3d.build import Build
    from frame3d.view.version import Version

PAGE_BYTES = 5_000_000


@click.command("share")
@job_argument
@click.option(
    "--beside",
    type=click.Path(path_type=Path),
    help="A second job, shown beside the first: another version of the frame.",
)
@click.option(
    "--private", is_flag=True, help="Show the shop's own numbers on the page too: gaps and saws."
)
@out_option("out/share")
def command(job: Path, beside: Path | None, private: bool, out: Path) -> None:
    """Write what a customer may see of JOB: a page that opens offline, a PDF, pictures and meshes.

    frame.html is one file with everything in it; send it as it is. Gaps, saws and limits are left
    out unless --private is given. Exit status 1 where a joint of a frame fails: all is written all
    the same.
    """
    builds = [open_or_refuse(path) for path in (job, beside) if path is not None]

    with whole_or_refuse(out) as folder:
        versions = share_into(folder, builds, private)
    tell_missing_pictures()
    console().print(f"written to {out}: open {out / 'frame.html'} in any browser", markup=False)
    end_with(versions)


def share_into(
    folder: Path, builds: "Sequence[Build]", private: bool = False
) -> "tuple[Version, ...]":
    """Write the page, the sheet, pictures and meshes of the first build, others beside it on the
    page, into an empty folder."""
    from frame3d.mesh.formats import write_all_formats
    from frame3d.paper.customer_pdf import write_customer_pdf
    from frame3d.view.pictures import VIEWS, picture
    from frame3d.view.renderer import no_renderer
    from frame3d.view.spec_tables import summary
    from frame3d.view.viewer_glb import write_phone_glb
    from frame3d.web.page import page_html

    first = builds[0].frame
    steps = len(first.tubes) + len(VIEWS) + 3
    with progress(steps, "sharing") as advance:
        solids = builds[0].solids(done=advance)
        write_all_formats(solids, folder, first.show)
        advance("meshes")
        versions = tuple(build.version(gaps=private) for build in builds)
        shown = versions[0]
        write_phone_glb(shown.scene, folder / "frame.glb")
        told = shown.told if private else summary(first, shown.report)
        text = page_html(first.name, told, versions)
        (folder / "frame.html").write_text(text, encoding="utf-8")
        written = (folder / "frame.html").stat().st_size
        if written > PAGE_BYTES:
            size = f"{written / 1e6:.1f} MB"
            console(err=True).print(f"frame.html is {size}: phones and mail may refuse it")
        advance("page")
        write_customer_pdf(shown, folder / "frame.pdf")
        advance("sheet")
        for view in () if no_renderer() else VIEWS:
            picture(shown.scene, folder / f"{view}.png", view)
            advance(view)
    return versions
