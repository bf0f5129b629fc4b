"""Points of a scan from a mesh or a point file."""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from frame3d.surfaces.surface import Array

if TYPE_CHECKING:
    from trimesh import Trimesh

Wanted = Callable[[Array], NDArray[np.bool_]]
MESHES = (".stl", ".ply", ".obj")
TEXTS = (".xyz", ".txt", ".csv", ".pts", ".asc")
LEAST_POINTS = 500
MOST_POINTS = 400_000  # the wall's end face is a hundredth of a thin tube's scan
MOST_ROUNDS = 16  # of drawing points of a part of a mesh


class ScanError(ValueError):
    """A scan that cannot be used, with the reason in words."""


@dataclass(frozen=True, eq=False)
class Scan:
    """A scan in its file's own unit and position.

    points: (N, 3), thinned to at most MOST_POINTS; every: (M, 3), all of them; mesh: whose surface
    they lie on, if there is one
    """

    points: Array
    every: Array
    mesh: "Trimesh | None" = None

    def part(self, wanted: Wanted) -> Array:
        """Points (N, 3) of a part alone, as dense as those of the whole, or denser."""
        if self.mesh is None:
            return _thinned(self.every[wanted(self.every)])
        found = [self.points[wanted(self.points)]]
        for seed in range(1, MOST_ROUNDS):
            if sum(map(len, found)) >= MOST_POINTS:
                break
            points = _on(self.mesh, seed)
            found.append(points[wanted(points)])
        return _thinned(np.concatenate(found))


def read_points(path: Path) -> Array:
    """Points (N, 3) in the file's own unit and position; thinned to at most MOST_POINTS.

    Raises ScanError.
    """
    return read_scan(path).points


def read_scan(path: Path) -> Scan:
    """Raises ScanError."""
    if path.is_dir():
        raise ScanError(f"{path}: is a folder, expected a scan: a file")
    if not path.is_file():
        raise ScanError(f"{path}: there is no such file, expected a scan")
    kind = path.suffix.lower()
    if kind not in MESHES + TEXTS:
        raise ScanError(
            f"{path}: found {kind or 'no'} ending, expected {', '.join(MESHES + TEXTS)}"
        )
    try:
        every, mesh = _of_mesh(path) if kind in MESHES else (_text_points(path), None)
    except ScanError:
        raise
    except Exception as error:  # readers of mesh files raise whatever they stumble upon
        raise ScanError(f"{path}: cannot be read as a scan: {error}") from None
    if kind in MESHES and not len(every):
        raise ScanError(
            f"{path}: is not a readable {kind[1:].upper()} file: empty, cut short or something else"
        )
    if not np.isfinite(every).all():
        raise ScanError(f"{path}: has numbers that are not finite, expected points x y z")
    if len(every) < LEAST_POINTS:
        raise ScanError(f"{path}: has {len(every)} points, expected {LEAST_POINTS} or more")
    return Scan(_thinned(every), every, mesh)


def _thinned(points: Array) -> Array:
    if len(points) <= MOST_POINTS:
        return points
    return np.random.default_rng(0).permutation(points)[:MOST_POINTS]


def _of_mesh(path: Path) -> "tuple[Array, Trimesh | None]":
    """Its points, and the mesh if it has faces."""
    import trimesh

    loaded = trimesh.load(path, process=False)
    if isinstance(loaded, trimesh.Scene):
        loaded = loaded.to_geometry()
    points = np.asarray(loaded.vertices, float).reshape(-1, 3)
    faces = getattr(loaded, "faces", None)
    if faces is not None and len(faces):
        # A mesh of long triangles has its shape between its vertices, which may crowd at edges.
        return _on(loaded, 0), loaded
    return points, None


def _on(mesh: "Trimesh", seed: int) -> Array:
    """MOST_POINTS points on the faces of a mesh."""
    import trimesh

    points, _ = trimesh.sample.sample_surface(mesh, MOST_POINTS, seed=seed)
    return np.asarray(points)


def _text_points(path: Path) -> Array:
    text = path.read_text(encoding="utf-8", errors="replace")
    if ";" in text and "," in text and "." not in text:
        text = text.replace(",", ".")  # decimal commas
    text = text.replace(",", " ").replace(";", " ")
    rows = []
    for number, line in enumerate(text.splitlines(), 1):
        words = line.split()
        if len(words) < 3 or line.lstrip().startswith(("#", "//")):
            continue
        try:
            rows.append([float(word) for word in words[:3]])
        except ValueError:
            if rows:
                raise ScanError(
                    f"{path}: line {number}: found {line[:40]!r}, expected numbers x y z"
                ) from None
    return np.array(rows).reshape(-1, 3)
