"""All guides of a frame: how long each is, so that a tube's two share one foot plane and stand a
whole number of millimetres apart."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial

import numpy as np
from manifold3d import Manifold

from frame3d.guides.layout import (
    lengthened,
    letter,
    section_around,
    sleeve_for,
    whole_setting,
)
from frame3d.guides.parts import Part, parts_of
from frame3d.guides.place import Array, Place, place_of
from frame3d.guides.refuse import GuideError, checked
from frame3d.guides.sleeve import MARK_MM, Sleeve, sleeve_solid
from frame3d.guides.spread import Spread
from frame3d.model import ENDS, Frame, Joint, Printer, Tube, end_frame
from frame3d.surfaces.cope import too_parallel

LEVEL_MM = 0.001  # how far the feet of a bent tube's guides may stand out of one plane
BETWEEN_EDGES_MM = 5.0  # two guides nearer to each other cannot be set by a rule


@dataclass(frozen=True, eq=False)
class Guide:
    """A guide as it is used. mm.

    solid:   standing on its setting edge at z = 0, cope up, tube's axis along z
    setting: between this setting edge and the other guide's, or the tube's square end
    paired:  whether there is another guide on the tube
    """

    sleeve: Sleeve
    solid: Manifold
    setting: float
    paired: bool

    @property
    def place(self) -> Place:
        return self.sleeve.place

    @property
    def name(self) -> str:
        return f"{self.place.tube.name} {self.place.end}"

    @property
    def mark(self) -> float:
        """From the other setting edge, or the tube's square end, to the mark in the window."""
        return self.setting + MARK_MM

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
        return [Printed(guide, parts_of(guide.solid, printer)) for guide in guides], []
    except GuideError as why:
        return [], [Refused(tube.name, joint.end, str(why)) for joint in joints]


def guides_of_tube(frame: Frame, tube: Tube, joints: list[Joint], printer: Printer) -> list[Guide]:
    """One guide for each of a tube's coped ends. Raises GuideError."""
    places = [_place(frame, joint) for joint in joints]
    _stand_on_one_plane(tube)
    # The outside beside the guide is known once its length is, so a tapered tube takes two rounds.
    sections = [section_around(place, -tube.length / 2, 0.0, printer) for place in places]
    for _ in range(2):
        foot = max(section.foot for section in sections)
        sleeves = [
            sleeve_for(place, replace(section, foot=foot), printer, frame.name)
            for place, section in zip(places, sections, strict=True)
        ]
        sections = [section_around(s.place, -s.length, s.top - s.length, printer) for s in sleeves]
    setting, rest = whole_setting(tube.length, [sleeve.length for sleeve in sleeves])
    if setting < BETWEEN_EDGES_MM:
        raise GuideError(_too_short(tube, sleeves, setting + rest))
    sleeves[-1] = lengthened(sleeves[-1], rest)
    for sleeve in sleeves:
        _on_straight_axis(sleeve)
    sleeves = [letter(sleeve, setting, frame.name) for sleeve in sleeves]
    paired = len(sleeves) > 1
    return [Guide(s, sleeve_solid(s), float(setting), paired) for s in sleeves]


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


def _stand_on_one_plane(tube: Tube) -> None:
    """Raises GuideError where bends turn the foot of one end out of the plane of the other's."""
    if not tube.bends:
        return
    first, last = end_frame(tube, "start"), end_frame(tube, "end")
    apart = abs(float(first.datum @ (last.origin - first.origin)))
    if apart > LEVEL_MM or np.linalg.norm(first.datum - last.datum) > LEVEL_MM / tube.length:
        raise GuideError(
            f"{tube.name} is bent out of the plane that the feet of its guides would stand on: cut "
            f"it by paper wraps"
        )


def _on_straight_axis(sleeve: Sleeve) -> None:
    tube, run = sleeve.place.tube, sleeve.place.cope.frame.run
    if tube.bends and sleeve.length > run:
        raise GuideError(
            f"the {sleeve.place.end} of {tube.name} is straight for {run:.1f} mm, and its guide "
            f"takes {sleeve.length:.1f} mm: cut it by a paper wrap"
        )


def _too_short(tube: Tube, sleeves: list[Sleeve], apart: float) -> str:
    lengths = " and ".join(f"{sleeve.length:.1f}" for sleeve in sleeves)
    which = "two guides" if len(sleeves) == 2 else "a guide"
    return (
        f"{tube.name} is too short for {which}: they take {lengths} of its {tube.length:.1f} mm, "
        f"which leaves {apart:.1f} mm between the setting edges, less than {BETWEEN_EDGES_MM:g}: "
        f"cut it by paper wraps"
    )
