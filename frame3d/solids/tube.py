"""The finished tube: raw tube less its copes, with the coped edges on the exact surfaces."""

from dataclasses import dataclass

import numpy as np
from manifold3d import Manifold

from frame3d.model import End, Tube
from frame3d.solids.facets import CHORD_MM
from frame3d.solids.raw import Extent, raw_tube
from frame3d.solids.rings import Array, solid
from frame3d.solids.tidy import tidied
from frame3d.solids.tools import Reach, tool_solid
from frame3d.surfaces.cope import Cope

SPARE_MM = 1.0  # raw tube beyond the longest tip


@dataclass(frozen=True, eq=False)
class FinishedTube:
    """solid: in world coordinates, mm. dropped: volume of each loose piece cut off, mm3."""

    tube: Tube
    solid: Manifold
    dropped: tuple[float, ...] = ()

    @property
    def volume(self) -> float:
        """Volume of the metal, mm3."""
        return float(self.solid.volume())


def finished_tube(tube: Tube, copes: dict[End, Cope], chord: float = CHORD_MM) -> FinishedTube:
    """Cut the ends of `tube` that have a cope; the others stay square at the axis's end points."""
    raw = raw_tube(tube, raw_extent(tube, copes), chord).as_original()
    if not copes:
        return FinishedTube(tube, raw)
    tools: dict[int, Cope] = {}
    body = raw
    for cope in copes.values():
        for surface in cope.tools:
            tool = tool_solid(surface, _reach(cope), chord)
            tool = tool.translate(tuple(cope.seat * cope.frame.out)).as_original()
            tools[tool.original_id()] = cope
            body = body - tool
    body, dropped = _piece_with_middle(body.simplify(chord / 100), tube)
    return FinishedTube(tube, _on_exact_surfaces(body, tools), dropped)


def raw_extent(tube: Tube, copes: dict[End, Cope]) -> Extent:
    """The shortest raw tube that holds every tip."""

    def beyond(end: End) -> float:
        cope = copes.get(end)
        if cope is None:
            return 0.0
        stop = cope.position(cope.theta, np.ones_like(cope.theta))
        stop = stop[np.isfinite(stop)]
        return float(stop.max()) + SPARE_MM if len(stop) else 0.0

    return Extent(-beyond("start"), tube.length + beyond("end"))


def _reach(cope: Cope) -> Reach:
    radius = max(cope.tube.od.value) / 2
    return Reach(cope.frame.origin, cope.frame.out, 4 * (cope.tube.length + radius))


def _piece_with_middle(body: Manifold, tube: Tube) -> tuple[Manifold, tuple[float, ...]]:
    """The piece that holds the middle of the tube, and the volumes of the others."""
    pieces = body.decompose()
    if len(pieces) == 1:
        return body, ()
    middle = np.add(tube.start, tube.end) / 2

    def away(piece: Manifold) -> float:
        box = np.reshape(piece.bounding_box(), (2, 3))
        return float(np.linalg.norm(np.maximum(box[0] - middle, middle - box[1]).clip(0)))

    kept = min(pieces, key=away)
    return kept, tuple(float(piece.volume()) for piece in pieces if piece is not kept)


def _on_exact_surfaces(body: Manifold, tools: dict[int, Cope]) -> Manifold:
    """Move every vertex that a tool made along the tube onto the exact cope.

    Square to the axis it stays on its flat, a fraction of a micrometre inside the wall: moved from
    there, it would pull the whole length of the flat along and spoil the volume.
    """
    mesh = body.to_mesh64()
    vertices = np.array(mesh.vert_properties[:, :3])
    triangles = np.array(mesh.tri_verts, np.uint64)
    owner = np.repeat(mesh.run_original_id, np.diff(mesh.run_index) // 3)
    for cope in set(tools.values()):
        ids = [original for original, shaped in tools.items() if shaped is cope]
        touched = np.unique(triangles[np.isin(owner, ids)])
        vertices[touched] = _on_cope(cope, vertices[touched])
    return solid(*tidied(vertices, triangles))


def _on_cope(cope: Cope, points: Array) -> Array:
    """Points (N, 3) of a coped end, moved along the tube onto the exact cope."""
    frame = cope.frame
    relative = points - frame.origin
    stop = cope.position_across(relative @ np.stack([frame.datum, frame.side]).T)
    move = np.where(np.isfinite(stop), stop - relative @ frame.out, 0.0)
    return points + move[:, None] * frame.out
