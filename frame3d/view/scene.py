"""What is to be seen, as plain arrays: tubes, the gap at each joint, plain shapes for parts."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from frame3d.mesh.normals import Shaded, shaded
from frame3d.model import ENDS, End, Frame, Tube, direction, end_frame
from frame3d.model.tube_section import lateral
from frame3d.solids.finished_tube import FinishedTube
from frame3d.surfaces.cope import Cope
from frame3d.surfaces.outer import outer_surface
from frame3d.tables import row
from frame3d.view.colours import GapScale

Array = NDArray[np.float64]
Indices = NDArray[np.int64]

VIEW_CHORD_MM = 0.05  # facets for the eye; 2 degrees of a circle each
PULL_MM = 45.0  # exploded: each coped end is drawn back this far, or a fifth of its tube
COLLAR_MM = 5.0  # width of the gap's colour on the outside
PROUD_MM = 0.06  # the colour stands this far off the metal, so that the two do not flicker
COLLAR_EVERY, COLLAR_STEP = 3, 2  # every third angle and second ring of the exact end's grid


@dataclass(frozen=True, eq=False)
class Piece:
    """A tube as it is drawn. pull (V, 3): where each vertex goes in the exploded view, mm."""

    name: str
    mesh: Shaded
    pull: Array
    colour: str


@dataclass(frozen=True, eq=False)
class Collar:
    """The gap around a coped end as a coloured strip: over the end face and back along the outside.

    vertices (V, 3), mm, in rings of `around` each, the last on the outside; triangles (T, 3);
    gap (V,), mm; pull (3,): as for the tube, mm
    """

    tube: str
    end: End
    vertices: Array
    triangles: Indices
    gap: Array
    limit: float
    pull: Array
    around: int

    @property
    def rim(self) -> Array:
        """The strip's edge on the tube's outside (N, 3)."""
        return self.vertices[-self.around :]

    @property
    def centre(self) -> Array:
        return np.asarray(self.vertices.mean(axis=0))


@dataclass(frozen=True, eq=False)
class Body:
    """What is drawn beside the tubes: a plate of the frame, or a wheel that is only shown."""

    name: str
    mesh: Shaded
    colour: str


@dataclass(frozen=True)
class Dimension:
    """A measure between two points, world mm; aside (mm) moves its line away from them."""

    label: str
    value: str
    a: tuple[float, float, float]
    b: tuple[float, float, float]
    aside: tuple[float, float, float] = (0.0, 0.0, 0.0)

    @property
    def text(self) -> str:
        return f"{self.label} {self.value}".strip()

    @property
    def middle(self) -> Array:
        """Of its line (3,)."""
        return np.add(self.a, self.b) / 2 + self.aside


@dataclass(frozen=True)
class Node:
    """Where axes cross, or come nearest: the tubes, and the point on the first one's axis, mm."""

    label: str
    at: tuple[float, float, float]


@dataclass(frozen=True, eq=False)
class Scene:
    """Everything that a picture, a window or a page can show. ghosts: only shown, never built."""

    name: str
    pieces: tuple[Piece, ...]
    collars: tuple[Collar, ...]
    scale: GapScale
    ghosts: tuple[Body, ...] = ()
    dimensions: tuple[Dimension, ...] = ()
    nodes: tuple[Node, ...] = ()
    plates: tuple[Body, ...] = ()

    def bodies(self, ghosts: bool = True) -> tuple["Piece | Body", ...]:
        """All that is drawn, with or without what is only shown."""
        return (*self.pieces, *self.plates, *(self.ghosts if ghosts else ()))

    @property
    def box(self) -> Array:
        """(2, 3): least and greatest corner of the tubes, mm."""
        points = np.concatenate([piece.mesh.vertices for piece in self.pieces])
        return np.stack([points.min(axis=0), points.max(axis=0)])


def drawn(finished: FinishedTube) -> Shaded:
    """A finished tube's mesh with the normals of its exact outside."""
    mesh = finished.solid.to_mesh64()
    return shaded(
        np.array(mesh.vert_properties[:, :3]),
        np.array(mesh.tri_verts, np.int64),
        outer_surface(finished.tube).distance,
    )


def piece_of(frame: Frame, name: str, mesh: Shaded) -> Piece:
    """A tube of the frame, which is drawn as `mesh`."""
    tube = frame.tube(name)
    along = (mesh.vertices - tube.start) @ direction(tube)
    near = {"start": along < tube.length / 2, "end": along >= tube.length / 2}
    pull = np.zeros_like(mesh.vertices)
    for end in ENDS:
        if frame.joint_at(name, end):
            pull[near[end]] = pull_of(tube, end)
    plain = row("materials", tube.material)["colour"]
    return Piece(name, mesh, pull, frame.show.colour(name, plain))


def pull_of(tube: Tube, end: End) -> Array:
    """How far (3,) a coped end is drawn back in the exploded view, mm."""
    return np.asarray(-min(PULL_MM, tube.length / 5) * end_frame(tube, end).out)


def collar_of(cope: Cope, limit: float) -> Collar:
    """Rings from the bore's edge over the end face to the outside, then back along the tube."""
    grid = (len(cope.theta), len(cope.depth))
    theta = cope.theta[::COLLAR_EVERY]
    points = cope.face_points()
    gap = np.min([mate.distance(points) for mate in cope.mates], axis=0)
    face = (points + PROUD_MM * cope.frame.out).reshape(*grid, 3)[::COLLAR_EVERY, ::COLLAR_STEP]
    rings = list(face.transpose(1, 0, 2))
    gaps = list(gap.reshape(grid)[::COLLAR_EVERY, ::COLLAR_STEP].T)
    stop = cope.face_stop.reshape(grid)[::COLLAR_EVERY, -1]
    for back in (0.0, COLLAR_MM):
        rings.append(_outside(cope, theta, stop - back) + PROUD_MM * cope.frame.out)
        gaps.append(gaps[len(face[0]) - 1])
    vertices, gap = np.concatenate(rings), np.concatenate(gaps)
    triangles = _bands(len(rings), len(theta))
    whole = np.asarray(np.isfinite(vertices).all(axis=1))
    triangles = triangles[whole[triangles].all(axis=1)]
    vertices = np.where(whole[:, None], vertices, cope.frame.origin)
    gap = np.where(np.isfinite(gap), gap, 0.0)
    pull = pull_of(cope.tube, cope.end)
    return Collar(cope.tube.name, cope.end, vertices, triangles, gap, limit, pull, len(theta))


def _outside(cope: Cope, theta: Array, position: Array) -> Array:
    """Points (N, 3) a little off the outside, at positions (N,) outward from the axis's end."""
    position = np.where(np.isfinite(position), position, np.nan)
    station = cope.tube.length + position if cope.end == "end" else -position
    across = lateral(cope.tube, station, theta, 1.0)
    across *= 1.0 + PROUD_MM / np.linalg.norm(across, axis=1, keepdims=True)
    frame = cope.frame
    axes = np.stack([frame.datum, frame.side])
    return np.asarray(frame.origin + across @ axes + position[:, None] * frame.out)


def _bands(rings: int, count: int) -> Indices:
    """Triangles between successive rings of `count` points."""
    ring = np.arange(rings - 1)[:, None] * count
    here, beside = np.arange(count), (np.arange(count) + 1) % count
    a, b = ring + here, ring + beside
    c, d = b + count, a + count
    return np.concatenate(
        [np.stack([a, b, c], axis=-1).reshape(-1, 3), np.stack([a, c, d], axis=-1).reshape(-1, 3)]
    )
