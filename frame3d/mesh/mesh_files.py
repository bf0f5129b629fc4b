"""Mesh files: STL for each tube, 3MF and GLB of the whole frame with names, colours and units."""

import re
import sys
from collections.abc import Sequence
from ctypes import Array as CArray
from ctypes import Structure
from functools import cache
from hashlib import blake2b
from pathlib import Path
from typing import TYPE_CHECKING
from unicodedata import normalize
from uuid import NAMESPACE_OID, uuid5

import numpy as np
from numpy.typing import NDArray

from frame3d.model import PLAIN, Show
from frame3d.solids import rings
from frame3d.solids.frame_solids import Finished, Solids
from frame3d.tables import row

if TYPE_CHECKING:
    from lib3mf import Wrapper
    from manifold3d import Manifold

Array = NDArray[np.float64]

# glTF lies in metres with y up and z forward towards the viewer; the frame in mm with z up:
# x stays, the frame's z becomes y, and its y (left) points away from the viewer.
GLTF_FROM_FRAME = np.array([[1e-3, 0, 0, 0], [0, 0, 1e-3, 0], [0, -1e-3, 0, 0], [0, 0, 0, 1.0]])


def write_meshes(solids: Solids, folder: Path, show: Show = PLAIN) -> None:
    """Write meshes/<part>.stl, frame.3mf and frame.glb into `folder`, in the paint of `show`."""
    (folder / "meshes").mkdir()
    for name, stem in file_stems(list(solids.metal)).items():
        write_stl([solids.parts[name].solid], folder / "meshes" / f"{stem}.stl")
    write_3mf(solids, folder / "frame.3mf", show)
    write_glb(solids, folder / "frame.glb", show)


# Names of devices on Windows, with any suffix (Microsoft, "Naming Files, Paths, and Namespaces").
DEVICES = {"CON", "PRN", "AUX", "NUL", "CONIN$", "CONOUT$"} | {
    f"{port}{number}" for port in ("COM", "LPT") for number in "0123456789¹²³"
}


def file_stems(names: list[str]) -> dict[str, str]:
    """A file name for each name: what a file system may refuse becomes "_", and no two are alike.

    Names that differ only in case, or in how an accent is put to its letter, get a number, since
    some file systems hold them for the same.
    """
    stems: dict[str, str] = {}
    taken: set[str] = set()
    for name in names:
        plain = re.sub(r'[<>:"/\\|?*\x00-\x1f]', "_", normalize("NFC", name)).strip(" .") or "_"
        plain = _shortened(plain)
        # A shell's "*" gives names as they are: one that starts with a dash is read as an option.
        if plain.startswith("-") or plain.partition(".")[0].rstrip().upper() in DEVICES:
            plain = f"_{plain}"
        stem, number = plain, 2
        while (alike := normalize("NFKC", stem).casefold()) in taken:
            stem, number = f"{plain} {number}", number + 1
        taken.add(alike)
        stems[name] = stem
    return stems


def _shortened(stem: str) -> str:
    """File systems count a name's bytes, most up to 255; Windows the letters of the whole path, as
    it comes up to 260."""
    most = 100 if sys.platform == "win32" else 200
    return stem.encode()[:most].decode(errors="ignore").rstrip()


def arrays(finished: Finished) -> tuple[Array, NDArray[np.uint32]]:
    """Vertices (V, 3), mm, and triangles (T, 3) of a finished tube."""
    vertices, triangles = rings.arrays(finished.solid)
    return vertices, triangles.astype(np.uint32)


def colour(finished: Finished, show: Show) -> tuple[int, int, int]:
    """Red, green and blue of the tube's paint or else its material, 0 to 255."""
    bare = row("materials", finished.material)["colour"]
    digits = show.colour(finished.name, bare).lstrip("#")
    return int(digits[0:2], 16), int(digits[2:4], 16), int(digits[4:6], 16)


def write_stl(solids: Sequence["Manifold"], path: Path) -> None:
    """Binary STL of solids, mm, in their own coordinates.

    Its corners are of single precision; its normals are what these corners give. Each triangle
    begins at the corner opposite to its longest side: from there a reader that works in single
    precision finds the same normal in a sliver too.
    """
    import trimesh

    meshes = []
    for solid in solids:
        vertices, triangles = rings.arrays(solid)
        rounded = vertices.astype(np.float32).astype(float)
        corners = rounded[triangles]
        opposite = np.linalg.norm(
            np.roll(corners, 1, axis=1) - np.roll(corners, -1, axis=1), axis=2
        )
        first = opposite.argmax(axis=1)[:, None]
        turned = np.take_along_axis(triangles, (first + np.arange(3)) % 3, axis=1)
        meshes.append(trimesh.Trimesh(rounded, turned, process=False))
    trimesh.util.concatenate(meshes).export(path, file_type="stl")


def write_glb(solids: Solids, path: Path, show: Show = PLAIN) -> None:
    """Binary glTF 2.0, metres, y up; one named node and mesh a tube, a material for each paint."""
    import trimesh
    from trimesh.visual.material import PBRMaterial

    scene = trimesh.Scene()
    materials: dict[str, PBRMaterial] = {}
    for name, finished in solids.parts.items():
        material, shade = finished.material, colour(finished, show)
        look = f"{material} #{bytes(shade).hex()}"
        if look not in materials:
            materials[look] = PBRMaterial(
                name=look,
                baseColorFactor=[*linear(shade), 1.0],
                metallicFactor=0.6,
                roughnessFactor=0.45,
            )
        mesh = trimesh.Trimesh(*arrays(finished), process=False)
        mesh.apply_transform(GLTF_FROM_FRAME)
        mesh.visual = trimesh.visual.TextureVisuals(material=materials[look])
        scene.add_geometry(mesh, geom_name=name, node_name=name)
    path.write_bytes(scene.export(file_type="glb"))


def linear(colour: tuple[int, int, int]) -> list[float]:
    """glTF wants linear light (IEC 61966-2-1 decoding of sRGB)."""
    value = np.array(colour) / 255.0
    return list(np.where(value <= 0.04045, value / 12.92, ((value + 0.055) / 1.055) ** 2.4))


def write_3mf(solids: Solids, path: Path, show: Show = PLAIN) -> None:
    """3MF core with its materials: one named object a tube, mm, in place."""
    shades = {name: (part.material, colour(part, show)) for name, part in solids.parts.items()}
    write_bodies_3mf(
        [(name, part.solid, shades[name]) for name, part in solids.parts.items()], path
    )


Look = tuple[str, tuple[int, int, int]]  # name of a material; red, green and blue, 0 to 255


def write_bodies_3mf(bodies: "Sequence[tuple[str, Manifold, Look | None]]", path: Path) -> None:
    """3MF core, mm: one object for each name, solid and material, in place.

    The ids of the production extension follow from names and shapes, so that the same bodies give
    the same bytes.
    """
    import lib3mf

    library = _lib3mf()
    model = library.CreateModel()
    model.SetUnit(lib3mf.ModelUnit.MilliMeter)
    group = model.AddBaseMaterialGroup() if any(look for *_, look in bodies) else None
    shades: dict[Look, int] = {}
    all_of = blake2b()
    for name, solid, look in bodies:
        body = model.AddMeshObject()
        body.SetName(name)
        vertices, triangles = rings.arrays(solid)
        corners, faces = vertices.astype(np.float32), triangles.astype(np.uint32)
        body.SetGeometry(_rows(lib3mf.Position, corners), _rows(lib3mf.Triangle, faces))
        if group is not None and look is not None:
            if look not in shades:
                material, shade = look
                words = f"{material} #{bytes(shade).hex()}"
                shades[look] = group.AddMaterial(words, lib3mf.Color(*shade, 255))
            body.SetObjectLevelProperty(group.GetResourceID(), shades[look])
        all_of.update(f"{name} {look} ".encode() + corners.tobytes() + faces.tobytes())
        told = all_of.hexdigest()
        body.SetUUID(_uuid(f"object {told}"))
        item = model.AddBuildItem(body, library.GetIdentityTransform())
        item.SetUUID(_uuid(f"item {told}"))
    model.SetBuildUUID(_uuid(f"build {all_of.hexdigest()}"))
    model.QueryWriter("3mf").WriteToFile(str(path))


def _uuid(words: str) -> str:
    return str(uuid5(NAMESPACE_OID, words))


def _rows(kind: type[Structure], numbers: "NDArray[np.generic]") -> list[Structure]:
    """Rows (N, 3) as lib3mf's structures: made of the array's own bytes, for speed."""
    many: CArray[Structure] = (kind * len(numbers)).from_buffer_copy(numbers.tobytes())
    return list(many)


@cache
def _lib3mf() -> "Wrapper":
    """Read once: finding its functions takes longer than writing a file."""
    import lib3mf

    return lib3mf.get_wrapper()
