"""Closed meshes from rings of points, and manifold3d solids from them."""

from dataclasses import dataclass

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


@dataclass(frozen=True, eq=False)
class Tip:
    """What closes a grid of rings beyond its first or last one: one point, or a few as an edge.

    points: (P, 3); of: (N,) which of them each point of the ring is joined to, in order around
    """

    points: Array
    of: NDArray[np.int64]

    @staticmethod
    def middle(ring: Array) -> "Tip":
        """The mean of a flat ring (N, 3) that is star-shaped about it."""
        return Tip(ring.mean(axis=0, keepdims=True), np.zeros(len(ring), np.int64))


def stack(rings: Array, first: Tip | None = None, last: Tip | None = None) -> Manifold:
    """The full solid within a grid of rings (K, N, 3), closed by two tips, left out the middles of
    the first and last ring; rings turn right-handed about the direction in which they follow each
    other."""
    first, last = first or Tip.middle(rings[0]), last or Tip.middle(rings[-1])
    count, made = rings.shape[1], rings.shape[0] * rings.shape[1]
    sides = _bands(len(rings), count, closed=False)
    floor = _fan(np.arange(count), made + first.of)[:, ::-1]
    roof = _fan(np.arange(count) + made - count, made + len(first.points) + last.of)
    triangles = np.concatenate([sides, floor.astype(np.uint64), roof.astype(np.uint64)])
    return solid(np.concatenate([rings.reshape(-1, 3), first.points, last.points]), triangles)


def _fan(ring: NDArray[np.int64], tip: NDArray[np.int64]) -> NDArray[np.int64]:
    """Triangles (T, 3) from a ring's points (N,) up to the points (N,) that close it."""
    beside, tip_beside = np.roll(ring, -1), np.roll(tip, -1)
    wide = tip != tip_beside
    return np.concatenate(
        [
            np.stack([ring, beside, tip_beside], axis=1),
            np.stack([ring, tip_beside, tip], axis=1)[wide],
        ]
    )


def prism(polygon: Array, height: Array) -> Manifold:
    """A convex polygon (N, 3), right-handed about the vector `height` (3,), swept along it."""
    return between(polygon, polygon + height)


def between(first: Array, second: Array) -> Manifold:
    """What lies between two convex polygons (N, 3), both right-handed about the way from the first
    to the second, with a flat for every pair of sides."""
    count = len(first)
    fan = np.arange(1, count - 1, dtype=np.uint64)
    floor = np.stack([np.zeros_like(fan), fan + 1, fan], axis=1)
    roof = np.stack([np.zeros_like(fan), fan, fan + 1], axis=1) + np.uint64(count)
    walls = _bands(2, count, closed=False)
    return solid(np.concatenate([first, second]), np.concatenate([floor, roof, walls]))


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
