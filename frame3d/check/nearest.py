"""Where two bodies come nearest to each other."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from manifold3d import Manifold
from numpy.typing import NDArray

from frame3d.check.envelopes import Array, Ghost, dot

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
    return all_to_ghost([body], ghost)[0]


def all_to_ghost(bodies: Sequence[Manifold], ghost: Ghost) -> list[Nearest]:
    """The same of several meshes, in about the time of one."""
    meshes = [_corners(body) for body in bodies]
    owner = np.repeat(np.arange(len(meshes)), [corners.shape[2] for corners in meshes])
    places = _least(np.concatenate(meshes, axis=2), owner, ghost)
    values = ghost.distance(places)
    others = places - values * ghost.outward(places)
    return [
        Nearest(float(value), place, other)
        for value, place, other in zip(values, places.T, others.T, strict=True)
    ]


def _corners(body: Manifold) -> Array:
    """The corners (3, 3, T) of a mesh's triangles: corner, coordinate, triangle."""
    mesh = body.to_mesh64()
    vertices = np.asarray(mesh.vert_properties)[:, :3].T
    return np.asarray(np.stack([vertices[:, corner] for corner in mesh.tri_verts.T]))


def _least(corners: Array, owner: NDArray[np.intp], ghost: Ghost) -> Array:
    """Where on the triangles (3, 3, T) of each owner (T,), rising from 0, the distance to a ghost
    is least: (3, B).

    Branch and bound: a triangle that cannot hold less than the best found is left out, the others
    are halved.
    """
    places = corners[0][:, np.searchsorted(owner, np.arange(owner[-1] + 1))]
    best = np.full(places.shape[1], np.inf)
    while len(owner):
        middle = (corners[0] + corners[1] + corners[2]) / 3
        off = corners - middle
        reach = np.sqrt(np.einsum("cjt,cjt->ct", off, off).max(axis=0))
        value = ghost.distance(middle)
        first = np.flatnonzero(np.diff(owner, prepend=-1))
        found = np.minimum.reduceat(value, first)
        for k in np.flatnonzero(found < best[owner[first]]):
            last = first[k + 1] if k + 1 < len(first) else len(owner)
            best[owner[first[k]]] = found[k]
            places[:, owner[first[k]]] = middle[:, first[k] + value[first[k] : last].argmin()]
        # Nothing within a triangle is nearer than its middle less the way there; and nothing lies
        # lower than the slope at the middle and the distance's sag let it.
        goal = best[owner] - np.where(best > 0, SLACK_MM, DEPTH_SLACK_MM)[owner]
        kept = np.flatnonzero((value - reach < goal) & (reach > DONE_MM))
        middle, off = middle[:, kept], off[..., kept]
        slope = dot(off, ghost.outward(middle)).min(axis=0)
        low = value[kept] + np.maximum(slope - ghost.sag(middle, off), -reach[kept])
        kept = kept[low < goal[kept]]
        corners, owner = _halved(corners[..., kept]), np.repeat(owner[kept], 2)
    return np.asarray(places)


def _halved(corners: Array) -> Array:
    """Each triangle (3, 3, T) cut in two across its longest edge: (3, 3, 2 T)."""
    edge = corners - corners[[1, 2, 0]]  # k to k + 1
    first = np.einsum("cjt,cjt->ct", edge, edge).argmax(axis=0)
    each = np.arange(len(first))
    a, b, c = (corners[(first + k) % 3, :, each].T for k in range(3))
    middle = (a + b) / 2
    halves = np.stack([np.stack([a, middle, c]), np.stack([middle, b, c])], axis=-1)
    return halves.reshape(3, 3, -1)


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
