"""Points of a scan from a mesh or a point file."""

from pathlib import Path

import numpy as np

from frame3d.surfaces.surface import Array

MESHES = (".stl", ".ply", ".obj")
TEXTS = (".xyz", ".txt", ".csv", ".pts", ".asc")
LEAST_POINTS = 500
MOST_POINTS = 400_000  # the wall's end face is a hundredth of a thin tube's scan


class ScanError(ValueError):
    """A scan that cannot be used, with the reason in words."""


def read_points(path: Path) -> Array:
    """Points (N, 3) in the file's own unit and position; thinned to at most MOST_POINTS.

    Raises ScanError.
    """
    if not path.is_file():
        raise ScanError(f"{path}: there is no such file, expected a scan")
    kind = path.suffix.lower()
    if kind not in MESHES + TEXTS:
        raise ScanError(
            f"{path}: found {kind or 'no'} ending, expected {', '.join(MESHES + TEXTS)}"
        )
    try:
        points = _mesh_points(path) if kind in MESHES else _text_points(path)
    except ScanError:
        raise
    except Exception as error:  # readers of mesh files raise whatever they stumble upon
        raise ScanError(f"{path}: cannot be read as a scan: {error}") from None
    if not np.isfinite(points).all():
        raise ScanError(f"{path}: has numbers that are not finite, expected points x y z")
    if len(points) < LEAST_POINTS:
        raise ScanError(f"{path}: has {len(points)} points, expected {LEAST_POINTS} or more")
    if len(points) > MOST_POINTS:
        points = np.random.default_rng(0).permutation(points)[:MOST_POINTS]
    return points


def _mesh_points(path: Path) -> Array:
    import trimesh

    loaded = trimesh.load(path, process=False)
    if isinstance(loaded, trimesh.Scene):
        loaded = loaded.to_geometry()
    points = np.asarray(loaded.vertices, float).reshape(-1, 3)
    faces = getattr(loaded, "faces", None)
    if faces is not None and len(faces):
        # A mesh of long triangles has its shape between its vertices, which may crowd at edges.
        sampled, _ = trimesh.sample.sample_surface(loaded, MOST_POINTS, seed=0)
        points = np.asarray(sampled)
    return points


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
