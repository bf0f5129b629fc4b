"""Ends other than a cope: slotted, plugged, domed, pinched flat."""

from collections.abc import Iterable, Sequence

import numpy as np
from manifold3d import Manifold

from frame3d.model import Dome, End, EndShape, Pinch, Plug, Slot, Tube, end_frame
from frame3d.model.section import lateral, theta_at
from frame3d.solids.bench import bench_axes
from frame3d.solids.facets import facets
from frame3d.solids.raw import Extent, raw_tube, skin
from frame3d.solids.rings import Array, prism, solid, stack
from frame3d.solids.tidy import tidied

SPARE_MM = 1.0
PINCH_STEPS = 8  # rings from round to flat


def shaped_tube(tube: Tube, shapes: Sequence[EndShape], extent: Extent, chord: float) -> Manifold:
    """The raw tube, its bore closed where an end is plugged, domed or pinched.

    An end is closed by rings that go on past its last round one: the outside's over the cap, the
    bore's under it. The bore of an open end goes on past the metal, so that no faces coincide.
    """
    closing = {shape.end: shape for shape in shapes if not isinstance(shape, Slot)}
    if not closing:
        return raw_tube(tube, extent, chord)
    round_to = {"start": extent.start, "end": extent.end}
    bore_to = {"start": extent.start - SPARE_MM, "end": extent.end + SPARE_MM}
    caps: dict[float, dict[str, Array]] = {1.0: {}, 0.0: {}}
    for end, shape in closing.items():
        inward = 1.0 if end == "start" else -1.0
        square = 0.0 if end == "start" else tube.length
        round_to[end] = bore_to[end] = square
        if isinstance(shape, Plug):
            bore_to[end] = square + inward * shape.thickness
        elif isinstance(shape, Dome):
            for depth, ring in caps.items():
                ring[end] = _dome(tube, shape, square, -inward, depth, chord)
        else:
            bore_to[end] = round_to[end] = square + inward * (shape.length + shape.transition)
            for depth, ring in caps.items():
                ring[end] = _pinched(tube, shape, square, inward, depth, chord)
    outer = _closed(tube, Extent(round_to["start"], round_to["end"]), 1.0, caps[1.0], chord)
    bore = _closed(tube, Extent(bore_to["start"], bore_to["end"]), 0.0, caps[0.0], chord)
    bench, home = bench_axes(end_frame(tube, "start"))  # where the kernel is fastest
    return (outer.transform(bench) - bore.transform(bench)).transform(home)


def height_of(shapes: Iterable[EndShape], end: End) -> float:
    """How far an end's cap goes past the axis's end point, mm."""
    return sum(s.height for s in shapes if isinstance(s, Dome) and s.end == end)


def _closed(
    tube: Tube, extent: Extent, depth: float, caps: dict[str, Array], chord: float
) -> Manifold:
    """The full solid within one skin of the tube, with its caps' rings (K, N, 3) at the ends."""
    rings = skin(tube, extent, chord, depth)
    before = [caps["start"][::-1]] if "start" in caps else []
    after = [caps["end"]] if "end" in caps else []
    return stack(np.concatenate([*before, rings, *after]))


def _sections(tube: Tube, stations: Array, chord: float, depth: float) -> Array:
    """Offsets (K, N, 2) from the axis along datum and side, of the skin at a depth of the wall."""
    count = facets(tube.widest, chord)
    eccentric = np.arange(count) * (2 * np.pi / count)
    at, around = np.meshgrid(stations, eccentric, indexing="ij")
    return lateral(tube, at, theta_at(tube, at, around), depth)


def _world(tube: Tube, stations: Array, sections: Array) -> Array:
    points, tangents, datums = tube.centreline.at(stations)
    across = np.stack([datums, np.cross(tangents, datums)], axis=1)
    return np.asarray(points[:, None] + sections @ across)


def _dome(
    tube: Tube, dome: Dome, square: float, outward: float, depth: float, chord: float
) -> Array:
    """Rings (K, N, 3) from the end over the cap, the last one all but in its top."""
    largest = max(tube.widest, dome.height)
    steps = int(np.ceil(np.pi / (4 * np.arccos(1 - chord / largest)))) + 1
    # The last ring is so small that the flat on it costs less than a micrometre of height.
    turn = np.append(np.linspace(0.0, np.pi / 2, steps + 1)[:-1], np.pi / 2 - 3e-3)
    height = dome.height - (1.0 - depth) * float(tube.wall(square))
    section = _sections(tube, np.array([square]), chord, depth)
    stations = square + outward * height * np.sin(turn)[1:]
    return _world(tube, stations, _dome_radii(turn)[1:, None, None] * section)


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


def _pinched(
    tube: Tube, pinch: Pinch, square: float, inward: float, depth: float, chord: float
) -> Array:
    """Rings (K, N, 3) from round to flat and on to the end.

    The flat keeps the wall's section area: its middle line is as long as the round tube's. What the
    metal does in between is the die's affair; here each point goes straight from round to flat.
    """
    flat = _flat_section(tube, pinch, square, chord, depth)
    share = np.linspace(0.0, 1.0, PINCH_STEPS + 1)[1:]
    from_end = pinch.length + pinch.transition * (1.0 - share)
    stations = square + inward * from_end
    rings = _sections(tube, stations, chord, depth)
    rings = (1.0 - share)[:, None, None] * rings + share[:, None, None] * flat
    if depth > 0:  # the bore ends where the flat begins
        stations = np.append(stations, square)
        rings = np.concatenate([rings, flat[None]])
    return _world(tube, stations, rings)


def _flat_section(tube: Tube, pinch: Pinch, square: float, chord: float, depth: float) -> Array:
    """Offsets (N, 2) of the flat's outside (depth 1) or of its shut bore (0), as many as a ring's.

    Two straights of length f and two half circles of the wall's radius: with the middle line's
    length pi (od - wall) = 2 f + pi wall, f is pi (od - 2 wall) / 2.
    """
    od, wall = float(tube.od(square)), float(tube.wall(square))
    straight = np.pi * (od - 2 * wall) / 2
    count = facets(tube.widest, chord)
    turn = np.radians(pinch.angle)
    # A ring's first point is on the datum. Quarters are counted from the flat's width.
    theta = np.arange(count) * (2 * np.pi / count) - turn
    along = (theta / (2 * np.pi)) % 1.0 * (2 * straight + 2 * np.pi * wall)
    x, y = _stadium(along, straight, wall, wall * depth)
    cos, sin = np.cos(turn), np.sin(turn)
    return np.stack([x * cos - y * sin, x * sin + y * cos], axis=-1)


def _stadium(along: Array, straight: float, wall: float, radius: float) -> tuple[Array, Array]:
    """x and y at distances (N,) around the flat's outside, from the middle of its +x end; drawn in
    to `radius` from its middle straight."""
    arc = np.pi * wall / 2  # a quarter circle
    legs = np.cumsum([arc, straight, 2 * arc, straight])
    rising = np.clip(along, 0.0, legs[0]) / wall
    top = np.clip(along - legs[0], 0.0, straight)
    left = np.clip(along - legs[1], 0.0, 2 * arc) / wall
    bottom = np.clip(along - legs[2], 0.0, straight)
    last = np.clip(along - legs[3], 0.0, arc) / wall
    angle = rising + left + last
    x = straight / 2 - top + bottom + radius * np.cos(angle)
    return x, radius * np.sin(angle)


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
    """All between the slot's sides, from its bottom past the end."""
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
    return prism(base, slot.width * normal).trim_by_plane(tuple(frame.out), bottom)
