"""Random coped tubes for the mill's proof, and how far a milled tube stands from its design."""

from dataclasses import dataclass, replace

import numpy as np
from hypothesis import strategies as st

from frame3d.model import (
    ENDS,
    Bend,
    End,
    Frame,
    Joint,
    Limits,
    Mill,
    Oval,
    Profile,
    Saw,
    Shop,
    Tube,
    end_frame,
)
from frame3d.surfaces.cope import Cope, Copes
from frame3d.surfaces.outer import outer_surface, saw_surface

LIMITS = Limits(3.0, 10.0, 0.02, 1.0)


@dataclass(frozen=True)
class Coped:
    """A tube with given seats; the seats are drawn, since the mill only has to reproduce them."""

    frame: Frame
    tube: Tube
    copes: Copes

    def __repr__(self) -> str:
        seats = {end: cope.seat for (_, end), cope in self.copes.items()}
        return f"{self.frame.tubes}\n{self.frame.joints}\n{seats} {self.frame.shop.mill.cut_end}"


def floats(low: float, high: float) -> st.SearchStrategy[float]:
    return st.floats(low, high, allow_nan=False, width=64)


@st.composite
def units(draw: st.DrawFn) -> np.ndarray:
    """Any direction, the awkward ones along the world's axes among them."""
    if draw(st.integers(0, 4)) == 0:
        axis = np.zeros(3)
        axis[draw(st.integers(0, 2))] = draw(st.sampled_from([-1.0, 1.0]))
        return axis
    z, turn = draw(floats(-1.0, 1.0)), draw(floats(0.0, 6.28))
    flat = np.sqrt(1.0 - z * z)
    return np.array([flat * np.cos(turn), flat * np.sin(turn), z])


@st.composite
def round_tubes(draw: st.DrawFn) -> Tube:
    """A straight tube of one diameter."""
    axis = draw(units())
    start = np.array([draw(floats(-300.0, 300.0)) for _ in range(3)])
    od, wall = draw(floats(12.0, 45.0)), draw(floats(0.5, 1.5))
    end = start + draw(floats(700.0, 900.0)) * axis
    return Tube(
        "rail", tuple(start), tuple(end), Profile.constant(od), Profile.constant(wall), "steel"
    )


@st.composite
def bent_tubes(draw: st.DrawFn) -> Tube:
    """One or two bends, in one plane or not, between straights long enough for a block."""
    tube = draw(round_tubes())
    here = np.array(tube.start)
    ahead = np.subtract(tube.end, tube.start) / tube.length
    bends = []
    for _ in range(draw(st.integers(1, 2))):
        angle, radius = draw(floats(0.15, 1.4)), draw(floats(60.0, 300.0))
        side = np.cross(ahead, draw(units()))
        if np.linalg.norm(side) < 0.1:
            side = np.cross(ahead, ahead[[1, 2, 0]] + 0.3)
        side = side / np.linalg.norm(side)
        here = here + (320.0 + 2 * radius * np.tan(angle / 2)) * ahead
        bends.append(Bend(tuple(here), radius))
        ahead = np.cos(angle) * ahead + np.sin(angle) * side
    end = here + (320.0 + radius * np.tan(angle / 2)) * ahead
    return replace(tube, end=tuple(end), bends=tuple(bends))


@st.composite
def oval_tubes(draw: st.DrawFn) -> Tube:
    """Oval, of one section or with ends that differ from a middle of one section."""
    tube = draw(round_tubes())
    od, angle = float(tube.od(0.0)), draw(floats(0.0, 180.0))
    thin = od * draw(floats(0.6, 0.95))
    if draw(st.booleans()):
        return replace(tube, oval=Oval(Profile.constant(thin), angle))
    low, high = draw(floats(20.0, 100.0)), tube.length - draw(floats(20.0, 100.0))
    across = [(0.0, draw(floats(0.6, 1.0)) * od), (low, thin), (high, thin)]
    across.append((tube.length, draw(floats(0.6, 1.0)) * od))
    return replace(tube, oval=Oval(Profile.through(across), angle))


@st.composite
def tapered_tubes(draw: st.DrawFn) -> Tube:
    """Round, thinner or thicker towards both ends."""
    tube = draw(round_tubes())
    od, long = float(tube.od(0.0)), tube.length
    low, high = draw(floats(20.0, 100.0)), long - draw(floats(20.0, 100.0))
    ends = [draw(floats(0.85, 1.15)) * od for _ in range(2)]
    stations = [(-60.0, ends[0]), (low, od), (high, od), (long + 60.0, ends[1])]
    return replace(tube, od=Profile.through(stations))


@st.composite
def coped_tubes(
    draw: st.DrawFn,
    saws: tuple[int, ...] = (0, 1, 2),
    skew: bool = True,
    tubes: st.SearchStrategy[Tube] | None = None,
) -> Coped:
    """A tube whose ends are cut by as many saws as `saws` allows, one of them at least."""
    tube = draw(tubes if tubes is not None else round_tubes())
    counts = {e: draw(st.sampled_from(saws)) for e in ENDS}
    if not any(counts.values()):
        counts[draw(st.sampled_from(ENDS))] = max(saws)
    members, joints, copes = [tube], [], {}
    for e in ENDS:
        if not counts[e]:
            continue
        mates, sizes = [], []
        for number in range(counts[e]):
            mate, saw = draw(_mates(tube, e, f"{e} {number}", number > 0, skew))
            mates.append(mate)
            sizes.append(saw)
        members += mates
        joints.append(Joint("rail", e, tuple(m.name for m in mates), tuple(sizes)))
        seat = draw(floats(-2.0, 2.0))
        copes["rail", e] = _cope(tube, e, mates, sizes, seat)
    cut_end = draw(st.sampled_from(["high", "low"]))
    depth = draw(st.sampled_from([None, 38.0, 50.0, 80.0]))
    shop = Shop(
        "x",
        tuple(Saw(s, depth) for j in joints for s in j.saws if s is not None),
        Mill(cut_end=cut_end),
    )
    frame = Frame("random", "fillet-braze", tuple(members), tuple(joints), LIMITS, shop)
    return Coped(frame, tube, copes)


@st.composite
def _mates(
    draw: st.DrawFn, tube: Tube, end: End, name: str, partial: bool, skew: bool
) -> tuple[Tube, float]:
    """A tube near an end, and a saw that takes the whole end, or, if `partial`, a share of it."""
    frame = end_frame(tube, end)
    radius = tube.widest
    saw = radius + draw(floats(0.005, 15.0))
    spare = saw + 0.5 * radius if partial else saw - radius - 0.004
    offset = draw(floats(-1.0, 1.0)) * spare if skew else 0.0
    angle = np.radians(draw(st.one_of(st.just(90.0), floats(15.0, 165.0))))
    turn = draw(st.one_of(st.sampled_from([0.0, np.pi / 2, np.pi]), floats(0.0, 6.28)))
    across = np.cos(turn) * frame.datum + np.sin(turn) * frame.side
    along = np.cos(angle) * frame.out + np.sin(angle) * across
    point = frame.origin + draw(floats(-8.0, 8.0)) * frame.out
    point = point + offset * np.cross(frame.out, across)
    ends = point - 400.0 * along, point + draw(floats(100.0, 400.0)) * along
    od = 2 * saw - draw(floats(0.0, 1.5))
    mate = Tube(name, tuple(ends[0]), tuple(ends[1]), Profile.constant(od), Profile.constant(1.0))
    return mate, 2 * saw


def _cope(tube: Tube, end: End, mates: list[Tube], sizes: list[float], seat: float) -> Cope:
    theta = np.arange(120) * (2 * np.pi / 120)
    return Cope(
        tube,
        end,
        end_frame(tube, end),
        tuple(outer_surface(m) for m in mates),
        tuple(
            saw_surface(m, s, np.asarray(tube.end if end == "end" else tube.start))
            for m, s in zip(mates, sizes, strict=True)
        ),
        theta,
        np.linspace(0.0, 1.0, 3),
        seat,
    )


def whole(coped: Coped) -> bool:
    """Whether every line of every end is cut, and none behind the middle."""
    for cope in coped.copes.values():
        for depth in (0.0, 1.0):
            stop = cope.position(cope.theta, np.full_like(cope.theta, depth))
            if not np.isfinite(stop).all() or stop.min() < 5.0 - cope.frame.run:
                return False
    return True


def tilted(tilt: float, saw: Saw, mill: Mill) -> Coped:
    """A tube of 28.6 mm, 700 mm long, whose end is sawn at a tilt, degrees."""
    lean = np.radians(tilt)
    way = np.array([np.sin(lean), 0.0, np.cos(lean)])
    tube = Tube("rail", (0, 0, 0), (700, 0, 0), Profile.constant(28.6), Profile.constant(0.9))
    post = Tube(
        "post",
        tuple([700, 0, 0] - 400 * way),
        tuple([700, 0, 0] + 400 * way),
        Profile.constant(saw.od),
        Profile.constant(1.0),
    )
    joint = Joint("rail", "end", ("post",), (saw.od,))
    shop = Shop("x", (saw,), mill)
    frame = Frame("tilted", "tig", (tube, post), (joint,), LIMITS, shop)
    return Coped(frame, tube, {("rail", "end"): _cope(tube, "end", [post], [saw.od], 0.0)})
