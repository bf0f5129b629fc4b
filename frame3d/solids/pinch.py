"""A tube's end pressed flat.

The die bends the wall and does not stretch it: round every section the middle of the wall keeps its
length, and the wall its thickness, so that each section keeps its metal. A section of the
transition is two half circles and two straights between them. With the middle of the wall at the
radius R in the round tube and at rho in the half circles, its length 2 pi R = 2 pi rho + 2 f makes
the straights f = pi (R - rho) long. Seen from the side rho runs evenly from R to half a wall, and
then the width does so too: straight lines lead from each point of the round to one of the flat,
over four quarters of a cone and two triangles. What the real die does beyond this law is its own
affair; the mill's and the jig's numbers do not hang on it.
"""

from dataclasses import dataclass

import numpy as np

from frame3d.model import Pinch, Tube
from frame3d.solids.facets import tube_flats
from frame3d.solids.raw_tube import Extent, in_world, ring_stations
from frame3d.solids.rings import Array, Tip

LEAST_STEPS = 4


@dataclass(frozen=True, eq=False)
class PinchedEnd:
    """Rings (K, N, 3) beyond the last round one, outward: the outside's up to the end, the bore's
    up to the flat, where it closes in a seam."""

    outer: Array
    bore: Array
    seam: Tip


def pinched_end(tube: Tube, pinch: Pinch, square: float, inward: float, chord: float) -> PinchedEnd:
    """square: where the end stands, mm from the tube's start; inward: 1 at the start, else -1."""
    flats = tube_flats(tube.widest, chord)
    turn = np.radians(pinch.angle)
    theta = np.arange(flats) * (2 * np.pi / flats) - turn  # a ring's first point is on the datum
    ring = np.stack([np.cos(theta), np.sin(theta)], axis=1)
    side = np.where(ring[:, 0] > 1e-12, 1.0, -1.0)
    area, between = _areas(ring, side)

    def offsets(radius: Array, straight: Array) -> Array:
        """Sections (K, N, 2) of half circles with these radii (K,) and straights between them."""
        section = radius[:, None, None] * ring
        section[..., 0] += straight[:, None] / 2 * side
        cos, sin = np.cos(turn), np.sin(turn)
        return np.asarray(section @ np.array([[cos, sin], [-sin, cos]]))

    begin, flat = (square + inward * d for d in (pinch.length + pinch.transition, pinch.length))
    stations = _stations(tube, begin, flat, chord)[1:]
    share = np.clip((stations - begin) / (flat - begin), 0.0, 1.0)
    wall = tube.wall(stations)
    middle = (tube.od(stations) - wall) / 2
    rho = (1.0 - share) * middle + share * wall / 2
    straight = np.pi * (middle - rho)
    outer = rho + wall / 2
    metal = 2 * np.pi * middle * wall
    # The polygons' metal is the section's own: the bore sees to it, and in the flat the outside.
    left = area * outer**2 + between * straight * outer - metal
    bore = _radius(area, between * straight, left)[:-1]
    end = _stations(tube, flat, square, chord)
    end_wall = tube.wall(end)
    end_middle = (tube.od(end) - end_wall) / 2
    end_straight = np.pi * (end_middle - end_wall / 2)
    end_outer = _radius(area, between * end_straight, 2 * np.pi * end_middle * end_wall)
    outside = [offsets(outer[:-1], straight[:-1]), offsets(end_outer, end_straight)]
    seam = end_straight[0] / 2 * np.array([[[np.cos(turn), np.sin(turn)]]])
    seam = np.concatenate([seam, -seam], axis=1)
    return PinchedEnd(
        in_world(tube, np.append(stations[:-1], end), np.concatenate(outside)),
        in_world(tube, stations[:-1], offsets(bore, straight[:-1])),
        Tip(in_world(tube, end[:1], seam)[0], np.where(side > 0, 0, 1)),
    )


def half_width(tube: Tube, pinch: Pinch) -> float:
    """From the axis to the edge of the flat, mm, where it is widest."""
    far = pinch.length + pinch.transition
    at = np.array([0.0, far]) if pinch.end == "start" else tube.length - np.array([0.0, far])
    return float((np.pi * (tube.od(at) - 2 * tube.wall(at)) / 4 + tube.wall(at)).max())


def _stations(tube: Tube, first: float, last: float, chord: float) -> Array:
    """Where rings stand from `first` to `last`: where the tube itself wants them, and so often that
    a taper pressed flat stands within the chord of its straight lines."""
    own = ring_stations(tube, Extent(min(first, last), max(first, last)), chord, 0.0)
    change = abs(float(tube.od(last) - tube.od(first)))
    steps = max(LEAST_STEPS, int(np.ceil(np.sqrt(change / chord))))
    found = np.unique(np.concatenate([own, np.linspace(first, last, steps + 1)]))
    kept = found[np.append(True, np.diff(found) > 1e-6)]
    kept[-1] = max(first, last)
    return np.asarray(kept if first < last else kept[::-1])


def _areas(ring: Array, side: Array) -> tuple[float, float]:
    """The area of the polygon (N, 2), and what a mm of straight between its halves adds to it."""

    def area(points: Array) -> float:
        beside = np.roll(points, -1, axis=0)
        return float((points[:, 0] * beside[:, 1] - points[:, 1] * beside[:, 0]).sum()) / 2

    drawn = ring + np.stack([side / 2, np.zeros(len(side))], axis=1)
    return area(ring), area(drawn) - area(ring)


def _radius(area: float, linear: Array, wanted: Array) -> Array:
    """The radius (K,) at which area r^2 + linear r holds what is wanted."""
    wanted = np.maximum(wanted, 0.0)
    return np.asarray(2 * wanted / (linear + np.sqrt(linear**2 + 4 * area * wanted) + 1e-300))
