"""A GLB for looking at: smooth normals and paint, at true size on a phone."""

from pathlib import Path

from frame3d.mesh.mesh_files import GLTF_FROM_FRAME, linear
from frame3d.view.colours import rgb
from frame3d.view.scene import Scene

# Paint over metal: a dielectric, fairly glossy (glTF 2.0, metallic-roughness material).
METALLIC, ROUGHNESS = 0.0, 0.35


def write_phone_glb(scene: Scene, path: Path) -> None:
    """Binary glTF 2.0, metres, y up: tubes, and parts that are only shown."""
    import trimesh
    from trimesh.visual.material import PBRMaterial

    whole = trimesh.Scene()
    looks: dict[str, PBRMaterial] = {}
    for part in scene.bodies():
        if part.colour not in looks:
            red, green, blue = (round(255 * value) for value in rgb(part.colour))
            looks[part.colour] = PBRMaterial(
                name=part.colour,
                baseColorFactor=[*linear((red, green, blue)), 1.0],
                metallicFactor=METALLIC,
                roughnessFactor=ROUGHNESS,
                doubleSided=True,
            )
        mesh = trimesh.Trimesh(
            part.mesh.vertices,
            part.mesh.triangles,
            vertex_normals=part.mesh.normals,
            process=False,
        )
        mesh.visual = trimesh.visual.TextureVisuals(material=looks[part.colour])
        mesh.apply_transform(GLTF_FROM_FRAME)
        whole.add_geometry(mesh, geom_name=part.name, node_name=part.name)
    path.write_bytes(whole.export(file_type="glb", include_normals=True))
