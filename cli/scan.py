"""frame3d check --scan: the fit of a cut end as scanned, and where to file it."""

import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click
from rich.markup import escape

from frame3d.json_text import json_text

from .common import FAILS, console, refuse, whole_or_refuse

if TYPE_CHECKING:
    from frame3d.build import Build


def check_scan(
    build: "Build", scan: Path, end: str | None, out: Path | None, as_json: bool
) -> None:
    """Check one scanned end and stop; with `out`, also draw it there."""
    from frame3d.check.report_section import number
    from frame3d.scan.doubts import scale_doubt, table_hint
    from frame3d.scan.read import ScanError, read_scan
    from frame3d.scan.registration import fit_scan
    from frame3d.scan.tube_axis import UNIT_WORDS
    from frame3d.tolerance.chance import limit_at
    from frame3d.tolerance.filing import filing, words

    frame, copes = build.frame, build.copes
    known = {f"{tube}:{which}": (tube, which) for tube, which in copes}
    if end not in known:
        named = ", ".join(f'"{name}"' for name in known)
        found = "no --end" if end is None else f'--end "{end}"'
        refuse(f"{scan}: found {found}, expected the end that was scanned: one of {named}")
    key = known[end]
    hint = ""
    try:
        whole = read_scan(scan)
        hint = table_hint(whole.points)
        fit = fit_scan(whole.points, copes[key], whole.part)
    except ScanError as error:
        said = str(error) if str(scan) in str(error) else f"{scan}: {error}"
        refuse(f"{said}; {hint}" if hint else said)
    except TypeError as error:
        refuse(f"{scan}: {end} cannot be checked by scan: {error}")
    limit = limit_at(frame, key)
    tube = frame.tube(key[0])
    drawn_od = float(tube.od(tube.length if key[1] == "end" else 0.0))
    advice = filing(fit.cut, limit)
    text = words(advice, limit)
    doubt = scale_doubt(tube, key[1], fit.od, fit.noise)
    passes = fit.gap <= limit and not doubt
    if out is not None:
        from frame3d.paper.filing_wrap import write_filing_wrap
        from frame3d.view.scan_plot import write_scan_plot

        with whole_or_refuse(out) as folder:
            write_scan_plot(fit, limit, folder / "scan.png")
            write_scan_plot(fit, limit, folder / "scan.svg")
            if advice is not None:
                write_filing_wrap(advice, limit, folder / "file-to-fit.pdf")
    if as_json:
        figures = {
            "format": "frame3d-scan/2",
            "tube": key[0],
            "end": key[1],
            "gap_mm": number(fit.gap),
            "gap_error_mm": number(fit.gap_error),
            "limit_mm": number(limit),
            "verdict": "pass" if passes else "fail",
            "angle_deg": [number(float(a)) for a in fit.angles[1]],
            "tilt_deg": [number(float(t)) for t in fit.tilt],
            "tilt_error_deg": [number(float(t)) for t in fit.tilt_error],
            "centring_mm": [number(float(c)) for c in fit.centring],
            "centring_error_mm": [number(float(c)) for c in fit.centring_error],
            "od_mm": number(fit.od),
            "unit": fit.unit,
            "noise_mm": number(fit.noise),
            "seen": number(fit.seen),
            "face_seen": number(fit.face_seen),
            "alike_when_turned": fit.alike,
            "scale_doubt": doubt or None,
            "hint": hint or None,
            "filing": text,
        }
        click.echo(json_text(figures))
    else:
        shown = console()
        verdict = "[green]pass[/green]" if passes else "[bold red]fail[/bold red]"
        near = abs(fit.gap - limit) < 2 * fit.gap_error
        shown.print(f"[bold]{escape(key[0])}, {key[1]}, as scanned:[/bold] {verdict}")
        shown.print(f"gap {fit.gap:.3f} ± {fit.gap_error:.3f} mm, limit {limit:.3f} mm")
        if doubt:
            shown.print(f"not to be judged: {doubt}", markup=False)
        elif near:
            shown.print(
                "the limit lies within two standard errors: too near to call by this scan; more "
                "points on the rim tell more"
            )
        for k, mate in enumerate(next(j.onto for j in frame.joints if (j.tube, j.end) == key)):
            drawn, done = (angles[k] for angles in fit.angles)
            shown.print(
                f"cut for {escape(mate)}: {done:.2f} ± {fit.tilt_error[k]:.2f} degrees (drawn: "
                f"{drawn:.2f}), {abs(fit.centring[k]):.2f} ± {fit.centring_error[k]:.2f} mm off "
                "centre"
            )
        shown.print(
            f"scan in {UNIT_WORDS[fit.unit]}, noise {fit.noise:.3f} mm, outside {fit.od:.2f} mm "
            f"(drawn: {drawn_od:.2f}); seen: {360 * fit.seen:.0f}° of the rim, "
            f"{360 * fit.face_seen:.0f}° of the cut"
        )
        if hint:
            shown.print(hint)
        if fit.alike:
            shown.print(
                "the end looks alike turned about its axis: by the datum line see which way clock "
                "positions and angle go"
            )
        for line in text:
            shown.print(line, markup=False)
    sys.exit(0 if passes else FAILS)
