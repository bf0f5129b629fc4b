"""Guides into files: STL and 3MF of every part, and guides.json beside them; what they cost."""

import os
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from frame3d.guides.slicer import PrintCost, estimated, sliced
from frame3d.json_text import json_text
from frame3d.mesh.mesh_files import file_stems, write_bodies_3mf, write_stl

if TYPE_CHECKING:
    from frame3d.check.frame_check import Stops
    from frame3d.guides.plan import Refused
    from frame3d.guides.printed_parts import Part
    from frame3d.guides.process_pool import Spread
    from frame3d.guides.record import Entry
    from frame3d.model import Frame, Printer


File = tuple[str, "Entry", PrintCost]


def write_guides(
    entries: "Sequence[Entry]",
    printer: "Printer",
    folder: Path,
    done: Callable[[str], None] = lambda name: None,
    run: "Spread" = map,
) -> "list[File]":
    """Write every part's STL and 3MF into `folder`: the stem of each file, its entry, and what it
    is estimated to cost. `done` hears of every part, `run` spreads them over the machine's cores.
    """
    stems = _stems([entry.name for entry in entries])
    parts = [(stem, entry.part) for stem, entry in zip(stems, entries, strict=True)]
    for stem, _ in zip(stems, run(partial(_write, folder), parts), strict=True):
        done(stem)
    costs = [estimated(entry.part.solid, printer) for entry in entries]
    return list(zip(stems, entries, costs, strict=True))


def slice_guides(
    files: "Sequence[File]",
    printer: "Printer",
    folder: Path,
    done: Callable[[str], None] = lambda name: None,
) -> "list[File]":
    """The same files of `folder` with the slicer's word on what they cost. Raises SlicerError."""

    def sliced_file(file: "File") -> "File":
        stem, entry, _ = file
        cost = sliced(folder / f"{stem}.stl", printer)[0]
        done(stem)
        return stem, entry, cost

    # A slicer is a program of its own, so that threads keep all cores at work.
    with ThreadPoolExecutor(os.cpu_count() or 1) as pool:
        return list(pool.map(sliced_file, files))


def write_record(
    frame: "Frame",
    files: "Sequence[File]",
    refused: "Sequence[Refused]",
    stops: "Stops",
    folder: Path,
) -> None:
    """Write guides.json, which tells about every file, the ends and holes without a guide, and the
    tubes that must not be cut."""
    from frame3d.guides.record import guides_json

    costs = {stem: _told(cost) for stem, _, cost in files}
    named = [(stem, entry) for stem, entry, _ in files]
    record = guides_json(frame, named, refused, stops, costs)
    text = json_text(record)
    (folder / "guides.json").write_text(text + "\n", encoding="utf-8")


def _stems(names: Sequence[str]) -> list[str]:
    """A file name for each, numbered where two drill guides have one name."""
    unlike = []
    for k, name in enumerate(names):
        before = names[:k].count(name)
        unlike.append(f"{name} {before + 1}" if before else name)
    stems = file_stems(unlike)
    return [stems[name] for name in unlike]


def _write(folder: Path, file: "tuple[str, Part]") -> None:
    stem, part = file
    write_stl([part.solid], folder / f"{stem}.stl")
    write_bodies_3mf([(stem, part.solid, None)], folder / f"{stem}.3mf")


def _told(cost: PrintCost) -> dict[str, object]:
    return {
        "minutes": round(cost.minutes, 1),
        "filament_g": round(cost.grams, 1),
        "by": cost.by,
    }
