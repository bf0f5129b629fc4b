"""A cope unrolled at 1:1, to be wrapped around the tube."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from frame3d.check.frame_check import Stops, first_of
from frame3d.mill.blank import Blank, blank_of, raw_blank
from frame3d.mill.unroll import UnrollError, piece_around, unrolled
from frame3d.model import ENDS, End, Frame
from frame3d.surfaces.cope import Cope, Copes
from frame3d.surfaces.surface import Array

STEPS = 1440  # a chord between neighbours stays within a few hundredths of a µm of most copes
ALONG = 9  # points of a line at one angle of a changing oval, which is not quite straight
BEHIND_MM = 25.0  # paper behind the throat, to wrap it straight
NO_BLANKS: Mapping[str, Blank] = {}
NO_STOPS: Stops = {}
LEAST_BEHIND_MM = 5.0  # less cannot be taped on straight; own choice, no source


@dataclass(frozen=True, eq=False)
class Wrap:
    """The printed side faces out, the cut end is up. Lengths mm, points (N, 2) from left to right.

    On a tube of one section x runs from the datum line and y outward from the end point of the
    tube's axis. On a taper the paper is part of a ring, the line opposite the datum upright.

    curve:   the outer edge of the cope, from one rim of the paper to the other
    rim:     the paper's edge from the curve's left end down, along its lower rim, and up again
    lines:   (label, (N, 2) from the lower rim to the cope) along it; two points where straight
    width:   once around the paper at its lower rim; pi (od + paper thickness) on a round tube
    foot:    outward position of the lower rim
    rim_at:  the lower rim from the end `rim_from` of the blank, as sawn off for the mill's pages
    off:     what is sawn off the raw tube at that end first
    raw:     length of the raw tube
    square:  what comes off its other end where that stays square, or None
    clockwise: whether left to right is clockwise as seen from the tube's start end
    od:      of the tube at the lower rim
    warp:    how far off the paper may be, where no paper is exact
    stop:    why its tube must not be cut
    """

    tube: str
    end: str
    onto: tuple[str, ...]
    od: float
    paper: float
    curve: Array
    rim: Array
    lines: tuple[tuple[str, Array], ...]
    width: float
    foot: float
    rim_at: float
    rim_from: End
    off: float
    raw: float
    square: float | None
    clockwise: bool
    warp: float = 0.0
    stop: tuple[str, ...] = ()

    @property
    def box(self) -> tuple[float, float, float, float]:
        """Left, bottom, right, top of all its points."""
        points = np.concatenate([self.curve, self.rim])
        (left, bottom), (right, top) = points.min(axis=0), points.max(axis=0)
        return float(left), float(bottom), float(right), float(top)


@dataclass(frozen=True)
class Unwrapped:
    """An end without a wrap, and why."""

    tube: str
    end: str
    reason: str


def wraps(
    frame: Frame,
    copes: Copes,
    blanks: Mapping[str, Blank] = NO_BLANKS,
    stops: Stops = NO_STOPS,
) -> tuple[list[Wrap], list[Unwrapped]]:
    """A wrap for every coped end that paper can lie on, and the other ends.

    blanks: the raw tubes by name, with their ends sawn off; plain tube of just enough length for
    a name that is not among them; stops: why tubes must not be cut, by name
    """
    found: list[Wrap] = []
    without: list[Unwrapped] = []
    for joint in frame.joints:
        cope = copes.get((joint.tube, joint.end))
        try:
            if cope is None:
                raise UnrollError("its axes are too near parallel to shape it")
            mill = frame.shop.mill
            raw = raw_blank(cope.tube) or blank_of(cope.tube, copes, mill.waste)
            blank = blanks.get(joint.tube) or raw
            made = wrap(cope, joint.onto, mill.paper_thickness, blank, raw)
            if (joint.tube, _other(joint.end)) not in copes:
                made = replace(made, square=raw.beyond(cope.tube, _other(joint.end)))
            found.append(replace(made, stop=first_of(joint.end, stops.get(joint.tube, ()))))
        except UnrollError as why:
            without.append(Unwrapped(joint.tube, joint.end, str(why)))
    return found, without


def _other(end: End) -> End:
    return ENDS[1 - ENDS.index(end)]


def wrap(
    cope: Cope, onto: tuple[str, ...], paper: float, blank: Blank, raw: Blank | None = None
) -> Wrap:
    """Unroll the outer edge of a cope onto the middle of a paper of that thickness.

    raw: the tube before its ends are sawn off to the `blank`; without it, the same.

    Seen from outside with the cut end up, an angle that is right-handed about start to end runs to
    the right at the end of the tube, and to the left at its start. Raises UnrollError.
    """
    tube, end, raw = cope.tube, cope.end, raw or blank
    theta = np.linspace(0.0, 2 * np.pi, STEPS + 1) * (1.0 if end == "end" else -1.0)
    edge = cope.position(theta, np.ones_like(theta))
    if not np.isfinite(edge).all():
        raise UnrollError("the cope does not go all around it")
    low, high = float(edge.min()), float(edge.max())
    inner, outer = piece_around(tube, end, low, high)
    if low - inner < LEAST_BEHIND_MM:
        raise UnrollError(
            f"only {low - inner:.1f} mm of even straight tube are left behind the cope for paper"
        )
    foot = float(max(np.floor(low - BEHIND_MM), np.ceil(inner) if np.isfinite(inner) else -np.inf))
    flat = unrolled(tube, end, foot, min(high + 1.0, max(outer, high)), paper, STEPS)
    curve = flat.at(theta, edge)
    lower = flat.at(theta, np.full_like(theta, foot))
    level = tube.oval is None or (tube.oval.across.is_constant and tube.od.is_constant)

    def along(k: int) -> Array:
        """A line of one angle, from the lower rim to the cope."""
        places = np.linspace(foot, edge[k], 2 if level else ALONG)
        return flat.at(np.full_like(places, theta[k]), places)

    left, middle, right = along(0), along(STEPS // 2), along(STEPS)
    station = tube.length + foot if end == "end" else -foot
    own = bool(tube.bends) and end == "end"
    return Wrap(
        tube=tube.name,
        end=end,
        onto=onto,
        od=float(tube.od(station)),
        paper=paper,
        curve=curve,
        rim=np.concatenate([left[:0:-1], _corners(lower), right[1:]]),
        lines=(("datum", left), ("opposite", middle)),
        width=float(np.linalg.norm(np.diff(lower, axis=0), axis=1).sum()),
        foot=foot,
        rim_at=blank.end - station if own else station - blank.start,
        rim_from=end if own else "start",
        off=raw.end - blank.end if own else blank.start - raw.start,
        raw=raw.length,
        square=None,
        clockwise=end == "end",
        warp=flat.warp,
    )


def _corners(line: Array) -> Array:
    """Both ends of a straight line of points (N, 2), all points of another."""
    return line[[0, -1]] if np.ptp(line[:, 1]) < 1e-9 else line
