"""A joint laid out for many set-ups at once: its nominal cylinders in the end's own frame.

In that frame x runs along the datum, y along the side direction and z along the tube's axis,
outward, from the axis's end point. A tube's line is then an (x, y) and a cope a z.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from frame3d.model import EndFrame
from frame3d.model.section import lateral
from frame3d.surfaces.cope import Cope
from frame3d.surfaces.cylinder import Cylinder
from frame3d.surfaces.revolution import Revolution
from frame3d.surfaces.surface import Array, Surface

ANGLES = 72  # a peak between two of them is closed in on by a parabola
ANGLES_MANY = 240  # with several mates there are crests that no parabola follows
CROWDED = 0.8  # towards the sides, where a line grazes the cylinders, angles stand 5 times closer
DEPTHS = 3


@dataclass(frozen=True, eq=False)
class Round:
    """K endless cylinders in the end's frame. point, axis: (K, 3); radius: (K,), mm."""

    point: Array
    axis: Array
    radius: Array


@dataclass(frozen=True, eq=False)
class Target:
    """What a set-up aims at.

    cope:    the finished nominal end
    sawn:    (K,) which mates are cut by a saw; the others by hand along the mate itself
    mates:   the mates' outsides
    tools:   what cuts, where the nominal set-up has it: moved outward by the nominal seat
    lines:   (5, T * D): x, y, 1, cos theta, sin theta of each of the tube's lines, depths innermost
             in the count; the last two let the tube's radius grow
    """

    cope: Cope
    sawn: tuple[bool, ...]
    mates: Round
    tools: Round
    theta: Array
    depth: Array
    lines: Array

    @cached_property
    def pivots(self) -> Array:
        """(K, 3): where each mate's axis comes nearest to the tube's, on the tube's axis."""
        return self._feet * [0.0, 0.0, 1.0]

    @property
    def _feet(self) -> Array:
        """(K, 3): the point of each mate's axis that is nearest to the tube's."""
        axis, point = self.mates.axis, self.mates.point
        square = axis[:, :2]
        along = -(point[:, :2] * square).sum(axis=1) / (square**2).sum(axis=1)
        return np.asarray(point + along[:, None] * axis)

    @cached_property
    def normals(self) -> Array:
        """Unit vectors (K, 3) normal to the plane of both axes' directions."""
        inside = self.mates.axis * [1.0, 1.0, 0.0]
        inside /= np.linalg.norm(inside, axis=1)[:, None]
        return np.cross([0.0, 0.0, 1.0], inside)


def target_of(cope: Cope) -> Target:
    """Lay out a finished end.

    Raises TypeError where a mate or a tool is not round about a straight axis.
    """
    mates = _in_frame(cope.mates, cope.frame)
    tools = _in_frame(cope.tools, cope.frame)
    tools.point[:, 2] += cope.seat
    sawn = tuple(tool is not mate for tool, mate in zip(cope.tools, cope.mates, strict=True))
    # The grid starts in the plane of the axes: tips and throats, where extremes lie, are on it.
    first = np.arctan2(mates.axis[0, 1], mates.axis[0, 0])
    angles = ANGLES if len(sawn) == 1 else ANGLES_MANY
    even = np.arange(angles) * (2 * np.pi / angles)
    theta = first + even + CROWDED * np.sin(2 * even) / 2
    depth = np.linspace(0.0, 1.0, DEPTHS)
    flat_theta, flat_depth = (g.ravel() for g in np.meshgrid(theta, depth, indexing="ij"))
    stop = np.clip(cope.position(flat_theta, flat_depth), -cope.frame.run, cope.frame.run)
    station = cope.tube.length + stop if cope.end == "end" else -stop
    x, y = lateral(cope.tube, station, flat_theta, flat_depth).T
    lines = np.stack([x, y, np.ones_like(x), np.cos(flat_theta), np.sin(flat_theta)])
    return Target(cope, sawn, mates, tools, theta, depth, lines)


def _in_frame(surfaces: tuple[Surface, ...], frame: EndFrame) -> Round:
    cylinders = [_round(surface, frame) for surface in surfaces]
    turn = np.stack([frame.datum, frame.side, frame.out])
    # The frame may be left-handed (at a start); angles about z are right-handed start to end.
    return Round(
        np.array([turn @ (c.point - frame.origin) for c in cylinders]),
        np.array([turn @ c.axis for c in cylinders]),
        np.array([c.radius for c in cylinders]),
    )


def _round(surface: Surface, frame: EndFrame) -> Cylinder:
    """The surface as a cylinder; a tapered tube with the diameter that it has at the joint."""
    if isinstance(surface, Cylinder):
        return surface
    if not isinstance(surface, Revolution):
        raise TypeError(f"{type(surface).__name__} is not round about a straight axis")
    normal = np.cross(surface.axis, frame.out)
    across = np.cross(frame.out, normal)
    at = float((frame.origin - surface.start) @ across / (surface.axis @ across))
    return Cylinder(surface.start, surface.axis, float(surface.od(at)) / 2)
