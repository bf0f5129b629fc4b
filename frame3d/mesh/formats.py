"""Meshes of parts and of the whole in every usual format. mm, in the frame's coordinates, but for
GLB, whose unit is the metre."""

from pathlib import Path

import numpy as np

from frame3d.mesh.mesh_files import (
    arrays,
    colour,
    file_stems,
    write_3mf,
    write_glb,
    write_stl,
)
from frame3d.model import PLAIN, Show
from frame3d.solids.frame_solids import Solids


def write_all_formats(solids: Solids, folder: Path, show: Show = PLAIN) -> None:
    """Write frame.obj with frame.mtl, .ply, .stl, .3mf and .glb, and the same of each part that has
    metal as meshes/<part>."""
    parts = folder / "meshes"
    parts.mkdir(exist_ok=True)
    _write(solids, folder, "frame", show)
    stems = file_stems(list(solids.metal))
    for name, stem in stems.items():
        _write(solids.only(name), parts, stem, show)


def _write(solids: Solids, folder: Path, stem: str, show: Show) -> None:
    write_obj(solids, folder / f"{stem}.obj", show)
    write_ply(solids, folder / f"{stem}.ply", show)
    write_stl([part.solid for part in solids.parts.values()], folder / f"{stem}.stl")
    write_3mf(solids, folder / f"{stem}.3mf", show)
    write_glb(solids, folder / f"{stem}.glb", show)


def write_obj(solids: Solids, path: Path, show: Show = PLAIN) -> None:
    """Wavefront OBJ, one named object a tube; its colours stand in an MTL file beside it."""
    shades = {name: colour(tube, show) for name, tube in solids.parts.items()}
    library = path.with_suffix(".mtl")
    with library.open("w", encoding="utf-8") as out:
        for shade in dict.fromkeys(shades.values()):
            values = " ".join(f"{value / 255:.4f}" for value in shade)
            out.write(f"newmtl c{bytes(shade).hex()}\nKd {values}\n")
    first = 1  # OBJ counts from 1, through the whole file
    with path.open("w", encoding="utf-8") as out:
        out.write(f"# mm, x forward, y left, z up\nmtllib {library.name}\n")
        for name, tube in solids.parts.items():
            vertices, triangles = arrays(tube)
            out.write(f"o {name}\nusemtl c{bytes(shades[name]).hex()}\n")
            np.savetxt(out, vertices, fmt="v %.6f %.6f %.6f")
            np.savetxt(out, triangles.astype(np.int64) + first, fmt="f %d %d %d")
            first += len(vertices)


def write_ply(solids: Solids, path: Path, show: Show = PLAIN) -> None:
    """Binary PLY, the tubes one after another, each vertex with its tube's colour."""
    corner = [(axis, "<f8") for axis in "xyz"] + [(hue, "u1") for hue in ("red", "green", "blue")]
    points, faces, first = [], [], 0
    for tube in solids.parts.values():
        vertices, triangles = arrays(tube)
        some = np.empty(len(vertices), corner)
        for k, axis in enumerate("xyz"):
            some[axis] = vertices[:, k]
        some["red"], some["green"], some["blue"] = colour(tube, show)
        face = np.empty(len(triangles), [("count", "u1"), ("corners", "<i4", 3)])
        face["count"], face["corners"] = 3, triangles.astype(np.int64) + first
        points.append(some)
        faces.append(face)
        first += len(vertices)
    names = {"<f8": "double", "u1": "uchar"}
    header = ["ply", "format binary_little_endian 1.0", "comment mm, x forward, y left, z up"]
    header += [f"element vertex {first}"]
    header += [f"property {names[kind]} {name}" for name, kind in corner]
    header += [f"element face {sum(map(len, faces))}"]
    header += ["property list uchar int vertex_indices", "end_header", ""]
    with path.open("wb") as out:
        out.write("\n".join(header).encode("ascii"))
        for block in (*points, *faces):
            out.write(block.tobytes())
