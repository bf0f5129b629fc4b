"""Plain shapes for parts that are only shown: wheels and rods."""

import numpy as np
from numpy.typing import NDArray

from frame3d.cache import cached
from frame3d.mesh.normals import Shaded, shaded
from frame3d.model import Frame, Part
from frame3d.solids.finished_plate import FinishedPlate
from frame3d.tables import row
from frame3d.view.scene import Body

Array = NDArray[np.float64]

TYRE, RIM, ROD = "#3a3f44", "#b9c0c6", "#6b747c"
AROUND, ACROSS = 96, 20
SPOKES = 28
RIM_DEEP_MM, RIM_WIDE_MM, HUB_MM, SPOKE_MM = 14.0, 18.0, 30.0, 2.0


def ghosts_of(parts: tuple[Part, ...]) -> tuple[Body, ...]:
    """What is drawn of the job's parts."""
    return tuple(body for part in parts for body in _ghost(part))


@cached
def _ghost(part: Part) -> tuple[Body, ...]:
    if part.kind == "wheel":
        return _wheel(part)
    rod = lathe(np.array(part.centre), np.array(part.end), [part.width / 2] * 2)
    return (Body(part.name, rod, ROD),)


def plate_body(frame: Frame, plate: FinishedPlate) -> Body:
    """A plate of the frame, as it is drawn."""
    mesh = plate.solid.to_mesh64()
    drawn = shaded(np.array(mesh.vert_properties[:, :3]), np.array(mesh.tri_verts, np.int64))
    plain = row("materials", plate.material)["colour"]
    return Body(plate.name, drawn, frame.show.colour(plate.name, plain))


def _wheel(part: Part) -> tuple[Body, ...]:
    """Tyre, rim, hub and spokes; the axle lies across the frame."""
    centre, tyre = np.array(part.centre), part.width / 2
    seat = part.radius - part.width  # the rim begins where the tyre ends
    rim = np.array([[0, 1], [1, 0], [0, -1], [-1, 0]]) * [RIM_DEEP_MM / 2, RIM_WIDE_MM / 2]
    turn = np.linspace(0.0, 2 * np.pi, ACROSS, endpoint=False)
    round_section = tyre * np.stack([np.cos(turn), np.sin(turn)], axis=1)
    across = np.array([0.0, HUB_MM, 0.0])
    hub = lathe(centre - across, centre + across, [11.0, 11.0])
    spokes = []
    for k, angle in enumerate(np.arange(SPOKES) * 2 * np.pi / SPOKES):
        outward = np.array([np.cos(angle), 0.0, np.sin(angle)])
        side = across * (0.8 if k % 2 else -0.8)
        foot, head = centre + side + 11 * outward, centre + (seat - RIM_DEEP_MM / 2) * outward
        spokes.append(lathe(foot, head, [SPOKE_MM / 2] * 2, around=6))
    return (
        Body(part.name, ring(centre, part.radius - tyre, round_section), TYRE),
        Body(f"{part.name}, rim", ring(centre, seat - RIM_DEEP_MM / 2, rim), RIM),
        Body(f"{part.name}, hub", joined([hub, *spokes]), RIM),
    )


def ring(centre: Array, radius: float, section: Array) -> Shaded:
    """A closed section (S, 2), out from the ring and along y, mm, turned about y at `radius`."""
    angle = np.arange(AROUND) * (2 * np.pi / AROUND)
    outward = np.stack([np.cos(angle), np.zeros(AROUND), np.sin(angle)], axis=1)
    up = np.array([0.0, 1.0, 0.0])
    out = section / np.linalg.norm(section, axis=1, keepdims=True)
    normals = out[None, :, :1] * outward[:, None] + out[None, :, 1:] * up
    reach = radius + section[None, :, :1]
    points = centre + reach * outward[:, None] + section[None, :, 1:] * up
    return _grid(points, normals, closed=True)


def lathe(start: Array, end: Array, radii: list[float], around: int = 32) -> Shaded:
    """A round rod, open at both ends, with equally spaced radii along it, mm."""
    axis = (end - start) / np.linalg.norm(end - start)
    first = np.cross(axis, np.eye(3)[np.abs(axis).argmin()])
    first /= np.linalg.norm(first)
    angle = np.arange(around) * (2 * np.pi / around)
    outward = np.outer(np.cos(angle), first) + np.outer(np.sin(angle), np.cross(axis, first))
    share = np.linspace(0.0, 1.0, len(radii))[:, None, None]
    points = start + share * (end - start) + np.array(radii)[:, None, None] * outward
    return _grid(points, np.broadcast_to(outward, points.shape), closed=False)


def joined(meshes: list[Shaded]) -> Shaded:
    """Several meshes as one."""
    starts = np.cumsum([0, *(len(mesh.vertices) for mesh in meshes)])
    return Shaded(
        np.concatenate([mesh.vertices for mesh in meshes]),
        np.concatenate([mesh.normals for mesh in meshes]),
        np.concatenate([m.triangles + s for m, s in zip(meshes, starts[:-1], strict=True)]),
    )


def _grid(points: Array, normals: Array, *, closed: bool) -> Shaded:
    """A mesh from rings of points (K, N, 3); the last ring joins the first, or not."""
    rings, count = points.shape[:2]
    here = np.arange(rings if closed else rings - 1)[:, None] * count
    above = (here + count) % (rings * count)
    at, beside = np.arange(count), (np.arange(count) + 1) % count
    a, b, c, d = here + at, here + beside, above + beside, above + at
    corners = np.concatenate(
        [np.stack([a, b, c], -1).reshape(-1, 3), np.stack([a, c, d], -1).reshape(-1, 3)]
    )
    flat, out = points.reshape(-1, 3), np.asarray(normals).reshape(-1, 3)
    first = flat[corners]
    facing = np.cross(first[:, 1] - first[:, 0], first[:, 2] - first[:, 0])
    wrong = (facing * out[corners].sum(axis=1)).sum(axis=1) < 0
    corners[wrong] = corners[wrong][:, ::-1]
    return Shaded(flat, out, corners)
