"""Closed meshes from rings of points, and manifold3d solids from them."""

import numpy as np
from manifold3d import Manifold, Mesh64
from numpy.typing import NDArray

Array = NDArray[np.float64]
Triangles = NDArray[np.uint64]


def solid(vertices: Array, triangles: Triangles) -> Manifold:
    """A solid from vertices (V, 3), mm, and outward triangles (T, 3).

    Raises ValueError where they do not close.
    """
    made = Manifold(Mesh64(np.ascontiguousarray(vertices), np.ascontiguousarray(triangles)))
    if made.is_empty():
        raise ValueError(f"the mesh is not a closed solid: {made.status()}")
    return made


def arrays(body: Manifold) -> tuple[Array, Triangles]:
    """Vertices (V, 3), mm, and outward triangles (T, 3) of a solid, as copies of their own."""
    mesh = body.to_mesh64()
    return np.array(mesh.vert_properties[:, :3]), np.array(mesh.tri_verts, np.uint64)


def hollow(outer: Array, bore: Array) -> Manifold:
    """A pipe between two grids of rings (K, N, 3), square ends; rings turn right-handed about the
    direction in which they follow each other."""
    return ring_loop(np.concatenate([outer, bore[::-1]]))


def ring_loop(rings: Array) -> Manifold:
    """What lies within a loop of rings (K, N, 3), the last joined to the first: up the outside,
    down the inside, and round again."""
    return solid(rings.reshape(-1, 3), _bands(len(rings), rings.shape[1], closed=True))


def stack(rings: Array) -> Manifold:
    """The full solid within a grid of rings (K, N, 3), each flat and star-shaped about its mean;
    rings turn right-handed about the direction in which they follow each other."""
    count, last = rings.shape[1], len(rings) * rings.shape[1]
    centres = rings[[0, -1]].mean(axis=1)
    here = np.arange(count)
    beside = (here + 1) % count
    floor = np.stack([np.full(count, last), beside, here], axis=1)
    roof = np.stack([np.full(count, last + 1), here, beside], axis=1)
    roof[:, 1:] += last - count
    sides = _bands(len(rings), count, closed=False)
    triangles = np.concatenate([sides, floor.astype(np.uint64), roof.astype(np.uint64)])
    return solid(np.concatenate([rings.reshape(-1, 3), centres]), triangles)


def prism(polygon: Array, height: Array) -> Manifold:
    """A convex polygon (N, 3), right-handed about the vector `height` (3,), swept along it."""
    count = len(polygon)
    fan = np.arange(1, count - 1, dtype=np.uint64)
    floor = np.stack([np.zeros_like(fan), fan + 1, fan], axis=1)
    roof = np.stack([np.zeros_like(fan), fan, fan + 1], axis=1) + np.uint64(count)
    walls = _bands(2, count, closed=False)
    return solid(np.concatenate([polygon, polygon + height]), np.concatenate([floor, roof, walls]))


def _bands(rings: int, count: int, *, closed: bool) -> Triangles:
    """Triangles between successive rings of `count` points, the last joined to the first or not."""
    ring = np.arange(rings if closed else rings - 1)[:, None] * count
    above = (ring + count) % (rings * count)
    here = np.arange(count)
    beside = (here + 1) % count
    a, b, c, d = ring + here, ring + beside, above + beside, above + here
    first = np.stack([a, b, c], axis=-1).reshape(-1, 3)
    second = np.stack([a, c, d], axis=-1).reshape(-1, 3)
    return np.concatenate([first, second]).astype(np.uint64)
