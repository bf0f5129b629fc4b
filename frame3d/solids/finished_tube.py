"""The finished tube: raw tube less its copes, with the coped edges on the exact surfaces."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from manifold3d import Manifold

from frame3d.model import ENDS, End, EndShape, Pinch, Tube
from frame3d.solids.cutting_axes import bench_axes
from frame3d.solids.facets import CHORD_MM
from frame3d.solids.pinch import half_width
from frame3d.solids.raw_tube import Extent, affordable
from frame3d.solids.rings import Array, solid
from frame3d.solids.shaped_ends import height_of, shaped_tube
from frame3d.solids.simplify import tidied
from frame3d.solids.tools import Reach, tool_solid
from frame3d.surfaces.cope import Cope

SPARE_MM = 1.0  # raw tube beyond the longest tip
NEAR_MM = 0.5  # flats stand that near the exact cope, even where a line grazes its tool


@dataclass(frozen=True, eq=False)
class FinishedTube:
    """solid: in world coordinates, mm. extent, widest: all of it stands between these distances
    along the axis, and within this one from it. dropped: volume of each loose piece cut off, mm3.
    """

    tube: Tube
    solid: Manifold
    extent: Extent
    widest: float
    dropped: tuple[float, ...] = ()

    @property
    def name(self) -> str:
        return self.tube.name

    @property
    def material(self) -> str:
        return self.tube.material

    @property
    def volume(self) -> float:
        """Volume of the metal, mm3."""
        return float(self.solid.volume())


def finished_tube(
    tube: Tube,
    copes: dict[End, Cope],
    chord: float = CHORD_MM,
    shapes: Sequence[EndShape] = (),
) -> FinishedTube:
    """Cut the ends of `tube` that have a cope, and shape those that have a shape of their own; the
    others stay square at the axis's end points."""
    extent = raw_extent(tube, copes)
    chord = affordable(tube, extent, chord)
    raw = shaped_tube(tube, shapes, extent, chord)
    over_start, over_end = (height_of(shapes, end) for end in ENDS)
    extent = Extent(extent.start - over_start, extent.end + over_end)
    flat = max((half_width(tube, s) for s in shapes if isinstance(s, Pinch)), default=0.0)
    widest = max(tube.widest, flat)
    if not copes:
        return FinishedTube(tube, raw, extent, widest)
    body = raw.as_original()
    tools: dict[int, Cope] = {}
    for cope in copes.values():
        reach = _reach(cope, extent)
        bench, home = bench_axes(cope.frame, cope.theta[0])
        body = body.transform(bench)
        for surface, met in zip(cope.entered, cope.met, strict=True):
            if not met:  # behind the middle its shadow would take the whole tube
                continue
            tool = tool_solid(surface, reach, chord)
            tool = tool.translate(tuple(cope.seat * cope.frame.out)).transform(bench).as_original()
            tools[tool.original_id()] = cope
            body = body - tool
        body = body.transform(home)
    pieces = body.simplify(chord / 100).decompose()
    if not pieces:  # cut away altogether; the fit says so
        return FinishedTube(tube, body, extent, widest)
    body, dropped = _piece_with_middle(pieces, tube)
    return FinishedTube(tube, _on_exact_surfaces(body, tools), extent, widest, dropped)


def raw_extent(tube: Tube, copes: dict[End, Cope]) -> Extent:
    """The shortest raw tube that holds every tip."""

    def beyond(end: End) -> float:
        cope = copes.get(end)
        if cope is None:
            return 0.0
        stop = cope.face_stop
        stop = stop[np.isfinite(stop)]
        return float(stop.max()) + SPARE_MM if len(stop) else 0.0

    return Extent(-beyond("start"), tube.length + beyond("end"))


def _reach(cope: Cope, extent: Extent) -> Reach:
    """A ball about all of the raw tube that the tools have to take: from the throat outward."""
    stop = cope.face_stop
    throat = float(stop.min(initial=cope.frame.run, where=np.isfinite(stop)))
    tip = extent.end - cope.tube.length if cope.end == "end" else -extent.start
    around = cope.frame.origin + (throat + tip) / 2 * cope.frame.out
    radius = abs(tip - throat) / 2 + cope.tube.widest + SPARE_MM
    inner = cope.tube.narrowest - cope.tube.wall.greatest
    return Reach(around, radius, cope.frame, inner, cope.tube.widest)


def _piece_with_middle(pieces: list[Manifold], tube: Tube) -> tuple[Manifold, tuple[float, ...]]:
    """The piece that holds the middle of the tube, and the volumes of the others."""
    middle = tube.centreline.at(tube.length / 2)[0][0]

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
    stops = cope.positions_across(relative @ np.stack([frame.datum, frame.side]).T)
    moves = stops - relative @ frame.out
    move = moves[np.abs(moves).argmin(axis=0), np.arange(len(points))]
    # Beside a tool that is narrower than the tube a line just misses it, and stops only at the next
    # one: points of the flank between the two are where they belong.
    return points + np.where(np.abs(move) < NEAR_MM, move, 0.0)[:, None] * frame.out
