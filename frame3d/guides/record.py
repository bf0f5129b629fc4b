"""What guides.json tells about each file: which tube and end, where it sits, how it is set."""

from collections.abc import Iterator, Sequence
from dataclasses import asdict, dataclass

import numpy as np

from frame3d.check.frame_check import Stops
from frame3d.guides.blocks import block_side, split_block
from frame3d.guides.drill import bushing
from frame3d.guides.drill_guides import PrintedDrill
from frame3d.guides.joined import DOWEL_LONG_MM, DOWEL_MM
from frame3d.guides.oval_blocks import oval_blocks
from frame3d.guides.plan import Printed, Refused
from frame3d.guides.printed_parts import Part, parts_of
from frame3d.model import ENDS, Frame

FORMAT = "frame3d-guides/1"
KINDS = ("guides", "drill_guides", "blocks")


@dataclass(frozen=True, eq=False)
class Entry:
    """One part to print: its name, its kind (the list of guides.json that tells of it), and the
    facts there; of: the guide that it is a part of, None for a block."""

    name: str
    part: Part
    kind: str
    facts: dict[str, object]
    of: Printed | PrintedDrill | None


def entries(printed: Sequence[Printed], drills: Sequence[PrintedDrill] = ()) -> Iterator[Entry]:
    """All parts of cope guides and of drill guides."""
    for cope in printed:
        for part in cope.parts:
            yield Entry(
                _named(cope.guide.name, part), part, "guides", _cope_facts(cope, part), cope
            )
    for drill in drills:
        for part in drill.parts:
            facts = _drill_facts(drill, part)
            yield Entry(_named(drill.guide.name, part), part, "drill_guides", facts, drill)


def block_entries(frame: Frame) -> Iterator[Entry]:
    """Split blocks for every size of straight round tube in the frame, smallest first, and those
    that the mill's pages ask for to hold an oval tube in phase."""
    printer = frame.shop.printer
    sizes = {tube.od.value[0] for tube in frame.tubes if tube.od.is_constant and not tube.oval}
    for od in sorted(sizes):
        for part in parts_of(split_block(od, printer), True, printer):
            facts: dict[str, object] = {"od_mm": od, "side_mm": block_side(od, printer)}
            yield Entry(_named(f"block {od:g}", part), part, "blocks", facts, None)
    for oval in oval_blocks(frame):
        solid = split_block(oval.od, printer, oval.across, oval.turn)
        for part in parts_of(solid, True, printer):
            side = block_side(max(oval.od, oval.across), printer)
            yield Entry(
                _named(f"block {oval.tube} {oval.end} cut {oval.cut}", part),
                part,
                "blocks",
                {
                    "tube": oval.tube,
                    "end": oval.end,
                    "cut": oval.cut,
                    "od_mm": oval.od,
                    "across_mm": oval.across,
                    "turn_deg": oval.turn,
                    "side_mm": side,
                },
                None,
            )


def guides_json(
    frame: Frame,
    files: Sequence[tuple[str, Entry]],
    refused: Sequence[Refused],
    stops: Stops,
    costs: dict[str, dict[str, object]],
) -> dict[str, object]:
    """The record of all files (stem, entry), with what each costs to print, by stem, of the
    ends and holes without a guide, and of the tubes that must not be cut."""
    lists = {
        kind: [_told(stem, e, costs[stem]) for stem, e in files if e.kind == kind] for kind in KINDS
    }
    return {
        "format": FORMAT,
        "job": frame.name,
        "printer": asdict(frame.shop.printer),
        **lists,
        "refused": [asdict(end) for end in refused],
        "do_not_cut": [{"tube": tube, "reasons": list(why)} for tube, why in stops.items()],
    }


def _named(whole: str, part: Part) -> str:
    return whole if part.what == "whole" else f"{whole}, {part.what}"


def _told(stem: str, entry: Entry, cost: dict[str, object]) -> dict[str, object]:
    return {
        "file": f"{stem}.stl",
        "file_3mf": f"{stem}.3mf",
        "part": entry.part.what,
        **entry.facts,
        "size_mm": [round(float(length), 3) for length in entry.part.size],
        "volume_mm3": round(float(entry.part.solid.volume()), 1),
        "print": cost,
    }


def _cope_facts(printed: Printed, part: Part) -> dict[str, object]:
    guide = printed.guide
    return {
        "tube": guide.place.tube.name,
        "end": guide.place.end,
        "onto": [mate.name for mate in guide.place.mates],
        "saws_mm": list(guide.place.saws),
        "matrix": np.asarray(guide.matrix @ part.to_whole).tolist(),
        "line_deg": round(guide.place.line_deg, 6) + 0.0,
        "set_by": guide.by,
        "not_joined": guide.not_joined,
        "dowels_mm": [DOWEL_MM, DOWEL_LONG_MM] if guide.by == "joined" else None,
        "setting_mm": guide.setting,
        "mark_mm": guide.mark,
        "tip_to_mark_mm": round(guide.from_tip, 3),
        "raw_to_mark_mm": round(guide.from_raw, 3),
        "bend_to_mark_mm": None if guide.from_bend is None else round(guide.from_bend, 3),
        "raw_mm": round(guide.raw.length, 3),
        "slides_on_from": guide.slides_on_from,
        "raw_listed": guide.raw.listed,
        "off_first_mm": {end: round(off, 3) for end, off in guide.raw.off_first},
        "off_mm": {end: round(guide.raw.off(end), 3) for end in ENDS},
        "finished_mm": round(guide.raw.finished, 3),
        "clearance_mm": guide.sleeve.clearance,
        "foot_mm": guide.sleeve.section.foot,
        "length_mm": guide.sleeve.length,
    }


def _drill_facts(printed: PrintedDrill, part: Part) -> dict[str, object]:
    guide = printed.guide
    return {
        "tube": guide.tube.name,
        "at_mm": list(guide.drilling.at),
        "angle_deg": guide.drilling.angle,
        "drill_mm": guide.drilling.diameter,
        "through": guide.drilling.through,
        "notes": list(guide.drilling.notes),
        "bushing_mm": bushing(guide.drilling.diameter)[0],
        "matrix": np.asarray(guide.matrix @ part.to_whole).tolist(),
        "reference": guide.reference,
        "setting_mm": guide.setting,
        "clearance_mm": guide.sleeve.clearance,
        "foot_mm": guide.sleeve.section.foot,
    }
