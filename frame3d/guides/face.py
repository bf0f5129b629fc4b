"""The guide's end face: the outside of the mating tubes, carried through the guide's whole wall."""

import numpy as np
from manifold3d import CrossSection, JoinType, Manifold, OpType

from frame3d.guides.place import Array, Place
from frame3d.model import Tube
from frame3d.solids.facets import facets_by_chord
from frame3d.solids.raw import Extent, skin
from frame3d.solids.rings import solid
from frame3d.solids.tools import Reach, tool_solid
from frame3d.surfaces.cylinder import Cylinder
from frame3d.surfaces.surface import Surface

FLATNESS_MM = 0.0005  # the farthest that a flat of the face may stand inside its mate
CYLINDER_CHORD_MM = 5 * FLATNESS_MM  # `tool_solid` takes a fifth of it for cylinders
SEAM_MM = 0.001  # how far shoulders overlap another mate's shade, so that no film is left between
STEP_MM = 1e-6  # two rings nearer to each other are the two sides of a step
INTO_MM = 1.0  # how far the thinner side of a step is carried on into the thicker one


def behind_face(blank: Manifold, place: Place) -> list[Manifold]:
    """All that a blank, in guide coordinates, must lose: the mates and what lies behind them.

    Lines of the wall that pass every mate end at the shoulder, the plane through a mate's axis.
    """
    box = np.reshape(blank.bounding_box(), (2, 3))
    size = float(np.linalg.norm(box[1] - box[0]))
    on_axis = place.cope.frame.origin + box[:, 2].mean() * place.cope.frame.out
    outer = float(np.linalg.norm(np.abs(box[:, :2]).max(axis=0)))
    reach = Reach(on_axis, size, place.cope.frame, outer / 4, outer)
    back = np.asarray(np.linalg.inv(place.matrix)[:3], dtype=np.float64)
    tools = [
        _tool(mate, surface, reach, back)
        for mate, surface in zip(place.mates, place.cope.mates, strict=True)
    ]
    middle = np.array([0.0, 0.0, back[2] @ [*reach.around, 1.0]])
    shoulders = [
        _beyond(normal, distance, 4 * reach.radius, middle) - shade
        for (normal, distance), shade in zip(
            place.shoulders, _shades(tools, middle[2] + reach.radius), strict=True
        )
    ]
    return [*tools, *shoulders]


def _tool(mate: Tube, surface: Surface, reach: Reach, back: Array) -> Manifold:
    """The mate's outside, within reach, and all that lies behind it as the tube sees it, moved by
    `back` (3, 4) into guide coordinates."""
    if isinstance(surface, Cylinder):
        return tool_solid(surface, reach, CYLINDER_CHORD_MM).transform(back)
    flats = facets_by_chord(mate.widest, FLATNESS_MM)
    rings = skin(mate, _near(mate, reach), FLATNESS_MM, 1.0, flats)
    rings = rings @ back[:, :3].T + back[:, 3]
    # Along z, before any boolean: boxes around long walls that lean would all overlap.
    behind = np.array([0.0, 0.0, 4 * reach.radius])
    middles = rings.mean(axis=1)
    steps = np.flatnonzero(np.linalg.norm(np.diff(middles, axis=0), axis=1) < STEP_MM) + 1
    pieces = _overlapping(np.split(rings, steps))
    return Manifold.batch_boolean([_shadow(piece, behind) for piece in pieces], OpType.Add)


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


def _shadow(rings: Array, behind: Array) -> Manifold:
    """The flats between rings (K, N, 3) that face the tube, carried along `behind` (3,)."""
    # Rings turn right-handed about the axis, so that this points out of the mate.
    outward = np.cross(np.roll(rings, -1, axis=1) - rings, np.roll(rings, -1, axis=0) - rings)
    facing = outward[:-1] @ behind < 0
    count = rings.shape[1]
    row, column = np.nonzero(facing)
    here, beside = row * count + column, row * count + (column + 1) % count
    front = np.stack([here, beside, beside + count, here + count], axis=1)
    edges = np.stack([front, np.roll(front, -1, axis=1)], axis=2).reshape(-1, 2)
    size = len(rings) * count
    key, back = edges @ [size, 1], edges @ [1, size]
    start, stop = edges[~np.isin(key, back)].T  # those at the rim
    sides = np.stack([stop, start, start + size, stop + size], axis=1)
    quads = np.concatenate([front, front[:, ::-1] + size, sides])
    used, quads = np.unique(quads, return_inverse=True)
    quads = quads.reshape(-1, 4)
    triangles = np.concatenate([quads[:, [0, 1, 2]], quads[:, [0, 2, 3]]])
    vertices = np.concatenate([rings.reshape(-1, 3), rings.reshape(-1, 3) + behind])[used]
    return solid(vertices, triangles.astype(np.uint64))


def _near(mate: Tube, reach: Reach) -> Extent:
    """Where along the mate, carried on beyond its ends, the tube's lines can meet it."""
    out, beside = reach.frame.out, reach.outer + mate.widest
    far = float(np.hypot(reach.radius, beside))
    beyond = float(np.linalg.norm(mate.centreline.at(np.zeros(1))[0] - reach.around)) + far
    stations = np.arange(-beyond, mate.length + beyond, 1.0)
    away = mate.centreline.at(stations)[0] - reach.around
    near = np.linalg.norm(away, axis=1) <= far
    near &= np.linalg.norm(away - np.outer(away @ out, out), axis=1) <= beside
    within = stations[near]
    return Extent(float(within[0]) - 1.0, float(within[-1]) + 1.0)


def _beyond(normal: Array, distance: float, size: float, middle: Array) -> Manifold:
    """All near `middle` that lies beyond a plane, as a box of `size`."""
    aside = np.cross(normal, [1.0, 0.0, 0.0] if abs(normal[0]) < 0.9 else [0.0, 1.0, 0.0])
    aside /= np.linalg.norm(aside)
    foot = middle + (distance - normal @ middle) * normal
    turned = np.stack([aside, np.cross(normal, aside), normal, foot], axis=1)
    box = Manifold.cube((size, size, size), True).translate((0.0, 0.0, size / 2))
    return box.transform(turned)


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
