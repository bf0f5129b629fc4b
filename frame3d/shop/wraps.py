"""A cope unrolled at 1:1, to be wrapped around the tube."""

from dataclasses import dataclass

import numpy as np

from frame3d.model import Frame
from frame3d.surfaces.cope import Cope, Copes
from frame3d.surfaces.surface import Array

STEPS = 1440  # a chord between neighbours stays within a few hundredths of a µm of most copes
BEHIND_MM = 25.0  # paper behind the throat, to wrap it straight


@dataclass(frozen=True, eq=False)
class Wrap:
    """The printed side faces out, the cut end is up. Lengths mm.

    curve:   (N, 2): across from the datum line, and outward from the end point of the tube's axis;
             the outer edge of the cope, from one rim of the paper to the other
    width:   once around: pi (od + paper thickness)
    foot:    outward position of the paper's straight lower rim
    clockwise: whether "across" grows clockwise as seen from the tube's start end
    """

    tube: str
    end: str
    onto: tuple[str, ...]
    od: float
    paper: float
    curve: Array
    width: float
    foot: float
    clockwise: bool

    @property
    def top(self) -> float:
        return float(self.curve[:, 1].max())


def wraps(frame: Frame, copes: Copes) -> list[Wrap]:
    """A wrap for every coped end of a round tube of one diameter, shaped all around."""
    found = []
    for joint in frame.joints:
        cope = copes.get((joint.tube, joint.end))
        if cope is not None and cope.tube.od.is_constant and not cope.tube.oval:
            made = wrap(cope, joint.onto, frame.shop.mill.paper_thickness)
            if np.isfinite(made.curve).all():
                found.append(made)
    return found


def wrap(cope: Cope, onto: tuple[str, ...], paper: float) -> Wrap:
    """Unroll the outer edge of a cope onto the middle of a paper of that thickness.

    Seen from outside with the cut end up, an angle that is right-handed about start to end runs to
    the right at the end of the tube, and to the left at its start.
    """
    od = float(cope.tube.od.value[0])
    theta = np.linspace(0.0, 2 * np.pi, STEPS + 1)
    clockwise = cope.end == "end"
    stop = cope.position(theta if clockwise else -theta, np.ones_like(theta))
    curve = np.stack([theta * (od + paper) / 2, stop], axis=1)
    lowest = stop[np.isfinite(stop)].min(initial=0.0)
    foot = float(np.floor(lowest - BEHIND_MM))
    width = float(np.pi * (od + paper))
    return Wrap(cope.tube.name, cope.end, onto, od, paper, curve, width, foot, clockwise)
