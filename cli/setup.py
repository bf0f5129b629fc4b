"""frame3d setup: the pages for the mill."""

import json
import sys
from pathlib import Path

import click

from .common import FAILS, console, job_argument, load_or_refuse, out_option, whole_or_refuse


@click.command("setup")
@job_argument
@click.option("--json", "as_json", is_flag=True, help="Print every number of every page as JSON.")
@out_option()
def command(job: Path, as_json: bool, out: Path) -> None:
    """Write the shop's pages of JOB: shop/pages.pdf with the set-up of every cut, and shop/wraps/.

    With --json the numbers are printed, each with its meaning, and no file is written. Exit status
    0 when the pages are made, 1 when they are and a hole runs into something, 2 when JOB cannot be
    used.
    """
    frame = load_or_refuse(job)

    from frame3d.shop.pages import shop_pages

    pages, sawn, copes = shop_pages(frame)
    status = FAILS if pages.conflicts else 0
    if as_json:
        click.echo(json.dumps(pages.as_json(), indent=1, ensure_ascii=False))
        sys.exit(status)

    from datetime import date

    from frame3d.share.paper import Head
    from frame3d.share.shop_pages import write_shop_pdf
    from frame3d.share.wrap_files import write_wraps
    from frame3d.shop.wraps import wraps

    mill = sawn.shop.mill
    head = Head(sawn.name, date.today().isoformat(), mill.paper)
    with whole_or_refuse(out) as folder:
        shop, paper = folder / "shop", folder / "shop" / "wraps"
        paper.mkdir(parents=True)
        write_shop_pdf(shop / "pages.pdf", pages, mill, head)
        write_wraps(paper, wraps(sawn, copes), head)
    people = console()
    for words in pages.conflicts:
        people.print(f"conflict on {words}", markup=False)
    for tube in pages.tubes:
        for words in tube.sheet.warnings:
            people.print(f"{tube.sheet.tube}: {words}", markup=False)
    people.print(f"written to {out / 'shop'}", markup=False)
    sys.exit(status)
