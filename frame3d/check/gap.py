"""The gap of a joint in figures: how wide, where, and where the end stands on its mates."""

from dataclasses import dataclass

import numpy as np

from frame3d.model import Tube, station_of
from frame3d.model.tube_section import arc
from frame3d.surfaces.cope import Cope
from frame3d.surfaces.extremes import Peak, largest_on_edges
from frame3d.surfaces.surface import Array

EAR_GRID, EAR_STEPS = 3, 48
FEATHER_BEHIND_MM = 1.0  # the thickness of a tip is told this far behind it


@dataclass(frozen=True)
class Gap:
    """mm. widest: over the whole end face; outer, inner: along its two edges; mean: over equal
    steps of angle and of radius."""

    widest: Peak
    outer: Peak
    inner: Peak
    mean: float


@dataclass(frozen=True)
class Footprint:
    """Where the finished end lies on a mate, mm from the mate's start.

    margin: from there to where the mate's metal ends, at the angle of each point; negative when
    off it; inf where no end of the mate is in question. nearer: the end it is told to.
    """

    low: float
    high: float
    margin: float
    nearer: str


def gap_of(cope: Cope) -> Gap:
    """The gap around a finished end; -inf where nothing is shaped at all."""
    theta, depth = cope.face()
    values = cope.gap(theta, depth)
    shaped = values[np.isfinite(values)]
    mean = float(shaped.mean()) if len(shaped) else -np.inf
    if cope.follows_mates:  # nothing to close in on: rounding is all there is
        return Gap(
            _highest(values, theta, depth),
            _highest(np.where(depth == 1.0, values, -np.inf), theta, depth),
            _highest(np.where(depth == 0.0, values, -np.inf), theta, depth),
            mean,
        )
    return Gap(*largest_on_edges(cope.gap, cope.theta, cope.depth, values), mean)


def _highest(values: Array, theta: Array, depth: Array) -> Peak:
    best = int(values.argmax())
    return Peak(float(values[best]), float(theta[best]), float(depth[best]))


def footprint_on(cope: Cope, which: int, mate: Tube, ends: dict[str, Cope | None]) -> Footprint:
    """Where the end lies on mate number `which` of the joint.

    ends: the mate's ends that bound it, each with the cope that shapes it, None where square.
    """
    points = points_on(cope, which)
    if len(points) == 0:
        return Footprint(np.nan, np.nan, np.inf, "end")
    along = station_of(mate, points)
    margins = {
        end: float(
            (_metal_end(mate, end, shape, points) - (along if end == "end" else -along)).min()
        )
        for end, shape in ends.items()
    }
    nearer = min(margins, key=lambda end: margins[end], default="end")
    return Footprint(float(along.min()), float(along.max()), margins.get(nearer, np.inf), nearer)


def points_on(cope: Cope, which: int) -> Array:
    """The points (N, 3) of the finished end's face that are nearest to mate number `which`."""
    points = cope.face_points()
    points = points[np.isfinite(points).all(axis=1)]
    if len(cope.mates) > 1:
        distances = np.stack([surface.distance(points) for surface in cope.mates])
        points = points[distances.argmin(axis=0) == which]
    return points


def _metal_end(mate: Tube, end: str, shape: Cope | None, points: Array) -> Array:
    """How far the mate's outside goes beside each point, mm outward from its start: (N,) or ()."""
    square = mate.length if end == "end" else 0.0
    if shape is None:
        return np.asarray(square)
    relative = points - shape.frame.origin
    theta = np.arctan2(relative @ shape.frame.side, relative @ shape.frame.datum)
    stop = shape.position(theta, np.ones_like(theta))
    return np.where(np.isfinite(stop), square + stop, square)


def tip_thickness(cope: Cope, at: Peak) -> float:
    """Metal left of the wall 1 mm behind the tip, mm."""
    depth = np.linspace(0.0, 1.0, 2001)
    stop = cope.position(np.full_like(depth, at.theta), depth)
    station = cope.tube.length + at.value if cope.end == "end" else -at.value
    stands = np.isfinite(stop) & (stop >= at.value - FEATHER_BEHIND_MM)
    return float(stands.mean() * cope.tube.wall(station))


def ear_volume(cope: Cope) -> float:
    """Metal that the saws of a joint with several mates leave standing beyond the cope, mm3.

    Behind the first saw's cylinder and before the next one's a piece may stay on the tube. It
    counts as far as the tip; a sum over a grid, good to a few per cent.
    """
    if len(cope.tools) < 2:
        return 0.0
    theta, depth = cope.theta[::EAR_GRID], cope.depth[::2]
    grid_theta, grid_depth = (g.ravel() for g in np.meshgrid(theta, depth, indexing="ij"))
    first = cope.position(grid_theta, grid_depth)
    last = cope.tip.value
    if not np.isfinite(first).all():
        return 0.0  # not all of it is cut; that is told as such
    step = (last - first) / EAR_STEPS
    clear = np.zeros(len(first))
    for k in range(EAR_STEPS):
        clear += cope.outside_tools(first + (k + 0.5) * step, grid_theta, grid_depth)
    end = cope.tube.length if cope.end == "end" else 0.0
    wall = float(cope.tube.wall(end))
    (around,) = arc(cope.tube, np.asarray(end), np.array([2 * np.pi]))
    edge = np.where((grid_depth == 0.0) | (grid_depth == 1.0), 0.5, 1.0)  # trapezoid rule
    # A ring of even thickness holds its outside's length less pi times the wall, times the wall.
    area = edge / edge.sum() * wall * (around - np.pi * wall)
    return float((clear * step * area).sum())


def clock(cope: Cope, theta: float) -> str:
    """The angle as a clock seen from the tube's outer end, 12 o'clock at the datum: "3:30"."""
    turn = theta if cope.end == "start" else -theta
    minutes = round((turn / (2 * np.pi)) * 720 / 15) * 15 % 720
    return f"{minutes // 60 or 12}:{minutes % 60:02d}"
