"""Triangles too thin for a mesh file are drawn together, without opening the mesh."""

import math
from collections import defaultdict
from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from frame3d.solids.rings import Array, Triangles

Faces = NDArray[np.int64]

# An STL file holds single precision: 1e-4 mm at one metre. Thinner triangles can vanish in it.
THIN_MM = 5e-4
MOST_ROUNDS = 20


def tidied(vertices: Array, triangles: Triangles) -> tuple[Array, Triangles]:
    """The closed mesh without triangles thinner than 0.5 µm; no vertex moves but onto another.

    A needle loses its shortest edge: one of its ends takes the place of the other. A cap, whose
    third corner lies on its longest edge, is turned with the triangle across that edge. What would
    pinch the mesh is left as it is.
    """
    faces = triangles.astype(np.int64)
    height = _heights(vertices[faces])
    for _ in range(MOST_ROUNDS):
        thin = np.flatnonzero(height < THIN_MM)
        if not len(thin):
            break
        thin = thin[np.argsort(height[thin], kind="stable")]
        # All that can change stands at the corners of thin triangles; the rest is only copied.
        rows = _around(faces, faces[thin].ravel())
        patch = faces[rows]
        if not _mend_all(vertices, patch, np.searchsorted(rows, thin)):
            break
        faces[rows], height[rows] = patch, _heights(vertices[patch])
        whole = np.ones(len(faces), bool)
        whole[rows] = (patch != np.roll(patch, 1, axis=1)).all(axis=1)
        faces, height = faces[whole], height[whole]
    used, faces = np.unique(faces, return_inverse=True)
    return vertices[used], faces.reshape(-1, 3).astype(np.uint64)


def _heights(corners: Array) -> Array:
    """Least height (T,) of triangles (T, 3, 3)."""
    edges = np.linalg.norm(corners - np.roll(corners, 1, axis=1), axis=2)
    twice_area = np.linalg.norm(
        np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]), axis=1
    )
    return np.asarray(twice_area / np.maximum(edges.max(axis=1), 1e-300))


def _mend_all(vertices: Array, patch: Faces, thin: Faces) -> bool:
    """Mend thin rows of `patch` in place, no triangle twice; says whether any was.

    In plain Python, since there are a few dozen of them with a handful of neighbours each.
    """
    faces: list[list[int]] = patch.tolist()
    star: defaultdict[int, set[int]] = defaultdict(set)  # rows around each corner
    for row, face in enumerate(faces):
        for corner in face:
            star[corner].add(row)
    touched: set[int] = set()  # a triangle changes once a round, so that measures stay true
    for row in thin.tolist():
        near = set().union(*(star[corner] for corner in faces[row]))
        if touched.isdisjoint(near) and _mend(vertices, faces, star, row):
            touched |= near
    patch[:] = faces
    return bool(touched)


def _mend(vertices: Array, faces: list[list[int]], star: Mapping[int, set[int]], row: int) -> bool:
    """Draw a needle together or turn a cap, in place; the first leaves doubled corners behind."""
    face = faces[row]
    lengths = _lengths(vertices, face)
    shortest = lengths.index(min(lengths))
    if lengths[shortest] < THIN_MM:
        return _draw_together(faces, star, face[shortest], face[(shortest + 1) % 3])
    return _turn(vertices, faces, star, row, lengths.index(max(lengths)))


def _draw_together(
    faces: list[list[int]], star: Mapping[int, set[int]], kept: int, gone: int
) -> bool:
    """Put `kept` in the place of `gone`, if only the two triangles at their edge vanish by it."""
    beside_kept = {corner for row in star[kept] for corner in faces[row]}
    beside_gone = {corner for row in star[gone] for corner in faces[row]}
    if len((beside_kept & beside_gone) - {kept, gone}) != 2:
        return False
    for row in star[gone]:
        faces[row] = [kept if corner == gone else corner for corner in faces[row]]
    return True


def _turn(
    vertices: Array, faces: list[list[int]], star: Mapping[int, set[int]], row: int, longest: int
) -> bool:
    """Replace the longest edge by the one between the two corners that face it, if that helps."""
    a, b, cap = (faces[row][(longest + k) % 3] for k in range(3))
    across = (star[a] & star[b]) - {row}
    if len(across) != 1:
        return False
    (other,) = across
    (opposite,) = set(faces[other]) - {a, b}
    if opposite == cap or any(opposite in faces[r] for r in star[cap]):
        return False  # the new edge is there already
    turned = [a, opposite, cap], [opposite, b, cap]
    before = min(_height(vertices, faces[row]), _height(vertices, faces[other]))
    if min(_height(vertices, face) for face in turned) <= before:
        return False
    faces[row], faces[other] = turned
    return True


def _lengths(vertices: Array, face: list[int]) -> list[float]:
    """Of the edges from corner 0 to 1, 1 to 2 and 2 to 0, mm."""
    p, q, r = (vertices[corner].tolist() for corner in face)
    return [math.dist(p, q), math.dist(q, r), math.dist(r, p)]


def _height(vertices: Array, face: list[int]) -> float:
    """Least height of a triangle, mm: the number that `_heights` has for many."""
    (p, q, r), lengths = vertices[face].tolist(), _lengths(vertices, face)
    u, v = [b - a for a, b in zip(p, q, strict=True)], [b - a for a, b in zip(p, r, strict=True)]
    normal = (u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0])
    return math.hypot(*normal) / max(*lengths, 1e-300)


def _around(faces: Faces, corners: Faces) -> Faces:
    """Rows of the triangles at any of these corners."""
    return np.flatnonzero(np.isin(faces, corners).any(axis=1))
