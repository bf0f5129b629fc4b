"""Normals for shading: smooth along a tube, broken at the edge of a cope."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Indices = NDArray[np.int64]

# Facets of a tube turn by 2 degrees, a bend by a few; the edge of a cope by far more.
FEATURE_DEG = 30.0
# A face this near to the exact surface's normal is part of it: a facet is off by 1 degree, a butt's
# slope in the bore by less.
SKIN_DEG = 6.0
STEP_MM = 1e-3


@dataclass(frozen=True, eq=False)
class Shaded:
    """vertices (V, 3), mm; normals (V, 3), unit; triangles (T, 3). A vertex on a sharp edge
    stands there once for each side."""

    vertices: Array
    normals: Array
    triangles: Indices


def shaded(
    vertices: Array, triangles: Indices, distance: Callable[[Array], Array] | None = None
) -> Shaded:
    """Split the vertices of a closed mesh where faces meet at an edge.

    distance: signed distance (N,) of points (N, 3) to the exact outside of a tube. Faces that lie
    along it, outside or in the bore, take its normals: flats that run the whole length of a tube
    would show as streaks. Other faces take the mean of their smooth neighbours, by their angle at
    the vertex (Thürmer and Wüthrich, "Computing Vertex Normals from Polygonal Facets", 1998, from
    memory), so that slivers do not tilt it.
    """
    triangles = np.asarray(triangles, np.int64)
    corners = vertices[triangles]
    edges = np.roll(corners, -1, axis=1) - corners  # edge k runs from corner k to k + 1
    face = _unit(np.cross(edges[:, 0], -edges[:, 2]))
    skin = np.zeros(len(face), int)
    if distance is not None:
        exact = _gradient(distance, vertices)
        lies = (face * _unit(exact[triangles].mean(axis=1))).sum(axis=1)
        skin = np.where(np.abs(lies) >= np.cos(np.radians(SKIN_DEG)), np.sign(lies), 0).astype(int)
    group = _smooth_corners(triangles, face, skin)
    label, group = np.unique(group, return_inverse=True)
    weighted = (_angles(edges)[..., None] * face[:, None]).reshape(-1, 3)
    parts = [np.bincount(group, weighted[:, k], len(label)) for k in range(3)]
    sums = np.stack(parts, axis=1).astype(np.float64)
    origin, side = triangles.ravel()[label], skin[label // 3]
    if distance is not None:
        sums = np.where(side[:, None] != 0, side[:, None] * exact[origin], sums)
    return Shaded(vertices[origin], _unit(sums), group.reshape(-1, 3))


def _gradient(distance: Callable[[Array], Array], points: Array) -> Array:
    """The unit direction (N, 3) in which the distance grows."""
    steps = STEP_MM * np.eye(3)
    return _unit(np.stack([distance(points + s) - distance(points - s) for s in steps], axis=1))


def _unit(vectors: Array) -> Array:
    size = np.linalg.norm(vectors, axis=-1, keepdims=True)
    return np.asarray(vectors / np.where(size > 0, size, 1.0))


def _angles(edges: Array) -> Array:
    """Angle (T, 3) at each corner, radians."""
    along, back = _unit(edges), -_unit(np.roll(edges, 1, axis=1))
    return np.asarray(np.arccos(np.clip((along * back).sum(axis=2), -1.0, 1.0)))


def _smooth_corners(triangles: Indices, face: Array, skin: Indices) -> Indices:
    """A label (3 T,) for each corner, common to those joined around a vertex by smooth edges;
    it is the least corner among them. Skin (1 outside, -1 bore, 0 neither) joins only its own."""
    count = len(triangles)
    tail, head = triangles.ravel(), np.roll(triangles, -1, axis=1).ravel()
    key = np.minimum(tail, head) * (triangles.max() + 1) + np.maximum(tail, head)
    order = np.argsort(key, kind="stable")
    first, second = order[:-1], order[1:]
    twins = key[first] == key[second]
    first, second = first[twins], second[twins]
    one, two = first // 3, second // 3
    smooth = (face[one] * face[two]).sum(axis=1) >= np.cos(np.radians(FEATURE_DEG))
    smooth &= skin[one] == skin[two]
    first, second = first[smooth], second[smooth]
    after = np.arange(3 * count).reshape(-1, 3)[:, [1, 2, 0]].ravel()
    one = np.concatenate([first, after[first]])  # the edge's twin runs the other way round
    two = np.concatenate([after[second], second])
    label = np.arange(3 * count)
    while True:
        least = np.minimum(label[one], label[two])
        before = label.copy()
        np.minimum.at(label, one, least)
        np.minimum.at(label, two, least)
        label = label[label]
        if np.array_equal(label, before):
            return label
