"""Where the middle of a solid's volume stands."""

import numpy as np
from manifold3d import Manifold

from frame3d.solids.rings import Array


def centroid(body: Manifold) -> Array:
    """Centroid (3,) of a solid, mm; nan for an empty one.

    The sum of the signed tetrahedra from a point to each triangle: exact for the mesh. The point is
    the middle of the solid's box, so that nothing is lost to the distance from the origin.
    """
    mesh = body.to_mesh64()
    vertices = np.asarray(mesh.vert_properties)[:, :3]
    if len(vertices) == 0:
        return np.full(3, np.nan)
    middle = (vertices.min(axis=0) + vertices.max(axis=0)) / 2
    corners = (vertices - middle)[np.asarray(mesh.tri_verts)]
    volume = np.linalg.det(corners) / 6
    return np.asarray(middle + volume @ corners.sum(axis=1) / (4 * volume.sum()))
