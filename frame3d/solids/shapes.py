"""Solids of tapered, stepped, oval and bent tubes, with flat ends square to the axis."""

from itertools import pairwise

import numpy as np
from manifold3d import Manifold

from frame3d.model import Tube
from frame3d.model.section import lateral, theta_at
from frame3d.solids.facets import facets
from frame3d.solids.raw import Extent
from frame3d.solids.rings import Array, hollow, stack

# Straight lines from ring to ring may cost so much of a tube's volume, at a chord of 1 mm; the
# flats around it cost three times as much.
SHORT_PER_MM = 1e-3


def shaped_tube(tube: Tube, extent: Extent, chord: float) -> Manifold:
    """The hollow tube between two square ends, in world coordinates."""
    outer, bore = _rings(tube, extent, chord, (1.0, 0.0))
    return hollow(outer, bore)


def outside(tube: Tube, extent: Extent, chord: float) -> Manifold:
    """All that the outer surface holds between two square ends, in world coordinates."""
    return stack(*_rings(tube, extent, chord, (1.0,)))


def bore(tube: Tube, extent: Extent, chord: float) -> Manifold:
    """What the bore holds between two square ends, in world coordinates."""
    return stack(*_rings(tube, extent, chord, (0.0,)))


def _rings(tube: Tube, extent: Extent, chord: float, depths: tuple[float, ...]) -> list[Array]:
    """Rings (K, N, 3) of points at each depth of the wall, from start to end."""
    stations = ring_stations(tube, extent, chord)
    count = facets(_widest(tube), chord)
    eccentric = np.arange(count) * (2 * np.pi / count)
    at, around = np.meshgrid(stations, eccentric, indexing="ij")
    theta = theta_at(tube, at, around)
    points, tangents, datums = tube.centreline.at(stations)
    across = np.stack([datums, np.cross(tangents, datums)], axis=1)
    return [
        np.asarray(points[:, None] + lateral(tube, at, theta, depth) @ across) for depth in depths
    ]


def ring_stations(tube: Tube, extent: Extent, chord: float) -> Array:
    """Where rings stand: distances along the axis from start, mm, rising.

    At both ends; on either side of every station where outside or wall changes, so that a step
    stays flat; and where the surface curves along the axis, often enough that a straight line from
    ring to ring stands at most `chord` off it.
    """
    profiles = [tube.od, tube.wall, *([tube.oval.across] if tube.oval else [])]
    marks = {at for profile in profiles if not profile.is_constant for at in profile.at}
    marks |= set(tube.centreline.stations[1:-1].tolist())
    inner = sorted(at for at in marks if extent.start < at < extent.end)
    bounds = [extent.start, *inner, extent.end]
    found = []
    for low, high in pairwise(bounds):
        inside = np.linspace(low, high, _parts(tube, low, high, chord) + 1)
        inside[0], inside[-1] = np.nextafter(low, high), np.nextafter(high, low)
        found.append(inside)
    found[0][0], found[-1][-1] = bounds[0], bounds[-1]
    return np.unique(np.concatenate(found))


def _parts(tube: Tube, low: float, high: float, chord: float) -> int:
    """How many straight lines stand for the surface between two stations."""
    parts = 1
    ends = np.array([np.nextafter(low, high), np.nextafter(high, low)])
    if tube.oval:
        # Within one change the outside runs straight. The bore keeps the wall's distance square
        # to it, so it curves as the outside's normal turns, by up to half the change of
        # ln(od / across): off the straight by up to wall turn^2 / 8, in the mean around the
        # section by turn^2 / 24 of the wall.
        turn = float(np.ptp(np.log(tube.od(ends) / tube.oval.across(ends)))) / 2
        by_chord = turn * np.sqrt(tube.wall.greatest / (8 * chord))
        by_volume = turn / np.sqrt(24 * SHORT_PER_MM * chord)
        parts = max(parts, int(np.ceil(max(by_chord, by_volume))))
    line = tube.centreline
    k = int(np.searchsorted(line.stations, (low + high) / 2, "right")) - 1
    if 0 <= k < len(line.lengths) and line.curvature[k] > 0.0:
        angle = float((high - low) * line.curvature[k])
        outermost = 1 / line.curvature[k] + _widest(tube)
        by_chord = angle / (2 * np.arccos(1 - chord / outermost))
        share = (high - low) / line.length  # a bend loses angle^2 / 6, the straights nothing
        by_volume = angle * np.sqrt(share / (6 * SHORT_PER_MM * chord))
        parts = max(parts, int(np.ceil(max(by_chord, by_volume))))
    return parts


def _widest(tube: Tube) -> float:
    """The farthest that the outside stands from the axis, mm."""
    return max(tube.od.greatest, tube.oval.across.greatest if tube.oval else 0.0) / 2
