"""A tube before its ends are coped: outside and bore with their real wall."""

from dataclasses import dataclass

import numpy as np
from manifold3d import Manifold

from frame3d.model import Tube, datum, direction
from frame3d.model.section import lateral
from frame3d.solids.facets import facets
from frame3d.solids.rings import Array, hollow


@dataclass(frozen=True)
class Extent:
    """Where a raw tube is sawn off square: distances from the axis's start, mm."""

    start: float
    end: float


def raw_tube(tube: Tube, extent: Extent, chord: float) -> Manifold:
    """The hollow tube between two square ends, in world coordinates."""
    axis = direction(tube)
    up = datum(axis)
    count = facets(tube.od.greatest / 2, chord)
    stations = _stations(tube, extent)
    theta = np.arange(count) * (2 * np.pi / count)
    grid_station, grid_theta = np.meshgrid(stations, theta, indexing="ij")

    def rings(depth: float) -> Array:
        across = lateral(tube, grid_station, grid_theta, depth)
        along = grid_station[..., None] * axis
        return np.asarray(tube.start + along + across @ np.stack([up, np.cross(axis, up)]))

    return hollow(rings(1.0), rings(0.0))


def _stations(tube: Tube, extent: Extent) -> Array:
    """Both ends, and every station between them at which the outside or the wall changes."""
    changes = [at for p in (tube.od, tube.wall) if not p.is_constant for at in p.at]
    inner = sorted({at for at in changes if extent.start < at < extent.end})
    return np.array([extent.start, *inner, extent.end])
