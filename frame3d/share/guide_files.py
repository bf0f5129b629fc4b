"""Guides into files: STL and 3MF of every part, and guides.json beside them."""

import json
import os
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from frame3d.share.meshes import file_stems
from frame3d.share.slicer import PrintCost, estimated, sliced

if TYPE_CHECKING:
    from lib3mf import Wrapper
    from manifold3d import Manifold
    from numpy.typing import NDArray

    from frame3d.guides.parts import Part
    from frame3d.guides.plan import Refused
    from frame3d.guides.record import Entry
    from frame3d.model import Frame


def write_guides(
    frame: "Frame",
    entries: "Sequence[Entry]",
    refused: "Sequence[Refused]",
    folder: Path,
    slicing: bool = False,
    done: Callable[[str], None] = lambda name: None,
) -> "list[tuple[str, Entry, PrintCost]]":
    """Write every part's STL and 3MF and guides.json into `folder`.

    The stem of each file, its entry, and what it costs to print: the slicer's word, or an estimate.
    `done` hears of every part.
    """
    from frame3d.guides.record import guides_json

    stems = file_stems([entry.name for entry in entries])
    files = [(stems[entry.name], entry) for entry in entries]

    def write(stem: str, part: "Part") -> PrintCost:
        path = folder / f"{stem}.stl"
        write_solid_stl(part.solid, path)
        write_solid_3mf(stem, part.solid, folder / f"{stem}.3mf")
        printer = frame.shop.printer
        cost = sliced(path, printer)[0] if slicing else estimated(part.solid, printer)
        done(stem)
        return cost

    # A slicer is a program of its own, so that threads keep all cores at work.
    with ThreadPoolExecutor(max_workers=(os.cpu_count() or 1) if slicing else 1) as pool:
        made = list(pool.map(lambda file: write(file[0], file[1].part), files))
    costs = {stem: cost for (stem, _), cost in zip(files, made, strict=True)}
    record = guides_json(frame, files, refused, {stem: _told(costs[stem]) for stem in costs})
    text = json.dumps(record, indent=1, ensure_ascii=False)
    (folder / "guides.json").write_text(text + "\n", encoding="utf-8")
    return [(stem, entry, costs[stem]) for stem, entry in files]


def _told(cost: PrintCost) -> dict[str, object]:
    return {
        "minutes": round(cost.minutes, 1),
        "filament_g": round(cost.grams, 1),
        "by": cost.by,
    }


def write_solid_stl(solid: "Manifold", path: Path) -> None:
    """Binary STL, mm."""
    import trimesh

    mesh = solid.to_mesh64()
    # Normals of the corners as the file holds them, in single precision.
    vertices = np.asarray(mesh.vert_properties)[:, :3].astype(np.float32).astype(float)
    trimesh.Trimesh(vertices, np.asarray(mesh.tri_verts), process=False).export(path)


def write_solid_3mf(name: str, solid: "Manifold", path: Path) -> None:
    """3MF core, mm: one named object."""
    from ctypes import Array, Structure

    import lib3mf

    def rows(kind: type[Structure], numbers: "NDArray[np.generic]") -> "list[Structure]":
        """Rows (N, 3) as lib3mf's structures: made of the array's own bytes, for speed."""
        many: Array[Structure] = (kind * len(numbers)).from_buffer_copy(numbers.tobytes())
        return list(many)

    library = _lib3mf()
    model = library.CreateModel()
    model.SetUnit(lib3mf.ModelUnit.MilliMeter)
    body = model.AddMeshObject()
    body.SetName(name)
    mesh = solid.to_mesh64()
    body.SetGeometry(
        rows(lib3mf.Position, np.asarray(mesh.vert_properties)[:, :3].astype(np.float32)),
        rows(lib3mf.Triangle, np.asarray(mesh.tri_verts).astype(np.uint32)),
    )
    model.AddBuildItem(body, library.GetIdentityTransform())
    model.QueryWriter("3mf").WriteToFile(str(path))


@cache
def _lib3mf() -> "Wrapper":
    """Read once: finding its functions takes longer than writing a file."""
    import lib3mf

    return lib3mf.get_wrapper()
