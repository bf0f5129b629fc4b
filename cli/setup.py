"""frame3d setup: the pages for the mill."""

import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from frame3d.json_text import json_text

from .common import (
    FAILS,
    console,
    job_argument,
    open_or_refuse,
    out_option,
    progress,
    whole_or_refuse,
)

if TYPE_CHECKING:
    from frame3d.build import Build
    from frame3d.mill.pages import ShopPages
    from frame3d.mill.wraps import Unwrapped


@click.command("setup")
@job_argument
@click.option("--json", "as_json", is_flag=True, help="Print every number of every page as JSON.")
@out_option()
def command(job: Path, as_json: bool, out: Path) -> None:
    """Write the shop's pages of JOB: shop/pages.pdf with the set-up of every cut, and shop/wraps/.

    With --json the numbers are printed, each with its meaning, and no file is written. Exit status
    0 when the pages are made, 1 when they are and the check fails on anything that is cut so,
    2 when JOB cannot be used.
    """
    build = open_or_refuse(job)

    from frame3d.paper.pdf_page import CHECK_FIRST

    if as_json:
        pages = _pages(build)
        click.echo(json_text(pages.as_json()))
    else:
        with whole_or_refuse(out) as folder:
            pages, unwrapped = pages_into(folder, build)
        people = console()
        for bare in unwrapped:
            people.print(f"{bare.tube}, {bare.end}: no wrap: {bare.reason}", markup=False)
        if pages.failing:
            people.print(CHECK_FIRST.format(pages.failing), markup=False)
        for words in pages.stopped:
            people.print(f"do not cut {words}; see frame3d check", markup=False)
        for words in pages.conflicts:
            people.print(f"conflict on {words}", markup=False)
        for words, tubes in pages.warnings.items():
            people.print(f"{', '.join(tubes)}: {words}", markup=False)
        people.print(f"written to {out / 'shop'}", markup=False)
    fails = pages.stopped or pages.conflicts or pages.failing
    sys.exit(FAILS if fails else 0)


def _pages(build: "Build") -> "ShopPages":
    with progress(len(build.frame.tubes), "setting up") as advance:
        return build.pages(advance)


def pages_into(folder: Path, build: "Build") -> "tuple[ShopPages, list[Unwrapped]]":
    """Write shop/pages.pdf and shop/wraps/ into a folder; the pages, and ends without a wrap."""
    from frame3d.mill.wraps import wraps
    from frame3d.paper.gap_strip import gap_curves
    from frame3d.paper.pdf_page import Head, printed_date
    from frame3d.paper.shop_pages import write_shop_pdf
    from frame3d.paper.wrap_files import write_wraps

    frame, copes = build.frame, build.copes
    pages = _pages(build)
    mill = frame.shop.mill
    head = Head(frame.name, printed_date().isoformat(), mill.paper)
    shop, paper = folder / "shop", folder / "shop" / "wraps"
    paper.mkdir(parents=True)
    write_shop_pdf(shop / "pages.pdf", pages, mill, head, gap_curves(frame, copes))
    blanks = {tube.sheet.tube: tube.sheet.blank_as_sawn for tube in pages.tubes}
    stops = {tube.sheet.tube: tube.stop for tube in pages.tubes}
    made, without = wraps(frame, copes, blanks, stops)
    write_wraps(paper, made, head, mill)
    return pages, without
