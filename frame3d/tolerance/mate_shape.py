"""What a displaced tool or a mate offers to thousands of set-ups at once.

All of it stands in the end's own frame: x along the datum, y along the side direction, z along the
tube's axis outward, from the axis's end point. A line of the tube is an (x, y) and runs along z.
"""

from dataclasses import dataclass
from typing import Protocol

import numpy as np

from frame3d.surfaces.surface import Array

BLAS_ALONE = 2**18  # multiplications that OpenBLAS, by its interface/gemm.c, leaves to one core


def product(left: Array, right: Array) -> Array:
    """left (N, M) @ right (M, G), in blocks so small that BLAS starts no threads for them: the
    cores share the set-ups already, and threads of its own would only wait for each other."""
    rows = max(1, BLAS_ALONE // right.size)
    if len(left) <= rows:
        return np.asarray(left @ right)
    made = np.empty((len(left), right.shape[1]))
    for at in range(0, len(left), rows):
        np.matmul(left[at : at + rows], right, out=made[at : at + rows])
    return made


@dataclass(frozen=True, eq=False)
class Lines:
    """G lines of a tube. basis: (5, G): x, y, 1, cos theta, sin theta; the last two let the tube's
    radius grow. stop: (G,), mm, where the nominal end stops."""

    basis: Array
    stop: Array

    def at(self, z: Array, grown: float) -> Array:
        """Points (G, 3) at z (G,), mm, of the tube grown by `grown` in radius, mm."""
        x, y = self.basis[:2] + grown * self.basis[3:]
        return np.stack([x, y, z], axis=1)


@dataclass(frozen=True, eq=False)
class Motion:
    """N displacements: turned by `turn` (N, 3), radians, about `pivot` (3,), then moved by `shift`
    (N, 3), mm.

    The end's frame is left-handed at a tube's start; turns are told in it all the same, by the
    same formula in its own coordinates.
    """

    turn: Array
    shift: Array
    pivot: Array


class Shape(Protocol):
    """A surface near one end. point, axis: (3,) of its own axis, next to the end; radius: mm,
    there, half the od of a section that is not round."""

    @property
    def point(self) -> Array: ...

    @property
    def axis(self) -> Array: ...

    @property
    def radius(self) -> float: ...

    def entry(
        self,
        lines: Lines,
        tube: Array,
        growth: Array,
        motion: Motion | None = None,
        misses: float = 0.0,
    ) -> Array:
        """Where each line, of the tube grown by `tube` (N,), first enters the surface, grown by
        `growth` (N,) and displaced: (N, G), mm. A line that misses it stops where it comes nearest
        - the fin that a saw leaves beside itself is broken off there - unless `misses` says what
        it gets."""
        ...

    def away(self, lines: Lines, tube: Array, z: Array, growth: Array) -> Array:
        """Signed distance (N, G), mm, of the lines' points at z (N, G)."""
        ...

    def steepest(self, lines: Lines, points: Array) -> tuple[Array, Array]:
        """Signed distance (G,), mm, of points (G, 3) near the lines' ends, and the direction of
        its growth (G, 3)."""
        ...

    def distance(self, points: Array, growth: float, motion: Motion) -> Array:
        """Signed distance (P,), mm, of any points (P, 3) to the surface in a single displacement,
        exact."""
        ...
