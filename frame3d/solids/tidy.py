"""Triangles too thin for a mesh file are drawn together, without opening the mesh."""

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


def _mend_all(vertices: Array, faces: Faces, thin: Faces) -> bool:
    """Mend thin rows of `faces` in place, no triangle twice; says whether any was."""
    touched: set[int] = set()  # a triangle changes once a round, so that measures stay true
    for row in thin.tolist():
        near = _around(faces, faces[row]).tolist()
        if touched.isdisjoint(near) and _mend(vertices, faces, row):
            touched.update(near)
    return bool(touched)


def _mend(vertices: Array, faces: Faces, row: int) -> bool:
    """Draw a needle together or turn a cap, in place; the first leaves doubled corners behind."""
    corners = vertices[faces[row]]
    lengths = np.linalg.norm(np.roll(corners, -1, axis=0) - corners, axis=1)  # edge k to k + 1
    shortest = int(lengths.argmin())
    if lengths[shortest] < THIN_MM:
        return _draw_together(faces, faces[row, shortest], faces[row, (shortest + 1) % 3])
    return _turn(vertices, faces, row, int(lengths.argmax()))


def _draw_together(faces: Faces, kept: int, gone: int) -> bool:
    """Put `kept` in the place of `gone`, if only the two triangles at their edge vanish by it."""
    ring_kept = np.unique(faces[_around(faces, np.array([kept]))])
    ring_gone = np.unique(faces[_around(faces, np.array([gone]))])
    common = np.setdiff1d(np.intersect1d(ring_kept, ring_gone), [kept, gone])
    if len(common) != 2:
        return False
    faces[faces == gone] = kept
    return True


def _turn(vertices: Array, faces: Faces, row: int, longest: int) -> bool:
    """Replace the longest edge by the one between the two corners that face it."""
    a, b, cap = (int(faces[row, (longest + k) % 3]) for k in range(3))
    at_a, at_b = _around(faces, np.array([a])), _around(faces, np.array([b]))
    across = [r for r in np.intersect1d(at_a, at_b) if r != row]
    if len(across) != 1:
        return False
    opposite = int(np.setdiff1d(faces[across[0]], [a, b])[0])
    if opposite == cap or (faces[_around(faces, np.array([cap]))] == opposite).any():
        return False  # the new edge is there already
    both = [row, across[0]]
    turned = np.array([[a, opposite, cap], [opposite, b, cap]])
    if _heights(vertices[turned]).min() <= _heights(vertices[faces[both]]).min():
        return False
    faces[both] = turned
    return True


def _around(faces: Faces, corners: Faces) -> Faces:
    """Rows of the triangles at any of these corners."""
    return np.flatnonzero(np.isin(faces, corners).any(axis=1))
