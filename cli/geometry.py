"""frame3d geometry: what the numbers of a bicycle say, before and after its tubes are picked."""

import sys
from collections.abc import Mapping
from pathlib import Path
from types import MappingProxyType
from typing import TYPE_CHECKING

import click

from frame3d.json_text import json_text

from .common import FAILS, console, job_argument, plain, refuse

if TYPE_CHECKING:
    from rich.console import Console

    from frame3d.bicycle.facts import JobFacts, NamedParts, RiderFit


UNITS = {"mm": "mm", "deg": "°"}
# Where a measure is taken that its name does not tell.
MEASURED_AT = {"standover": "to the top tube's upper side, at its middle"}


@click.command("geometry")
@job_argument
@click.option("--json", "as_json", is_flag=True, help="Print the numbers as JSON.")
def command(job: Path, as_json: bool) -> None:
    """Print what the bicycle of JOB comes to: frame and handling, the jig's settings, head and
    fork, the bores that the parts want, and where the rider sits. JOB may still be without tubes.

    Exit status 0, 1 when the tubes cannot stand so or a part does not fit its tube, or 2 when JOB
    cannot be used.
    """
    from frame3d.bicycle.facts import facts_of_job
    from frame3d.jobs import JobError

    try:
        found = facts_of_job(job)
    except JobError as error:
        refuse(str(error))
    if as_json:
        click.echo(json_text(found.as_json()))
    else:
        _print(found, console())
    if found.problem is not None:
        click.echo(f"frame3d: without the tubes: {found.problem}", err=True)
    if not found.passes:
        sys.exit(FAILS)


def _print(found: "JobFacts", out: "Console") -> None:
    from rich.markup import escape

    from frame3d.bicycle.facts import figures

    facts = found.bicycle
    out.print(f"[bold]{escape(found.name)}[/bold]\n")
    origins = dict.fromkeys(facts.assumed, "assumed")
    origins |= dict.fromkeys(facts.from_rider, "from the rider")
    for one in figures(facts.geometry.rounded):
        origins[one.name] = f"given as {one.value:g} {UNITS[one.unit]}"
    for one in figures(facts.own_axes):
        origins[one.name] = f"the tube's own axis has {one.value:.2f} {UNITS[one.unit]}"
    _measures(out, "frame", facts.geometry.values, origins)
    _measures(out, "handling", vars(facts.handling), MEASURED_AT)
    _measures(out, "head and fork", vars(facts.head_and_fork))
    jig = facts.jig
    nodes = [[name, f"{x:.2f}", f"{z:.2f}"] for name, (x, _, z) in jig.nodes.items()]
    _table(out, ("jig, from the shell's centre", "x mm", "z mm"), nodes)
    _numbers(out, "jig, angles", "°", jig.angles)
    _numbers(out, "jig, centre to centre", "mm", jig.lengths)
    if facts.parts.told():
        _parts(out, facts.parts)
    if found.fits:
        from .fits_table import print_fits

        print_fits(found.fits, out)
    if facts.rider:
        assumed = dict.fromkeys(facts.rider.assumed, "assumed")
        _measures(out, "between frame and rider", vars(facts.rider.cockpit), assumed)
        _rider(out, facts.rider)
        out.print(_stem_words(facts.rider))


def _stem_words(rider: "RiderFit") -> str:
    """The stem that mends the hands, and whether there can be one."""
    length, spacers = rider.stem_for_hands, rider.spacers_for_hands
    words = (
        f"The hands as asked for want a stem of {plain(length, 1)} mm on {plain(spacers, 1)} mm of "
        f"spacers; the job has {plain(rider.cockpit.stem_length, 1)} on "
        f"{plain(rider.cockpit.spacers, 1)}."
    )
    if round(spacers, 1) < 0:
        words += (
            f" That cannot be built: head tube and headset end {-spacers:.1f} mm too high for this "
            f"stem, along the steerer; it takes a shorter head tube or a lower stem_angle."
        )
    if round(length, 1) <= 0:
        words += " That cannot be built: the frame's reach is too long for any stem."
    return words


def _table(out: "Console", columns: tuple[str, ...], rows: list[list[str]]) -> None:
    from .columns import print_table

    print_table(out, (f"{columns[0]:<34}", *columns[1:]), rows)


def _measures(
    out: "Console",
    title: str,
    values: Mapping[str, float | None],
    origins: Mapping[str, str] = MappingProxyType({}),
) -> None:
    from frame3d.bicycle.facts import figures

    rows = [
        [_words(one.name), f"{one.value:.2f} {UNITS[one.unit]}", origins.get(one.name, "")]
        for one in figures(values)
    ]
    _table(out, (title, "", ""), rows)


def _numbers(out: "Console", title: str, unit: str, values: Mapping[str, float]) -> None:
    _table(out, (title, unit), [[name, f"{value:.2f}"] for name, value in values.items()])


def _parts(out: "Console", parts: "NamedParts") -> None:
    from rich.markup import escape

    from frame3d.bicycle.facts import Bore

    rows = []
    for name, value in parts.told().items():
        if isinstance(value, Bore):
            tube = "" if value.tube is None else f"{value.tube:.2f} mm"
            rows.append([_words(name), f"{value.wanted:.2f} mm", tube])
        else:
            text = escape(value) if isinstance(value, str) else f"{value:g} mm"
            rows.append([_words(name), text, ""])
    _table(out, ("parts", "wanted", "tube"), rows)


def _rider(out: "Console", rider: "RiderFit") -> None:
    from frame3d.bicycle.facts import figures

    both = zip(figures(vars(rider.wanted)), figures(vars(rider.placed)), strict=True)
    rows = [
        [_words(wanted.name), f"{wanted.value:.1f} mm", f"{placed.value:.1f} mm"]
        for wanted, placed in both
    ]
    _table(out, ("rider, from the shell's centre", "asked for", "on this frame"), rows)


def _words(name: str) -> str:
    return name.replace("_", " ")
