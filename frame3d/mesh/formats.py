"""Meshes of parts and of the whole in every usual format. mm, in the frame's coordinates, but for
GLB, whose unit is the metre."""

from pathlib import Path

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

AXES = "mm, x forward, y left, z up"


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
    from trimesh import Scene, Trimesh
    from trimesh.exchange.obj import export_obj
    from trimesh.visual import TextureVisuals
    from trimesh.visual.material import SimpleMaterial

    scene = Scene()
    for name, part in solids.parts.items():
        shade = colour(part, show)
        dull = {"ambient": [0, 0, 0], "specular": [0, 0, 0]}
        material = SimpleMaterial(diffuse=shade, name=f"c{bytes(shade).hex()}", **dull)
        mesh = Trimesh(*arrays(part), visual=TextureVisuals(material=material), process=False)
        scene.add_geometry(mesh, geom_name=name, node_name=name)
    library = path.with_suffix(".mtl")
    text, beside = export_obj(
        scene,
        include_normals=False,
        return_texture=True,
        mtl_name=library.name,
        header=AXES,
    )
    path.write_text(text, encoding="utf-8")
    for name, data in beside.items():
        path.with_name(name).write_bytes(data)


def write_ply(solids: Solids, path: Path, show: Show = PLAIN) -> None:
    """Binary PLY, the tubes one after another, each vertex with its tube's colour;
    single precision."""
    from trimesh import Trimesh
    from trimesh.exchange.ply import export_ply
    from trimesh.util import concatenate

    meshes = [
        Trimesh(*arrays(part), vertex_colors=[*colour(part, show), 255], process=False)
        for part in solids.parts.values()
    ]
    path.write_bytes(export_ply(concatenate(meshes), vertex_normal=False))
