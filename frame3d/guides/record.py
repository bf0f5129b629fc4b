"""What guides.json tells about each file: which tube and end, where it sits, how it is set."""

from collections.abc import Iterator
from dataclasses import asdict

from frame3d.guides.parts import Part
from frame3d.guides.plan import Printed, Refused
from frame3d.model import Frame

FORMAT = "frame3d-guides/1"


def part_names(printed: Printed) -> Iterator[tuple[str, Part]]:
    """A name for each part: tube and end, and which part where there are several."""
    for part in printed.parts:
        suffix = "" if part.what == "whole" else f", {part.what}"
        yield f"{printed.guide.name}{suffix}", part


def guides_json(
    frame: Frame,
    files: list[tuple[str, Printed, Part]],
    refused: list[Refused],
    costs: dict[str, dict[str, object]],
) -> dict[str, object]:
    """The record of all files (stem, guide, part), with what each costs to print, by stem, and of
    the ends without a guide."""
    return {
        "format": FORMAT,
        "job": frame.name,
        "printer": asdict(frame.shop.printer),
        "guides": [_file(stem, printed, part, costs[stem]) for stem, printed, part in files],
        "refused": [asdict(end) for end in refused],
    }


def _file(stem: str, printed: Printed, part: Part, cost: dict[str, object]) -> dict[str, object]:
    guide = printed.guide
    place = guide.place
    return {
        "file": f"{stem}.stl",
        "file_3mf": f"{stem}.3mf",
        "tube": place.tube.name,
        "end": place.end,
        "part": part.what,
        "onto": [mate.name for mate in place.mates],
        "matrix": (guide.matrix @ part.to_whole).tolist(),
        "setting_mm": guide.setting,
        "mark_mm": guide.mark,
        "clearance_mm": guide.sleeve.clearance,
        "foot_mm": guide.sleeve.section.foot,
        "length_mm": guide.sleeve.length,
        "size_mm": [round(float(length), 3) for length in part.size],
        "volume_mm3": round(float(part.solid.volume()), 1),
        "print": cost,
    }
