"""Tubes before their ends are coped, of every shape: outside and bore, with flat ends square to the
axis."""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from manifold3d import Manifold

from frame3d.model import Tube
from frame3d.model.tube_section import lateral, theta_at
from frame3d.solids.facets import facets, tube_flats
from frame3d.solids.rings import Array, hollow

# Straight lines from ring to ring may cost so much of a tube's volume, at a chord of 1 mm; the
# flats around it cost three times as much.
SHORT_PER_MM = 1e-3
# Of one tube. A real one has a tenth of it; two that a slip of the pen made wide and changing have
# taken minutes to be held against each other.
MOST_TRIANGLES = 150_000


@dataclass(frozen=True)
class Extent:
    """Where a raw tube is sawn off square: distances from the axis's start, mm."""

    start: float
    end: float


def raw_tube(tube: Tube, extent: Extent, chord: float) -> Manifold:
    """The hollow tube between two square ends, in world coordinates."""
    flats = flats_of(tube, chord)
    return hollow(*(skin(tube, extent, chord, depth, flats) for depth in (1.0, 0.0)))


def affordable(tube: Tube, extent: Extent, chord: float) -> float:
    """The chord error, mm, or a greater one where it would take too many triangles. There are as
    many as rings times flats, and of both one over the root of the chord error."""
    around = flats_of(tube, chord) or facets(tube.widest, chord)
    rings = sum(len(ring_stations(tube, extent, chord, depth)) for depth in (1.0, 0.0))
    return chord * max(1.0, 2 * around * rings / MOST_TRIANGLES)


def flats_of(tube: Tube, chord: float) -> int | None:
    """The flats of a round tube whose bore gives the metal's area back; None for an oval one."""
    return tube_flats(tube.widest, chord) if tube.oval is None else None


def skin(tube: Tube, extent: Extent, chord: float, depth: float, flats: int | None = None) -> Array:
    """Rings (K, N, 3) of points at a depth of the wall, from start to end.

    flats: how many stand for a circle, of a tube whose bore gives the metal's area back; without
    it, enough that each circle holds its own area.
    """
    stations = ring_stations(tube, extent, chord, depth)
    offsets = sections(tube, stations, depth, facets(tube.widest, chord), flats)
    return _swollen(tube, stations, in_world(tube, stations, offsets))


def sections(tube: Tube, stations: Array, depth: float, count: int, flats: int | None) -> Array:
    """Offsets (K, N, 2) from the axis along datum and side, of rings at a depth of the wall: of
    `flats` points as in `skin`, or without of `count`."""
    count = count if flats is None else flats
    eccentric = np.arange(count) * (2 * np.pi / count)
    at, around = np.meshgrid(stations, eccentric, indexing="ij")
    offsets = lateral(tube, at, theta_at(tube, at, around), depth)
    if flats is not None and depth == 0.0:
        offsets = offsets * _bore_share(tube, stations, flats)[:, None, None]
    return offsets


def in_world(tube: Tube, stations: Array, offsets: Array) -> Array:
    """Rings (K, N, 3) in world coordinates from their offsets (K, N, 2) along datum and side."""
    points, tangents, datums = tube.centreline.at(stations)
    across = np.stack([datums, np.cross(tangents, datums)], axis=1)
    return np.asarray(points[:, None] + offsets @ across)


def _bore_share(tube: Tube, stations: Array, flats: int) -> Array:
    """What the corners of a round bore stand at, over its radius, so that the metal between two
    polygons has the ring's own area: (K,).

    A polygon of n corners at radius r has the area n r^2 sin(t) / 2, with t = 2 pi / n, and its
    circle n r^2 t / 2. The bore gets smaller by about wall t^2 / 6: less than 0.1 µm.
    """
    outer = tube.od(stations) / 2
    bore = outer - tube.wall(stations)
    step = 2 * np.pi / flats
    square = outer**2 - (outer**2 - bore**2) * step / np.sin(step)
    return np.sqrt(np.where(square > 0, square, bore**2)) / bore


def _swollen(tube: Tube, stations: Array, rings: Array) -> Array:
    """Rings (K, N, 3) with those within a bend a little farther from the bend's own axis.

    Straight lines from ring to ring cut the corners of a bend. At sqrt(t / sin t) times their
    distance from its axis, t the angle from ring to ring, they hold as much as the bend does: a
    triangle k r, k r and the angle t has the area k^2 r^2 sin(t) / 2 of the sector r^2 t / 2. They
    stand off it by at most two thirds of the chord error.
    """
    line = tube.centreline
    if not line.curvature.any():
        return rings
    k = np.clip(np.searchsorted(line.stations, stations, "right") - 1, 0, len(line.lengths) - 1)
    bend, along = line.curvature[k], stations - line.stations[k]
    within = (bend > 0) & (along > 0) & (along < line.lengths[k])
    step = np.where(within, bend * np.gradient(stations), 0.0)
    turn = (bend * along)[:, None]
    inward = np.cos(turn) * line.inward[k] - np.sin(turn) * line.tangents[k]
    centre = line.at(stations)[0] + inward / np.where(bend > 0, bend, 1.0)[:, None]
    out = np.einsum("knj,kj->kn", rings - centre[:, None], -inward)
    more = 1.0 / np.sqrt(np.sinc(step / np.pi)) - 1.0
    return np.asarray(rings - (more[:, None] * out)[..., None] * inward[:, None])


def ring_stations(tube: Tube, extent: Extent, chord: float, depth: float) -> Array:
    """Where rings stand: distances along the axis from start, mm, rising.

    At both ends; at every station where outside or wall changes, at a step on either side of it, so
    that it stays flat; and where the surface curves along the axis, often enough that a straight
    line from ring to ring stands at most `chord` off it.
    """
    profiles = [tube.od, *([tube.oval.across] if tube.oval else [])]
    if depth < 1.0:  # the outside knows nothing of the butts
        profiles.append(tube.wall)
    marks = {at for profile in profiles if not profile.is_constant for at in profile.at}
    marks |= set(tube.centreline.stations[1:-1].tolist())
    steps = {low for p in profiles for low, high in pairwise(p.at) if low == high}
    inner = sorted(at for at in marks if extent.start < at < extent.end)
    found = []
    for low, high in pairwise([extent.start, *inner, extent.end]):
        inside = np.linspace(low, high, _parts(tube, low, high, chord) + 1)
        inside[0] = np.nextafter(low, high) if low in steps else low
        inside[-1] = np.nextafter(high, low) if high in steps else high
        found.append(inside)
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
        outermost = 1 / line.curvature[k] + tube.widest
        parts = max(parts, int(np.ceil(angle / (2 * np.arccos(1 - chord / outermost)))))
    return parts
