"""All guides of a frame: how long each is, so that a tube's two share one foot plane and stand a
whole number of millimetres apart."""

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial
from typing import Literal

import numpy as np
from manifold3d import Manifold

from frame3d.guides.guide_error import GuideError, checked
from frame3d.guides.guide_length import (
    LONGEST_NAME_MM,
    letter,
    section_around,
    sleeve_for,
    slides_on,
    whole_setting,
)
from frame3d.guides.in_turn import in_turn
from frame3d.guides.joined import JOIN, dowel_holes, joined
from frame3d.guides.place import Array, Place, place_of
from frame3d.guides.printed_parts import Part, parts_of
from frame3d.guides.process_pool import Spread
from frame3d.guides.raw_tube_marks import RawTube, raw_tube_of
from frame3d.guides.sleeve import Sleeve, sleeve_solid
from frame3d.model import ENDS, End, Frame, Joint, Printer, Tube
from frame3d.surfaces.cope import too_parallel

BETWEEN_EDGES_MM = 5.0  # two guides nearer to each other cannot be set by a rule


Setting = Literal["joined", "edges", "square end", "line"]


@dataclass(frozen=True, eq=False)
class Guide:
    """A guide as it is used. mm.

    solid:   standing on its setting edge at z = 0, cope up, tube's axis along z
    by:      what it is set by: the other guide, to which it is joined, or its edge, the tube's
             square end, or, on a tube too short for both at once, the line across it that both
             windows show in turn
    setting: between this setting edge and the other guide's, or the tube's square end; below 0
             where they overlap
    raw:     the raw tube, and how the finished one is cut from it
    slides_on_from: the end of the tube from which it is slid on, its own where that can be; None
             for halves
    joined_to: the other end's, where both are one guide
    not_joined: why not, where the tube has two guides
    """

    sleeve: Sleeve
    solid: Manifold
    by: Setting
    setting: float
    raw: RawTube
    slides_on_from: End | None
    joined_to: "Guide | None" = None
    not_joined: str | None = None

    @property
    def place(self) -> Place:
        return self.sleeve.place

    @property
    def name(self) -> str:
        return f"{self.place.tube.name} {self.place.end}"

    @property
    def mark(self) -> float:
        """From the other setting edge, or the tube's square end, to the mark in the window."""
        return self.setting + self.sleeve.mark

    @property
    def station(self) -> float:
        """Of the mark in the window, from the start of the tube's axis."""
        return float(self.place.station(self.sleeve.mark - self.sleeve.length))

    @property
    def from_raw(self) -> float:
        """From the raw tube's end on this guide's side to the mark in the window."""
        return self.raw.depth(self.place.end, self.station)

    @property
    def from_bend(self) -> float | None:
        """From where the nearest bend begins back to the mark in the window, along the axis; None
        for a straight tube."""
        if not self.place.tube.bends:
            return None
        straight = self.place.cope.frame.run
        return straight - (self.sleeve.length - self.sleeve.mark)

    @property
    def where(self) -> str:
        """Where on the tube it sits, as embossed."""
        if self.from_bend is not None:
            return f"BEND {self.from_bend:.1f}"
        return f"RAW {self.from_raw:.1f}"

    @property
    def from_tip(self) -> float:
        """From the tip of the finished cope back to the mark in the window."""
        return self.sleeve.length - self.sleeve.mark + self.place.cope.tip.value

    @property
    def matrix(self) -> Array:
        """From the solid's coordinates to its place in the job's: (4, 4)."""
        down = np.eye(4)
        down[2, 3] = -self.sleeve.length
        return np.asarray(self.place.matrix @ down)


@dataclass(frozen=True)
class Refused:
    """An end for which no guide can be made, and why."""

    tube: str
    end: str
    reason: str


@dataclass(frozen=True, eq=False)
class Printed:
    """A guide with the parts that it is printed as."""

    guide: Guide
    parts: tuple[Part, ...]


def printed_guides(
    frame: Frame, done: Callable[[str], None] = lambda name: None, run: Spread = map
) -> tuple[list[Printed], list[Refused]]:
    """Guides for every coped end, for the frame's shop's printer; and the ends without one.

    `done` hears the name of each tube; `run` spreads the tubes over the machine's cores. Raises
    GuideError where the printer's settings cannot be used at all.
    """
    checked(frame.shop.printer)
    made: list[Printed] = []
    refused: list[Refused] = []
    coped = [tube for tube in frame.tubes if any(frame.joint_at(tube.name, end) for end in ENDS)]
    for tube, (own, without) in zip(coped, run(partial(_printed, frame), coped), strict=True):
        made += own
        refused += without
        done(tube.name)
    return made, refused


def _printed(frame: Frame, tube: Tube) -> tuple[list[Printed], list[Refused]]:
    joints = [j for end in ENDS if (j := frame.joint_at(tube.name, end)) is not None]
    printer = frame.shop.printer
    try:
        guides = guides_of_tube(frame, tube, joints, printer)
        return [
            Printed(g, parts_of(g.solid, g.sleeve.halves, printer, g.sleeve.kept)) for g in guides
        ], []
    except GuideError as why:
        return [], [Refused(tube.name, joint.end, str(why)) for joint in joints]


def guides_of_tube(frame: Frame, tube: Tube, joints: list[Joint], printer: Printer) -> list[Guide]:
    """One guide for each of a tube's coped ends. Raises GuideError."""
    places = [_place(frame, joint) for joint in joints]
    # The outside beside the guide is known once its length is, so a tapered tube takes two rounds.
    sections = [section_around(place, -tube.length / 2, 0.0, printer) for place in places]
    for _ in range(2):
        foot = max(section.foot for section in sections)
        sleeves = [
            sleeve_for(place, replace(section, foot=foot), printer)
            for place, section in zip(places, sections, strict=True)
        ]
        sections = [section_around(s.place, -s.length, s.top - s.length, printer) for s in sleeves]
    by, setting, sleeves, not_joined = _set(frame, tube, sleeves, printer)
    for sleeve in sleeves:
        _on_straight_axis(sleeve)
    raw = raw_tube_of(tube, {place.end: place.cope for place in places}, frame.shop.mill.waste)
    guides = [_guide(sleeve, by, setting, raw, frame) for sleeve in sleeves]
    if by == "joined":
        first, second = guides
        return [replace(first, joined_to=second), replace(second, joined_to=first)]
    return [replace(guide, not_joined=not_joined) for guide in guides]


def _set(
    frame: Frame, tube: Tube, sleeves: list[Sleeve], printer: Printer
) -> tuple[Setting, float, list[Sleeve], str | None]:
    """What a tube's guides are set by, how far apart, the guides for that; and, of two, why they
    are not one. Raises GuideError."""
    apart = tube.length - math.fsum(sleeve.length for sleeve in sleeves)
    if len(sleeves) == 1:
        if apart < BETWEEN_EDGES_MM:
            raise GuideError(_too_short(tube, sleeves[0]))
        setting, last = whole_setting(tube, sleeves)
        return "square end", setting, [last], None
    one = joined(frame, tube, sleeves, printer)
    if not isinstance(one, str):
        return "joined", 0.0, one, None
    if apart < BETWEEN_EDGES_MM:
        two = list(in_turn(tube, *sleeves))
        return "line", tube.length - math.fsum(sleeve.length for sleeve in two), two, one
    setting, last = whole_setting(tube, sleeves)
    return "edges", setting, [sleeves[0], last], one


def _guide(sleeve: Sleeve, by: Setting, setting: float, raw: RawTube, frame: Frame) -> Guide:
    ways = () if sleeve.halves else slides_on(sleeve.place, frame.shop.printer)
    plain = Guide(sleeve, Manifold(), by, setting, raw, ways[0] if ways else None)
    told = f"LINE {plain.from_tip:.1f}" if by == "line" else f"SET {setting:g}"
    if by == "joined":
        told = JOIN
    most = 0.0 if by == "joined" else LONGEST_NAME_MM
    sleeve = letter(sleeve, told, plain.where, frame.name, most)
    holes = dowel_holes(sleeve) if by == "joined" else []
    return replace(plain, sleeve=sleeve, solid=sleeve_solid(sleeve, holes=holes))


def _place(frame: Frame, joint: Joint) -> Place:
    parallel = too_parallel(frame, joint)
    if parallel:
        raise GuideError(
            f"{joint.tube} runs nearly parallel to {parallel[0]}: no cope can be shaped below "
            f"{frame.limits.least_angle_deg:g} degrees"
        )
    place = place_of(frame, joint)
    if not place.reached(np.radians(np.arange(0.0, 360.0, 0.5))):
        raise GuideError(
            f"{joint.tube} hangs over the side of {' and '.join(joint.onto)}: part of its end "
            f"meets nothing to be coped to"
        )
    return place


def _on_straight_axis(sleeve: Sleeve) -> None:
    tube, run = sleeve.place.tube, sleeve.place.cope.frame.run
    if tube.bends and sleeve.length > run:
        raise GuideError(
            f"the {sleeve.place.end} of {tube.name} is straight for {run:.1f} mm, and its guide "
            f"takes {sleeve.length:.1f} mm: cut it by a paper wrap"
        )


def _too_short(tube: Tube, sleeve: Sleeve) -> str:
    left = tube.length - sleeve.length
    rest = f"reaches {-left:.1f} mm past" if left < 0 else f"ends {left:.1f} mm from"
    return (
        f"{tube.name} is too short for a guide: it takes {sleeve.length:.1f} mm and {rest} the "
        f"tube's square end, less than {BETWEEN_EDGES_MM:g} mm short of it: cut it by a paper wrap"
    )
