"""frame3d errors: what this shop's errors do to each joint."""

import json
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from .common import FAILS, console, job_argument, load_or_refuse, progress_count, refuse

if TYPE_CHECKING:
    from frame3d.fit.budget.budget import Budget


@click.command("errors")
@job_argument
@click.option(
    "-n",
    "--samples",
    type=click.IntRange(100, 1_000_000),
    default=10_000,
    show_default=True,
    help="Frames drawn at random.",
)
@click.option(
    "--seed", type=click.IntRange(0), default=1, show_default=True, help="Same seed, same result."
)
@click.option(
    "--chance",
    "wanted",
    type=click.FloatRange(0.5, 0.999),
    default=0.95,
    show_default=True,
    help="Chance that each joint should have to close.",
)
@click.option("--care/--no-care", default=True, help="Work out the care that the chance asks for.")
@click.option(
    "--hand-fit", is_flag=True, help="Also move some tubes to their best seat, as by hand."
)
@click.option("--json", "as_json", is_flag=True, help="Print all figures and curves as JSON.")
def command(
    job: Path, samples: int, seed: int, wanted: float, care: bool, hand_fit: bool, as_json: bool
) -> None:
    """Tell what set-up errors do to every joint of JOB: its chance to close, and the care worth it.

    The shop file's [errors] says how large they are in this shop.

    Exit status 0 when each joint closes with the wanted chance, 1 when one does not, 2 when JOB
    cannot be used.
    """
    frame = load_or_refuse(job)

    from frame3d.fit.budget.budget import JOINT_WORK, error_budget
    from frame3d.fit.budget.budget import as_json as json_of
    from frame3d.fit.budget.errors import shop_spreads
    from frame3d.surfaces.cope import copes_of

    copes = copes_of(frame)
    spreads = shop_spreads(dict(frame.shop.errors))
    with progress_count((samples + JOINT_WORK) * len(copes), "set-ups") as advance:
        try:
            budget = error_budget(
                frame, copes, spreads, samples, seed, wanted, care, hand_fit, advance
            )
        except ValueError as error:
            refuse(f"{job}: {error}")
    if as_json:
        click.echo(json.dumps(json_of(budget), indent=1))
    else:
        _print(budget)
    sys.exit(0 if budget.passes else FAILS)


def _print(budget: "Budget") -> None:
    from rich.box import SIMPLE_HEAD
    from rich.markup import escape
    from rich.table import Table

    from frame3d.fit.budget.budget import words

    out = console()
    table = Table(
        title=escape(f"{budget.frame.name}: {budget.whole.count} frames, seed {budget.seed}"),
        title_justify="left",
        title_style="bold",
        box=SIMPLE_HEAD,
    )
    table.add_column("tube", overflow="fold")
    table.add_column("end")
    for name in ("nominal mm", "median mm", "95 % below mm", "limit mm", "closes %", "most of it"):
        table.add_column(name, justify="right", no_wrap=name == "most of it")
    for (tube, end), joint in budget.joints.items():
        chance = joint.chance.chance
        colour = "green" if chance.value >= budget.wanted else "bold red"
        table.add_row(
            escape(tube),
            end,
            f"{joint.nominal:.3f}",
            f"{joint.chance.quantile(0.5).value:.3f}",
            f"{joint.chance.quantile(0.95).value:.3f}",
            f"{joint.chance.limit:.3f}",
            f"[{colour}]{100 * chance.value:.1f}[/{colour}] ±{100 * chance.error:.1f}",
            f"{joint.errors[0].name} {100 * joint.errors[0].share:.0f} %",
        )
    out.print(table)
    for (tube, end), joint in budget.joints.items():
        for text in words((tube, end), joint, budget.wanted):
            out.print(f"[bold]{escape(f'{tube}, {end}')}:[/bold] {escape(text)}")
    for tube, end in budget.left_out:
        name = escape(f"{tube}, {end}")
        out.print(
            f"[bold]{name}:[/bold] left out: it touches nothing, or a mate is not round enough"
        )
    chance, reworks = budget.whole.chance, budget.whole.reworks
    out.print(
        f"every joint closes at the first attempt in {100 * chance.value:.1f} % of frames "
        f"(standard error {100 * chance.error:.1f}); {reworks.value:.2f} joints to be worked again"
    )
    if not budget.whole.settled:
        out.print("not settled: a chance has a standard error above 1 %; ask for more --samples")
