"""A joint laid out for many set-ups at once: its nominal surfaces in the end's own frame.

In that frame x runs along the datum, y along the side direction and z along the tube's axis,
outward, from the axis's end point. A tube's line is then an (x, y) and a cope a z.
"""

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from frame3d.model import EndFrame
from frame3d.model.tube_section import lateral
from frame3d.surfaces.cope import Cope
from frame3d.surfaces.cylinder import Cylinder
from frame3d.surfaces.revolution import Revolution
from frame3d.surfaces.surface import Array, Surface
from frame3d.surfaces.sweep import Sweep
from frame3d.tolerance.mate_shape import Lines, Shape
from frame3d.tolerance.patch import Patched, patched
from frame3d.tolerance.round_mate import Round, beside

ANGLES = 72
ANGLES_MANY = 360  # with several mates, for the crests and jumps where one follows the other
CROWDED = 0.8  # of one mate: at its sides, where a line grazes it, angles stand 5 times closer
ANGLES_WIDE = 288  # of a cut that may run out beside the tube: where it does the gap jumps
ANGLES_CURVE = 2880  # of such a cut's curves, where each line that it runs past would be a stair
WIDE_MM = 0.5  # nearer than that to the mate's side thin ears stand when a cut is off; own choice
NIL = 1e-6
DEPTHS = 3  # as tolerance.peaks expects
OTHER_TOOL_MM = 1.5  # a line that passes a tool by so much is left to the joint's other tools


@dataclass(frozen=True, eq=False)
class Target:
    """What a set-up aims at.

    cope:    the finished nominal end
    sawn:    (K,) which mates are cut by a saw; the others by hand along the mate itself
    mates:   the mates' outsides
    tools:   what cuts, where the nominal set-up has it: moved outward by the nominal seat
    lines:   of the tube, T * D in number, depths innermost in the count
    """

    cope: Cope
    sawn: tuple[bool, ...]
    mates: tuple[Shape, ...]
    tools: tuple[Shape, ...]
    theta: Array
    depth: Array
    lines: Lines

    @cached_property
    def pivots(self) -> Array:
        """(K, 3): where each mate's axis comes nearest to the tube's, on the tube's axis."""
        feet = np.zeros((len(self.mates), 3))
        for k, mate in enumerate(self.mates):
            square = mate.axis[:2]
            along = -(mate.point[:2] @ square) / (square @ square)
            feet[k, 2] = mate.point[2] + along * mate.axis[2]
        return feet

    @cached_property
    def normals(self) -> Array:
        """Unit vectors (K, 3) normal to the plane of both axes' directions."""
        inside = np.array([mate.axis for mate in self.mates]) * [1.0, 1.0, 0.0]
        inside /= np.linalg.norm(inside, axis=1)[:, None]
        return np.cross([0.0, 0.0, 1.0], inside)

    @cached_property
    def senses(self) -> Array:
        """(K,): 1, or -1 where a mate's axis is told inward along the tube; it may be told either
        way."""
        axes = np.array([mate.axis[[2, 0, 1]] for mate in self.mates])
        first = (abs(axes) > NIL).argmax(axis=1)
        return np.asarray(np.sign(axes[np.arange(len(axes)), first]))

    @cached_property
    def saws(self) -> Array:
        """Outside diameters of the saws that cut it, mm, each once, rising."""
        ods = [2 * t.radius for t, sawn in zip(self.tools, self.sawn, strict=True) if sawn]
        return np.unique(np.round(ods, 6))

    @cached_property
    def saw_of(self) -> Array:
        """(K,): which of the saws cuts along each mate; 0 where none does."""
        ods = np.array([2 * tool.radius for tool in self.tools])
        return np.where(self.sawn, np.searchsorted(self.saws, np.round(ods, 6)), 0)

    @property
    def offset(self) -> float:
        """How far the first mate's axis passes beside the tube's, along the normal, mm."""
        return float(self.mates[0].point @ self.normals[0])

    @property
    def as_wide(self) -> bool:
        """Whether the tube is about as wide as its only mate, so that a cut may run out beside
        it."""
        if len(self.mates) > 1:
            return False
        beside = abs(self.lines.basis[:2].T @ self.normals[0, :2] - self.offset)
        return bool(beside.max() > self.mates[0].radius - WIDE_MM)


def target_of(cope: Cope, angles: int | None = None) -> Target:
    """Lay out a finished end, by that many angles or as many as its mates ask for."""
    frame = cope.frame
    sawn = tuple(tool is not mate for tool, mate in zip(cope.tools, cope.mates, strict=True))
    # The grid starts in the plane of the axes: tips and throats, where extremes lie, are on it.
    _, along, _ = _axis(cope.mates[0], frame)
    first = np.arctan2(along[1], along[0])
    usual, crowded = (ANGLES, CROWDED) if len(sawn) == 1 else (ANGLES_MANY, 0.0)
    angles = angles or usual
    even = np.arange(angles) * (2 * np.pi / angles)
    theta = first + even + crowded * np.sin(2 * even) / 2
    depth = np.linspace(0.0, 1.0, DEPTHS)
    flat_theta, flat_depth = (g.ravel() for g in np.meshgrid(theta, depth, indexing="ij"))
    stop = np.clip(cope.position(flat_theta, flat_depth), -frame.run, frame.run)
    station = cope.tube.length + stop if cope.end == "end" else -stop
    x, y = lateral(cope.tube, station, flat_theta, flat_depth).T
    basis = np.stack([x, y, np.ones_like(x), np.cos(flat_theta), np.sin(flat_theta)])
    lines = Lines(basis, stop)
    mates = _shapes(cope.mates, frame, 0.0, lines)
    tools = mates if cope.follows_mates else _shapes(cope.tools, frame, cope.seat, lines)
    return Target(cope, sawn, mates, tools, theta, depth, lines)


def _shapes(
    surfaces: tuple[Surface, ...], frame: EndFrame, lift: float, lines: Lines
) -> tuple[Shape, ...]:
    """The surfaces, moved outward by `lift`, each without the lines that are the others'."""
    made, passing = zip(*(_shape(s, frame, lift, lines) for s in surfaces), strict=True)
    if len(made) == 1:
        return made
    besides = np.array(passing)
    left = (besides > OTHER_TOOL_MM) & (besides > besides.min(axis=0))
    far = np.where(left, np.inf, 0.0)
    return tuple(
        replace(shape, far=own) if own.any() else shape
        for shape, own in zip(made, far, strict=True)
    )


def _shape(
    surface: Surface, frame: EndFrame, lift: float, lines: Lines
) -> tuple[Round | Patched, Array]:
    """A surface, and how far each line passes outside it: (G,), mm."""
    point, axis, radius = _axis(surface, frame)
    point = np.add(point, [0.0, 0.0, lift])
    if isinstance(surface, Cylinder):
        made = Round(point, axis, radius)
        return made, beside(made, lines)
    return patched(surface, frame, lift, (point, axis, radius), lines)


def _axis(surface: Surface, frame: EndFrame) -> tuple[Array, Array, float]:
    """Point and direction (3,) of a surface's axis next to the end, in the end's frame, and its
    radius there, mm; of a section that is not round, half its od."""
    # The frame may be left-handed (at a start); angles about z are right-handed start to end.
    turn = np.stack([frame.datum, frame.side, frame.out])
    if isinstance(surface, Cylinder):
        place, along, radius = surface.point, surface.axis, surface.radius
    elif isinstance(surface, Revolution):
        place, along = surface.start, surface.axis
        normal = np.cross(along, frame.out)
        across = np.cross(frame.out, normal)
        at = float((frame.origin - place) @ across / (along @ across))
        radius = float(surface.od(at)) / 2
    else:
        assert isinstance(surface, Sweep)
        station = surface.line.nearest(frame.origin[None])
        (place,), (along,), _ = surface.line.at(station)
        radius = float(surface.first(station)[0]) / 2
    return turn @ (place - frame.origin), turn @ along, radius
