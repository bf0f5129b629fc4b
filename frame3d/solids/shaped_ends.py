"""Ends other than a cope: slotted, plugged, domed, pinched flat."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from manifold3d import Manifold

from frame3d.model import Dome, End, EndShape, Pinch, Plug, Slot, Tube, end_frame
from frame3d.solids.cutting_axes import bench_axes
from frame3d.solids.facets import facets
from frame3d.solids.pinch import pinched_end
from frame3d.solids.raw_tube import Extent, flats_of, in_world, raw_tube, sections, skin
from frame3d.solids.rings import Array, Tip, prism, solid, stack
from frame3d.solids.simplify import tidied

SPARE_MM = 1.0


@dataclass(frozen=True, eq=False)
class _Cap:
    """How one end is closed. skins: how far outside and bore go as the tube does, distances along
    the axis from its start, mm; rings: (K, N, 3) of each beyond that, outward; tips: what closes
    them."""

    skins: tuple[float, float]
    rings: tuple[Array, Array]
    tips: tuple[Tip | None, Tip | None] = (None, None)


def shaped_tube(tube: Tube, shapes: Sequence[EndShape], extent: Extent, chord: float) -> Manifold:
    """The raw tube, its bore closed where an end is plugged, domed or pinched.

    An end is closed by rings that go on past its last round one: the outside's over the cap, the
    bore's under it. With one end closed the tube is a single skin: along the outside from the
    closed end to the open one, and back along the bore.
    """
    caps = {s.end: _cap(tube, s, chord) for s in shapes if not isinstance(s, Slot)}
    if not caps:
        return raw_tube(tube, extent, chord)
    outer, bore = (_rings(tube, extent, caps, chord, side) for side in (0, 1))
    if len(caps) == 2:
        first, last = caps["start"].tips, caps["end"].tips
        bench, home = bench_axes(end_frame(tube, "start"))  # where the kernel is fastest
        full, hollow = (stack(r, first[k], last[k]) for k, r in enumerate((outer, bore)))
        return (full.transform(bench) - hollow.transform(bench)).transform(home)
    ((end, cap),) = caps.items()
    if end == "start":
        return stack(np.concatenate([outer, bore[::-1]]), *cap.tips)
    return stack(np.concatenate([bore[::-1], outer]), *cap.tips[::-1])


def _cap(tube: Tube, shape: Plug | Dome | Pinch, chord: float) -> _Cap:
    inward = 1.0 if shape.end == "start" else -1.0
    square = 0.0 if shape.end == "start" else tube.length
    flats = flats_of(tube, chord)
    if isinstance(shape, Dome):
        outer, bore = (_dome(tube, shape, square, -inward, depth, chord) for depth in (1.0, 0.0))
        return _Cap((square, square), (outer, bore))
    if isinstance(shape, Plug):
        none = np.zeros((0, flats or facets(tube.widest, chord), 3))
        bottom = square + inward * shape.thickness * _circle_share(flats)
        return _Cap((square, bottom), (none, none))
    pinched = pinched_end(tube, shape, square, inward, chord)
    begin = square + inward * (shape.length + shape.transition)
    return _Cap((begin, begin), (pinched.outer, pinched.bore), (None, pinched.seam))


def _circle_share(flats: int | None) -> float:
    """A circle's area over that of its polygon: what a plug must be thicker to hold its volume."""
    return 1.0 if flats is None else 1.0 / float(np.sinc(2 / flats))


def _rings(tube: Tube, extent: Extent, caps: Mapping[End, _Cap], chord: float, side: int) -> Array:
    """Rings (K, N, 3) of the outside (side 0) or the bore (1) with those of the caps, from start to
    end."""
    start = caps["start"].skins[side] if "start" in caps else extent.start
    end = caps["end"].skins[side] if "end" in caps else extent.end
    rings = skin(tube, Extent(start, end), chord, 1.0 - side, flats_of(tube, chord))
    before = [caps["start"].rings[side][::-1]] if "start" in caps else []
    after = [caps["end"].rings[side]] if "end" in caps else []
    return np.concatenate([*before, rings, *after])


def height_of(shapes: Iterable[EndShape], end: End) -> float:
    """How far an end's cap goes past the axis's end point, mm."""
    return sum(s.height for s in shapes if isinstance(s, Dome) and s.end == end)


def _dome(
    tube: Tube, dome: Dome, square: float, outward: float, depth: float, chord: float
) -> Array:
    """Rings (K, N, 3) from the end over the cap, the last one all but in its top."""
    largest = max(tube.widest, dome.height)
    steps = int(np.ceil(np.pi / (4 * np.arccos(1 - chord / largest)))) + 1
    # The last ring is so small that the flat on it costs less than a micrometre of height.
    turn = np.append(np.linspace(0.0, np.pi / 2, steps + 1)[:-1], np.pi / 2 - 3e-3)
    height = dome.height - (1.0 - depth) * float(tube.wall(square))
    count, flats = facets(tube.widest, chord), flats_of(tube, chord)
    section = sections(tube, np.array([square]), depth, count, flats)
    stations = square + outward * height * np.sin(turn)[1:]
    return in_world(tube, stations, _dome_radii(turn)[1:, None, None] * section)


def _dome_radii(turn: Array) -> Array:
    """Radii (K,) of rings at these angles over half a ball of radius 1, the first on its base.

    Straight lines from ring to ring would lose some of its volume, 2/3 of pi r^2 h; all rings but
    the base's are a little wider for it: k times cos(turn), k from the sum of the frustums.
    """
    rise, radius = np.diff(np.sin(turn)), np.cos(turn)

    def volume(k: float) -> float:
        a = np.append(radius[:1], k * radius[1:])
        return float(rise @ (a[:-1] ** 2 + a[:-1] * a[1:] + a[1:] ** 2)) / 3

    fit = np.polyfit([0.99, 1.0, 1.01], [volume(k) - 2 / 3 for k in (0.99, 1.0, 1.01)], 2)
    k = float(max(np.roots(fit).real))
    return np.asarray(np.append(radius[:1], k * radius[1:]))


def slotted(body: Manifold, tube: Tube, slots: Iterable[Slot]) -> Manifold:
    """`body` less its slots."""
    tools = [_slot_tool(tube, slot) for slot in slots]
    if not tools:
        return body
    for tool in tools:
        body = body - tool
    mesh = body.to_mesh64()
    return solid(
        *tidied(np.array(mesh.vert_properties[:, :3]), np.array(mesh.tri_verts, np.uint64))
    )


def _slot_tool(tube: Tube, slot: Slot) -> Manifold:
    """All between the slot's sides, from its bottom past the end; of a slot through one wall that
    side of the axis alone."""
    frame = end_frame(tube, slot.end)
    normal = np.asarray(slot.normal)
    along = frame.out - (frame.out @ normal) * normal
    along /= np.linalg.norm(along)
    side = np.cross(normal, along)
    reach = 2 * (slot.depth + 2 * tube.widest + SPARE_MM)
    middle = frame.origin - ((frame.origin - slot.point) @ normal) * normal
    corner = middle - slot.width / 2 * normal - reach * side - reach * along
    base = corner + 2 * reach * np.array([0 * side, along, along + side, side])
    bottom = float(frame.out @ frame.origin) - slot.depth
    tool = prism(base, slot.width * normal).trim_by_plane(tuple(frame.out), bottom)
    if slot.wall is None:
        return tool
    return tool.trim_by_plane(slot.wall, float(np.dot(slot.wall, frame.origin)))
