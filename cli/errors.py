"""frame3d errors: what this shop's errors do to each joint."""

import re
import sys
from pathlib import Path
from textwrap import fill
from typing import TYPE_CHECKING

import click

from frame3d.json_text import json_text

from .common import (
    FAILS,
    Folder,
    console,
    job_argument,
    open_or_refuse,
    progress_count,
    refuse,
    whole_or_refuse,
)

if TYPE_CHECKING:
    from rich.console import Console

    from frame3d.tolerance.budget import Budget
    from frame3d.tolerance.chance import Estimate
    from frame3d.tolerance.simulate import Key

NO_BREAK = "\N{NO-BREAK SPACE}"


@click.command("errors")
@job_argument
@click.option(
    "-n",
    "--samples",
    type=click.IntRange(100, 1_000_000),
    default=4000,
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
@click.option(
    "--care/--no-care",
    default=True,
    help="Work out what helps most, and the care that the chance asks for.",
)
@click.option(
    "--hand-fit/--jig-only",
    default=True,
    help="Move by hand what the jig leaves open, each tube as one body.",
)
@click.option("--json", "as_json", is_flag=True, help="Print all figures and curves as JSON.")
@click.option(
    "-o",
    "--out",
    type=Folder(),
    help="Folder for errors.json and the curves: worst gap against each error alone, as PDF.",
)
def command(
    job: Path,
    samples: int,
    seed: int,
    wanted: float,
    care: bool,
    hand_fit: bool,
    as_json: bool,
    out: Path | None,
) -> None:
    """Tell what set-up errors do to every joint of JOB: its chance to close, and the care worth it.

    The shop file's [errors] says how large they are in this shop.

    In the jig a tube lies on its drawn axis: it is turned there to share the phase of its cuts
    between its ends; if too short it opens both ends by half of what is missing; if too long it is
    eased in or filed. By hand each tube is then moved, as one body and no further than told.

    Exit status 0 when each joint closes with the wanted chance, in the jig or by hand, 1 when one
    does not, 2 when JOB cannot be used.
    """
    build = open_or_refuse(job)
    frame = build.frame

    from frame3d.tolerance.budget import as_json as json_of
    from frame3d.tolerance.budget import error_budget, work_of
    from frame3d.tolerance.setup_errors import spreads_in

    copes = build.copes
    spreads = spreads_in(frame.shop)
    curves = as_json or out is not None
    work = work_of(len(copes), samples, care, hand_fit, curves)
    with progress_count(work, "set-ups") as advance:
        try:
            budget = error_budget(
                frame, copes, spreads, samples, seed, wanted, care, hand_fit, curves, advance
            )
        except ValueError as error:
            if not frame.joints:
                refuse(f"{job}: found no [[joint]], expected at least one")
            click.echo(f"frame3d: {job}: {error}", err=True)
            sys.exit(FAILS)
    if out is not None:
        from frame3d.paper.error_curves import write_error_curves

        with whole_or_refuse(out) as folder:
            text = json_text(json_of(budget))
            (folder / "errors.json").write_text(text + "\n", encoding="utf-8")
            write_error_curves(budget, folder / "error-curves.pdf")
    if as_json:
        click.echo(json_text(json_of(budget)))
    else:
        _print(budget)
    sys.exit(0 if budget.passes else FAILS)


def _print(budget: "Budget") -> None:
    from frame3d.tolerance.budget_text import words

    out = console()
    _print_table(out, budget)
    out.print(
        "Gaps are told at the widest place of a joint. no error: of a perfect set-up; median: half "
        "of the joints do better; 19 of 20: that many do better; closes: within the limit, "
        "± standard error. " + _rules(budget)
    )
    told: dict[tuple[str, ...], list[Key]] = {}
    for key, joint in budget.joints.items():
        told.setdefault(tuple(words(joint, budget.wanted)), []).append(key)
    for key, reason in budget.left_out.items():
        told.setdefault((f"left out: {reason}",), []).append(key)
    for texts, keys in told.items():
        _print_joints(out, keys, texts)
    out.print()
    _print_sizes(out, budget)
    _print_frame(budget)


def _rules(budget: "Budget") -> str:
    """What the tubes are moved by in the jig and by hand."""
    from frame3d.tolerance.hand_fit_limits import room_by_hand

    text = (
        "In the jig each tube lies on its drawn axis, turned to share phase between its ends; a "
        "short one opens both ends by half, a long one is eased in or filed."
    )
    if budget.by_hand is None:
        return text
    room = room_by_hand()
    return (
        f"{text} By hand a tube that stays open is moved as one body, its mates as drawn: no end "
        f"more than {room.shift:g} mm sideways, and the tube no more than {room.turn:g}° out of "
        f"line and {room.roll:g}° about its axis."
    )


def _print_joints(out: "Console", keys: "list[Key]", texts: tuple[str, ...]) -> None:
    """Joints of which the same is told, and what that is."""
    ends: dict[str, list[str]] = {}
    for tube, end in keys:
        ends.setdefault(tube, []).append(end)
    names = [
        f"{tube}, {' and '.join(which)}".replace(" ", NO_BREAK) for tube, which in ends.items()
    ]
    out.print()
    out.print(_filled("; ".join(names), out.width), style="bold", markup=False)
    for text in texts:
        out.print(_filled(text, out.width, "  "), markup=False)


def _filled(text: str, width: int, indent: str = "") -> str:
    """Lines of at most `width`; no number is parted from its unit."""
    kept = re.sub(r"(?<=\d) (?=mm\b|%)", NO_BREAK, text)
    lines = fill(kept, width, initial_indent=indent, subsequent_indent=indent)
    return lines.replace(NO_BREAK, " ")


def _print_table(out: "Console", budget: "Budget") -> None:
    from rich.markup import escape

    from .columns import print_table

    columns = ["tube", "end", "no error mm", "median mm", "19 of 20 mm", "limit mm"]
    columns += ["closes in the jig %"] + (["closes by hand %"] if budget.by_hand else [])
    rows = []
    for (tube, end), joint in budget.joints.items():
        held = [_chance(joint.by_hand.chance, budget.wanted)] if joint.by_hand else []
        enough = joint.best.value >= budget.wanted
        gaps = (joint.nominal, *(joint.chance.quantile(at).value for at in (0.5, 0.95)))
        told = [f"{gap:.3f}" for gap in (*gaps, joint.chance.limit)]
        jig = _chance(joint.chance.chance, budget.wanted, enough=enough)
        rows.append([escape(tube), end, *told, jig, *held])
    drawn = f"{budget.whole.count} frames drawn, seed {budget.seed}"
    print_table(out, columns, rows, words=2, title=f"{budget.frame.name}: {drawn}")


def _chance(chance: "Estimate", wanted: float, *, enough: bool = False) -> str:
    """In per cent; red where nothing makes it enough."""
    colour = "green" if chance.value >= wanted else "yellow" if enough else "bold red"
    return f"[{colour}]{100 * chance.value:.1f}[/{colour}] ±{_error(chance):<4}"


def _error(chance: "Estimate") -> str:
    """Standard error of a chance in per cent; a small one does not round to nothing."""
    return f"{100 * chance.error:.1f}" if chance.error >= 0.0005 else f"{100 * chance.error:.2f}"


def _print_sizes(out: "Console", budget: "Budget") -> None:
    """Every error that acts on some joint, how large it is taken, and on whose word."""
    from rich.markup import escape

    from .columns import print_table

    title = (
        "The errors as they are taken; the shop file's [errors] takes yours by these keys; marked "
        "all: none is larger"
    )
    rows = [
        [error.key, error.within, escape(error.meaning), escape(error.standing)]
        for error in budget.sizes()
    ]
    columns = ["key", "19 of 20 within", "what it is", "standing"]
    print_table(out, columns, rows, words=4, title=title)


def _print_frame(budget: "Budget") -> None:
    from frame3d.tolerance.budget_text import halved_words

    out = console()
    whole = budget.whole
    chance, reworks = whole.chance, whole.reworks
    text = (
        f"every joint closes in {100 * chance.value:.1f} % of frames ±{_error(chance)} in the jig"
    )
    held = budget.by_hand
    if held:
        text += f", and moved by hand in {100 * held.chance.value:.1f} % ±{_error(held.chance)}"
    out.print(
        f"[bold]Whole frame:[/bold] {text}; in the jig {reworks.value:.2f} ±{reworks.error:.2f} "
        "joints of a frame stay open on average"
    )
    if held and held.moved.sideways is not None:
        out.print(
            "Of the tubes moved by hand 19 of 20 are then out of place at their ends by no more "
            f"than {held.moved.sideways:.2f} mm, and out of line by no more than "
            f"{held.moved.turned:.2f}°"
        )
    if advice := halved_words(budget.halved, chance):
        out.print(f"For the whole frame in the jig {advice}")
    if whole.settled:
        out.print(f"settled: with {whole.count} frames no chance has a standard error above 1 %")
    else:
        out.print("not settled: a chance has a standard error above 1 %; ask for more --samples")
