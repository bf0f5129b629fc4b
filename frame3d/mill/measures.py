"""What to measure on the tube when its cuts are done."""

from dataclasses import dataclass

import numpy as np

from frame3d.mill.outside_lines import line_between
from frame3d.mill.printed_numbers import length, printed
from frame3d.model import ENDS, End, Frame, Tube, end_frame
from frame3d.surfaces.cope import Cope, Copes

MARK_MM = 0.1  # a scribed mark is met to this; own choice, no source

NO_EDGE = "; null where no saw or mate cuts it (inf here)"


@dataclass(frozen=True)
class Arm:
    """An end of a bent tube, along its axis."""

    end: str = printed("", "which end")
    tip: float = printed("mm", "from where the bend begins to the tip")
    throat: float = printed("mm", "from where the bend begins to the throat")


@dataclass(frozen=True)
class Measures:
    """Lengths along the finished tube, over its outside and round its bends; a square end counts
    as it is."""

    datum: float = printed("mm", f"along the datum line, from edge to edge{NO_EDGE}")
    opposite: float = printed("mm", f"along the line opposite, from edge to edge{NO_EDGE}")
    tips: float = printed("mm", f"tip to tip, along the axis{NO_EDGE}")
    throats: float = printed("mm", f"throat to throat, along the axis{NO_EDGE}")
    tolerance: float = printed("mm", "how far each may be off, either way")
    by_hand: tuple[str, ...] = printed("", "ends that are shaped by hand before that")
    arms: tuple[Arm, ...] = printed("", "of a bent tube, each end by itself")


def measures(frame: Frame, tube: Tube, copes: Copes) -> Measures:
    """Expected lengths of a finished tube.

    The tolerance is what marking to 0.1 mm and half a step of the angle gauge allow at each end.
    """
    own = [copes[tube.name, end] for end in ENDS if (tube.name, end) in copes]
    return Measures(
        datum=_along(tube, own, 0.0),
        opposite=_along(tube, own, np.pi),
        tips=length(tube.length + sum(cope.tip.value for cope in own)),
        throats=length(tube.length - sum(cope.throat.value for cope in own)),
        tolerance=round(sum(_tolerance(frame, cope) for cope in own), 1),
        by_hand=tuple(
            cope.end
            for cope in own
            if (joint := frame.joint_at(tube.name, cope.end)) and None in joint.saws
        ),
        arms=tuple(_arm(tube, end, copes.get((tube.name, end))) for end in ENDS)
        if tube.bends
        else (),
    )


def _along(tube: Tube, own: list[Cope], theta: float) -> float:
    """From edge to edge along the outside at an angle from the datum, mm."""
    edges = {cope.end: _edge(cope, theta) for cope in own}
    low, high = -edges.get("start", 0.0), tube.length + edges.get("end", 0.0)
    return length(line_between(tube, theta, low, high)) if high > low else 0.0


def _arm(tube: Tube, end: End, cope: Cope | None) -> Arm:
    run = end_frame(tube, end).run
    tip, throat = (cope.tip.value, cope.throat.value) if cope else (0.0, 0.0)
    return Arm(end, length(run + tip), length(run - throat))


def _edge(cope: Cope, theta: float) -> float:
    return float(cope.position(np.array([theta]), np.ones(1))[0])


def _tolerance(frame: Frame, cope: Cope) -> float:
    radius = cope.tube.od.greatest / 2
    steep = [
        abs(float(cope.frame.out @ getattr(tool, "axis", 0 * cope.frame.out)))
        for tool in cope.tools
    ]
    half_step = np.radians(frame.shop.mill.gauge_step / 2)
    return float(MARK_MM + radius * half_step / (1.0 - max(steep) ** 2))
