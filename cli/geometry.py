"""frame3d geometry: what the numbers of a bicycle say, before and after its tubes are picked."""

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from frame3d.json_text import json_text

from .common import FAILS, console, job_argument, plain, refuse

if TYPE_CHECKING:
    from rich.console import Console


# Where a measure is taken that its name does not tell.
MEASURED_AT = {"standover_mm": "to the top tube's upper side, at its middle"}


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
        click.echo(json_text({"job": found.name, **found.facts}))
    else:
        _print(found.name, found.facts, console())
    if found.problem is not None:
        click.echo(f"frame3d: without the tubes: {found.problem}", err=True)
    misfit = any(fit["verdict"] == "fail" for fit in found.facts.get("fits", ()))
    if misfit or found.problem is not None:
        sys.exit(FAILS)


def _print(name: str, facts: dict[str, Any], out: "Console") -> None:
    from rich.markup import escape

    out.print(f"[bold]{escape(name)}[/bold]\n")
    _measures(out, "frame", facts["geometry"])
    _measures(out, "handling", facts["handling"])
    _measures(out, "head and fork", facts["head_and_fork"])
    jig = facts["jig"]
    nodes = [[name, f"{x:.2f}", f"{z:.2f}"] for name, (x, _, z) in jig["nodes_mm"].items()]
    _table(out, ("jig, from the shell's centre", "x mm", "z mm"), nodes)
    _numbers(out, "jig, angles", "°", jig["angles_deg"])
    _numbers(out, "jig, centre to centre", "mm", jig["lengths_mm"])
    if facts["parts"]:
        _parts(out, facts["parts"])
    if "fits" in facts:
        from .fits_table import print_fits

        print_fits(facts["fits"], out)
    if "rider" in facts:
        rider = facts["rider"]
        _measures(out, "between frame and rider", rider["cockpit"])
        _rider(out, rider)
        out.print(_stem_words(rider))


def _stem_words(rider: dict[str, Any]) -> str:
    """The stem that mends the hands, and whether there can be one."""
    length, spacers = rider["stem_length_for_hands_mm"], rider["spacers_for_hands_mm"]
    words = (
        f"The hands as asked for want a stem of {plain(length, 1)} mm on {plain(spacers, 1)} mm of "
        f"spacers; the job has {plain(rider['stem_length_mm'], 1)} on "
        f"{plain(rider['spacers_mm'], 1)}."
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


def _measures(out: "Console", title: str, values: dict[str, Any]) -> None:
    origins = dict.fromkeys(values.get("assumed", ()), "assumed")
    origins |= dict.fromkeys(values.get("from_rider", ()), "from the rider")
    origins |= MEASURED_AT
    rows = []
    for key, value in values.items():
        if isinstance(value, float):
            name, unit = _words(key)
            rows.append([name, f"{value:.2f} {unit}", origins.get(key, "")])
    _table(out, (title, "", ""), rows)


def _numbers(out: "Console", title: str, unit: str, values: dict[str, float]) -> None:
    _table(out, (title, unit), [[name, f"{value:.2f}"] for name, value in values.items()])


def _parts(out: "Console", parts: dict[str, Any]) -> None:
    from rich.markup import escape

    rows = []
    for key, value in parts.items():
        name, unit = _words(key)
        if isinstance(value, dict):
            tube = "" if value["tube"] is None else f"{value['tube']:.2f} {unit}"
            rows.append([name, f"{value['wanted']:.2f} {unit}", tube])
        else:
            rows.append([name, f"{value:g} {unit}" if unit else escape(value), ""])
    _table(out, ("parts", "wanted", "tube"), rows)


def _rider(out: "Console", rider: dict[str, Any]) -> None:
    rows = []
    for key, wanted in rider["wanted"].items():
        name, unit = _words(key)
        rows.append([name, f"{wanted:.1f} {unit}", f"{rider['placed'][key]:.1f} {unit}"])
    _table(out, ("rider, from the shell's centre", "asked for", "on this frame"), rows)


def _words(key: str) -> tuple[str, str]:
    """A key as words, and its unit: "trail_mm" becomes ("trail", "mm")."""
    for end, unit in (("_mm", "mm"), ("_deg", "°")):
        if key.endswith(end):
            return key.removesuffix(end).replace("_", " "), unit
    return key.replace("_", " "), ""
