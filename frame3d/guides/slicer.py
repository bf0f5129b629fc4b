"""Print time and filament of a part: read back from the slicer where it is there, else
estimated."""

import re
import shutil
import subprocess
import tempfile
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from manifold3d import Manifold

    from frame3d.model import Printer

SLICER = "prusa-slicer"
LAYER_MM = 0.2
LINES_IN_WALL = 3
FILL = 0.2
PLA_G_CM3 = 1.24  # common value for PLA, no source
# What a plain 0.2 mm profile at the slicer's own default speeds lays down, measured on guides.
ESTIMATED_MM3_PER_MINUTE = 165.0


class SlicerError(RuntimeError):
    """The slicer refused a part; the text is its own last word."""


@dataclass(frozen=True)
class PrintCost:
    """minutes; grams of filament; by: the program that says so, or "estimate"."""

    minutes: float
    grams: float
    by: str


def slicer_found() -> bool:
    return shutil.which(SLICER) is not None


def estimated(solid: "Manifold", printer: "Printer") -> PrintCost:
    """From volume and surface: walls and skins of three lines, a fifth of the rest filled."""
    volume, area = float(solid.volume()), float(solid.surface_area())
    shell = min(area * LINES_IN_WALL * printer.line, volume)
    laid = shell + FILL * (volume - shell)
    return PrintCost(laid / ESTIMATED_MM3_PER_MINUTE, laid / 1000.0 * PLA_G_CM3, "estimate")


def profile(printer: "Printer", *, supports: bool = False) -> str:
    """A plain 0.2 mm profile. supports: let the slicer ask for support beyond the overhang limit,
    so that a test can see that it asks for none."""
    width, depth, height = printer.bed
    settings = {
        "layer_height": LAYER_MM,
        "first_layer_height": LAYER_MM,
        "nozzle_diameter": 0.4,
        "extrusion_width": printer.line,
        "filament_diameter": 1.75,
        "filament_density": PLA_G_CM3,
        "perimeters": LINES_IN_WALL,
        "fill_density": f"{FILL:.0%}",
        "skirts": 0,
        # Time and filament stay the same to 0.2 %, and slicing takes a tenth of the time: no seam
        # hidden by casting rays, walls of one width, corners rounded to a tenth of a layer.
        "seam_position": "rear",
        "perimeter_generator": "classic",
        "resolution": LAYER_MM / 10,
        "gcode_resolution": LAYER_MM / 10,
        "support_material": int(supports),
        # Counted from level: what leans out further than the limit stands below it.
        "support_material_threshold": round(90.0 - printer.overhang),
        "bed_shape": f"0x0,{width:g}x0,{width:g}x{depth:g},0x{depth:g}",
        "max_print_height": height,
    }
    return "".join(f"{name} = {value}\n" for name, value in settings.items())


def sliced(stl: Path, printer: "Printer", *, supports: bool = False) -> tuple[PrintCost, str]:
    """Slice a file with the plain profile: what it costs, and the machine code.

    Raises SlicerError where the slicer fails.
    """
    with tempfile.TemporaryDirectory() as scratch:
        settings, code = Path(scratch) / "plain.ini", Path(scratch) / "part.gcode"
        settings.write_text(profile(printer, supports=supports), encoding="utf-8")
        command = [SLICER, "--export-gcode", "--load", str(settings), "-o", str(code), str(stl)]
        done = subprocess.run(command, capture_output=True, check=False)
        if done.returncode or not code.exists():
            words = (done.stderr + done.stdout).decode(errors="replace").strip().splitlines()
            raise SlicerError(f"{SLICER}: {stl.name}: {words[-1] if words else 'no word'}")
        text = code.read_text(encoding="utf-8", errors="replace")
    return PrintCost(_minutes(text), _number(text, r"filament used \[g\] = ([\d.]+)"), SLICER), text


def _minutes(code: str) -> float:
    found = re.search(r"estimated printing time \(normal mode\) = (.+)", code)
    parts = re.findall(r"(\d+)([dhms])", found[1] if found else "")
    per = {"d": 1440.0, "h": 60.0, "m": 1.0, "s": 1.0 / 60.0}
    return sum(int(count) * per[unit] for count, unit in parts)


def _number(code: str, pattern: str) -> float:
    found = re.search(pattern, code)
    return float(found[1]) if found else float("nan")
