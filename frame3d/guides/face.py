"""The guide's end face: what shapes the cope, carried through the guide's whole wall.

It is made where the tightened guide has it and then opened by the clearance, line by line along the
tube, so that it is right while the clamp holds.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from manifold3d import CrossSection, JoinType, Manifold, OpType

from frame3d.guides.place import Array, Place
from frame3d.model import Tube
from frame3d.solids.facets import facets_by_chord
from frame3d.solids.raw_tube import Extent, skin
from frame3d.solids.rings import solid
from frame3d.surfaces.cylinder import Cylinder
from frame3d.surfaces.surface import Surface

FLATNESS_MM = 0.0005  # the farthest that a flat of the face may stand inside what it follows
SEAM_MM = 0.001  # how far shoulders overlap another tool's shade, so that no film is left between
STEP_MM = 1e-6  # two rings nearer to each other are the two sides of a step
INTO_MM = 1.0  # how far the thinner side of a step is carried on into the thicker one


@dataclass(frozen=True, eq=False)
class _Reach:
    """How much of the endless tools is made, in guide coordinates, mm.

    low, high: corners (3,) of a box that holds the blank; outer: its farthest point from the axis;
    size: of a ball around the box; step: between lines of the face that stay straight as it opens
    """

    place: Place
    low: Array
    high: Array
    outer: float
    size: float
    step: float

    @property
    def middle(self) -> Array:
        """On the axis, amid the blank: (3,)."""
        return np.array([0.0, 0.0, (self.low[2] + self.high[2]) / 2])


def behind_face(blank: Manifold, place: Place) -> list[Manifold]:
    """All that a blank, in guide coordinates, must lose: the tools and what lies behind them.

    Lines of the wall that pass every tool end at the shoulder, the plane through a tool's axis.
    """
    low, high = np.reshape(blank.bounding_box(), (2, 3))
    outer = float(np.linalg.norm(np.maximum(np.abs(low), np.abs(high))[:2]))
    hold = place.tightening
    bore = min(hold.first, hold.second)
    # A straight line `bore` from the axis opens into one that is bent by clearance / bore^2.
    step = bore * np.sqrt(8 * FLATNESS_MM / hold.clearance)
    reach = _Reach(place, low, high, outer, float(np.linalg.norm(high - low)), step)
    tools = [
        _tool(mate, surface, reach)
        for mate, surface in zip(place.mates, place.cope.tools, strict=True)
    ]
    shoulders = [
        _shadow(_plane(normal, distance, reach), reach) - shade
        for (normal, distance), shade in zip(
            place.shoulders, _shades(tools, reach.high[2] + reach.size), strict=True
        )
    ]
    return [*tools, *shoulders]


def _tool(mate: Tube, surface: Surface, reach: _Reach) -> Manifold:
    """What shapes the cope, within reach, and all that lies behind it as the tube sees it."""
    place = reach.place
    if isinstance(surface, Cylinder):  # a saw, or a mate that is one
        extent = _near(
            lambda at: surface.point + np.outer(at, surface.axis), 0.0, surface.radius, reach
        )
        flats = facets_by_chord(surface.radius, FLATNESS_MM)
        turn = np.arange(flats) * (2 * np.pi / flats)
        first = np.linalg.svd(surface.axis[None])[2][1]
        second = np.cross(surface.axis, first)
        around = surface.radius * (np.outer(np.cos(turn), first) + np.outer(np.sin(turn), second))
        ends = surface.point + np.outer([extent.start, extent.end], surface.axis)
        rings = ends[:, None] + around
    else:
        extent = _near(lambda at: mate.centreline.at(at)[0], mate.length, mate.widest, reach)
        rings = skin(mate, extent, FLATNESS_MM, 1.0, facets_by_chord(mate.widest, FLATNESS_MM))
    back = np.linalg.inv(place.matrix)[:3]
    rings = rings @ back[:, :3].T + back[:, 3] + [0.0, 0.0, place.cope.seat]
    middles = rings.mean(axis=1)
    steps = np.flatnonzero(np.linalg.norm(np.diff(middles, axis=0), axis=1) < STEP_MM) + 1
    pieces = [_denser(piece, reach.step) for piece in _overlapping(np.split(rings, steps))]
    return Manifold.batch_boolean([_shadow(piece, reach) for piece in pieces], OpType.Add)


def _overlapping(pieces: list[Array]) -> list[Array]:
    """Rings (K, N, 3) from step to step of a mate, with a smaller ring inside both end faces.

    The thinner side of each step reaches into the thicker, since the kernel is slow where bodies
    only touch.
    """
    apart = np.stack([np.mean(p[[1, -1]] - p[[0, -2]], axis=1) for p in pieces])
    into = INTO_MM * apart / np.linalg.norm(apart, axis=2, keepdims=True)
    wide = np.array([[np.ptp(p[k], axis=0).max() for k in (0, -1)] for p in pieces])
    closed = []
    for k, piece in enumerate(pieces):
        first, last = piece[:1], piece[-1:]
        if k > 0 and wide[k, 0] < wide[k - 1, 1]:
            first = first - into[k, 0]
        if k + 1 < len(pieces) and wide[k, 1] < wide[k + 1, 0]:
            last = last + into[k, 1]
        body = np.concatenate([first, piece[1:-1], last])
        middles = body[[0, -1]].mean(axis=1, keepdims=True)
        caps = (body[[0, -1]] + middles) / 2
        closed.append(np.concatenate([caps[:1], body, caps[1:]]))
    return closed


def _denser(rings: Array, step: float) -> Array:
    """Rings (K, N, 3) with others between them, so that none is farther than `step` mm from the
    next."""
    apart = np.linalg.norm(np.diff(rings, axis=0), axis=2).max(axis=1)
    parts = np.maximum(np.ceil(apart / step).astype(int), 1)
    which = np.repeat(np.arange(len(parts)), parts)
    share = np.concatenate([np.arange(count) / count for count in parts])[:, None, None]
    between = (1.0 - share) * rings[which] + share * rings[which + 1]
    return np.concatenate([between, rings[-1:]])


def _shadow(rings: Array, reach: _Reach) -> Manifold:
    """The flats between rings (K, N, 3) that face the tube, opened by the clearance, and all that
    lies behind them along z."""
    count = rings.shape[1]
    flat = rings.reshape(-1, 3)
    opened = np.column_stack([reach.place.tightening.opened(flat[:, :2]), flat[:, 2]])
    rings = opened.reshape(rings.shape)
    # Rings turn right-handed about the axis, so that these point out of the tool. Once opened a
    # flat is two triangles, which must both face the tube.
    across = np.roll(rings, (-1, -1), axis=(0, 1)) - rings
    one = np.cross(np.roll(rings, -1, axis=1) - rings, across)
    other = np.cross(across, np.roll(rings, -1, axis=0) - rings)
    facing = (one[:-1, :, 2] < 0) & (other[:-1, :, 2] < 0)
    row, column = np.nonzero(facing)
    here, beside = row * count + column, row * count + (column + 1) % count
    front = np.stack([here, beside, beside + count, here + count], axis=1)
    edges = np.stack([front, np.roll(front, -1, axis=1)], axis=2).reshape(-1, 2)
    size = len(opened)
    key, back = edges @ [size, 1], edges @ [1, size]
    start, stop = edges[~np.isin(key, back)].T  # those at the rim
    sides = np.stack([stop, start, start + size, stop + size], axis=1)
    quads = np.concatenate([front, front[:, ::-1] + size, sides])
    used, quads = np.unique(quads, return_inverse=True)
    quads = quads.reshape(-1, 4)
    triangles = np.concatenate([quads[:, [0, 1, 2]], quads[:, [0, 2, 3]]])
    # Along z, before any boolean: boxes around long walls that lean would all overlap.
    behind = np.array([0.0, 0.0, 4 * reach.size])
    vertices = np.concatenate([opened, opened + behind])[used]
    return solid(vertices, triangles.astype(np.uint64))


def _near(axis: Callable[[Array], Array], length: float, radius: float, reach: _Reach) -> Extent:
    """Where along a tool, carried on beyond its ends, the blank's lines can meet it. axis: points
    (N, 3) of the tool's axis, world coordinates, at N distances from its start, mm."""
    origin, out = reach.place.cope.frame.origin, reach.place.cope.frame.out
    middle, beside = origin + reach.middle[2] * out, reach.outer + radius
    far = float(np.hypot(reach.size, beside))
    (start,) = axis(np.zeros(1))
    beyond = float(np.linalg.norm(start - middle)) + far
    stations = np.arange(-beyond, length + beyond, 1.0)
    away = axis(stations) - middle
    near = np.linalg.norm(away, axis=1) <= far
    near &= np.linalg.norm(away - np.outer(away @ out, out), axis=1) <= beside
    within = stations[near]
    return Extent(float(within[0]) - 1.0, float(within[-1]) + 1.0)


def _plane(normal: Array, distance: float, reach: _Reach) -> Array:
    """A plane over the blank as rows (K, N, 3) of points, rows along x, its side towards the tube
    outward."""
    low, high = reach.low[:2] - 1.0, reach.high[:2] + 1.0
    count = np.ceil((high - low) / reach.step).astype(int) + 1
    x, y = (np.linspace(low[k], high[k], count[k]) for k in (0, 1))
    grid = np.stack(np.meshgrid(x, y, indexing="ij"), axis=-1)
    z = (distance - grid @ normal[:2]) / normal[2]
    return np.concatenate([grid, z[..., None]], axis=2)


def _shades(tools: list[Manifold], size: float) -> list[Manifold]:
    """For each cylinder's shoulder, what it must leave to the others: every line that meets one.

    The cylinder itself stands wholly before its own shoulder, so that it needs no leaving.
    """
    if len(tools) == 1:
        return [Manifold()]
    shades = []
    for which in range(len(tools)):
        shade = CrossSection()
        for tool in tools[:which] + tools[which + 1 :]:
            shade = shade + tool.project()
        shade = shade.offset(-SEAM_MM, JoinType.Miter)
        shades.append(shade.extrude(4 * size).translate((0.0, 0.0, -2 * size)))
    return shades
