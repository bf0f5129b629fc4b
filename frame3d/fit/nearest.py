"""Where two bodies come nearest to each other."""

from dataclasses import dataclass

import numpy as np
from manifold3d import Manifold

from frame3d.fit.ghosts import Array, Ghost

DONE_MM = 1e-4  # triangles so small end the search
SLACK_MM = 1e-4  # as near as this is near enough; facets stand 5 µm inside their tube
DEPTH_SLACK_MM = 0.05  # how deep two bodies stand in each other is told so closely
SOME = 500
PLACE_MM = 0.2  # a place between two meshes is told so closely


@dataclass(frozen=True)
class Nearest:
    """distance: mm, negative where the bodies stand in each other (0 between two meshes); one,
    other: the place (3,) on each."""

    distance: float
    one: Array
    other: Array


def to_ghost(body: Manifold, ghost: Ghost) -> Nearest:
    """The nearest place of a mesh to a ghost: the distance to 1e-4 mm, the place to some 0.1 mm;
    how deep it stands in the ghost, to 0.05 mm."""
    mesh = body.to_mesh64()
    vertices = np.asarray(mesh.vert_properties)[:, :3]
    place = _least(vertices[np.asarray(mesh.tri_verts)], ghost)
    value = ghost.distance(place)
    return Nearest(float(value[0]), place[0], (place - value[:, None] * ghost.outward(place))[0])


def _least(corners: Array, ghost: Ghost) -> Array:
    """Where on triangles (T, 3, 3) the distance to a ghost is least: (1, 3).

    Branch and bound: a triangle that cannot hold less than the best found is left out, the others
    are halved.
    """
    best, place = np.inf, corners[:1, 0]
    while True:
        middle = (corners[:, 0] + corners[:, 1] + corners[:, 2]) / 3
        off = corners - middle[:, None]
        reach = np.sqrt(_largest(np.einsum("tcj,tcj->tc", off, off)))
        value = ghost.distance(middle)
        if value.min() < best:
            best, place = value.min(), middle[value.argmin()][None]
        # Nothing within a triangle is nearer than its middle less the way there; and nothing lies
        # lower than the slope at the middle and the distance's bend let it.
        slope = -_largest(-np.einsum("tcj,tj->tc", off, ghost.outward(middle)))
        bend = ghost.curving(middle, reach) * reach**2 / 2
        slack = SLACK_MM if best > 0 else DEPTH_SLACK_MM
        keep = (value + np.maximum(slope - bend, -reach) < best - slack) & (reach > DONE_MM)
        if not keep.any():
            return np.asarray(place)
        corners = _halved(corners[keep])


def _largest(values: Array) -> Array:
    """The largest of each row (T, 3): (T,)."""
    return np.asarray(np.maximum(np.maximum(values[:, 0], values[:, 1]), values[:, 2]))


def _halved(corners: Array) -> Array:
    """Each triangle (T, 3, 3) cut in two across its longest edge: (2 T, 3, 3)."""
    edge = corners - corners[:, [1, 2, 0]]  # k to k + 1
    first = np.einsum("tcj,tcj->tc", edge, edge).argmax(axis=1)
    order = (first[:, None] + np.arange(3)) % 3
    a, b, c = np.take_along_axis(corners, order[:, :, None], axis=1).transpose(1, 0, 2)
    middle = (a + b) / 2
    return np.concatenate([np.stack([a, middle, c], 1), np.stack([middle, b, c], 1)])


def between(one: Manifold, other: Manifold) -> Nearest:
    """The nearest places of two meshes, the distance by the kernel, the places to 0.2 mm."""
    some, others = (_some_vertices(body) for body in (one, other))
    apart = np.linalg.norm(some[:, None] - others[None], axis=2).min()
    gap = float(one.min_gap(other, float(apart) + 1.0))  # the kernel looks no farther than that
    here = _closed_in(one, other, gap)
    there = _closed_in(other, here, gap)
    return Nearest(gap, *(_middle(part) for part in (here, there)))


def _some_vertices(body: Manifold) -> Array:
    vertices = np.asarray(body.to_mesh64().vert_properties)[:, :3]
    return vertices[:: 1 + len(vertices) // SOME]


def _closed_in(body: Manifold, other: Manifold, gap: float) -> Manifold:
    """The small piece of a body that stands nearest to the other: halved again and again, keeping
    the half that is no farther away than the whole."""
    while True:
        low, high = np.array(body.bounding_box()).reshape(2, 3)
        axis = int((high - low).argmax())
        if (high - low)[axis] <= PLACE_MM:
            return body
        normal = [0.0, 0.0, 0.0]
        normal[axis] = 1.0
        halves = body.split_by_plane(tuple(normal), float((low + high)[axis] / 2))
        whole = [half for half in halves if not half.is_empty()]
        if len(whole) < 2:
            return body
        body = min(whole, key=lambda half: half.min_gap(other, gap + 1.0))


def _middle(body: Manifold) -> Array:
    return np.asarray(np.array(body.bounding_box()).reshape(2, 3).mean(axis=0))
