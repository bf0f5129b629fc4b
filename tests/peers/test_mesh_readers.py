"""Mesh files of all examples, read by programs that we did not write.

STL: admesh and prusa-slicer (Debian), as a maker would. 3MF: lib3mf, the 3MF Consortium's own.
GLB: gltf-validator (npm), Khronos' own.
"""

import json
import os
import re
import subprocess
from pathlib import Path

import numpy as np
import pytest
from judges import node_modules

import frame3d
from frame3d.mesh.mesh_files import file_stems, write_meshes
from frame3d.solids.frame_solids import Solids, frame_solids
from frame3d.surfaces.cope import copes_of

pytestmark = pytest.mark.peer

JOBS = {path.parent.name: path for path in Path(__file__).parents[2].glob("examples/*/job.toml")}
SINGLE_MM = 2e-4  # what single precision leaves of a metre, there and back
SUMMED_IN_SINGLE = 1e-4  # admesh and prusa-slicer add thousands of volumes in single precision

VALIDATE = """
const validator = require("gltf-validator");
const bytes = new Uint8Array(require("fs").readFileSync(process.argv[1]));
validator.validateBytes(bytes, { format: "glb", maxIssues: 0 }).then(
  (report) => console.log(JSON.stringify(report)),
  (error) => { console.error(error); process.exit(1); });
"""


class Made:
    """An example's solids and the folder of its mesh files."""

    def __init__(self, job: Path, folder: Path) -> None:
        frame = frame3d.open(job).frame
        self.solids: Solids = frame_solids(frame, copes_of(frame))
        self.parts = self.solids.parts
        self.folder = folder
        write_meshes(self.solids, folder)

    def stl(self) -> dict[str, Path]:
        stems = file_stems(list(self.parts))
        return {name: self.folder / "meshes" / f"{stem}.stl" for name, stem in stems.items()}

    def box(self, name: str) -> np.ndarray:
        """Least and greatest corner (2, 3), mm."""
        return np.reshape(self.parts[name].solid.bounding_box(), (2, 3))


@pytest.fixture(scope="module", params=sorted(JOBS))
def made(request, tmp_path_factory) -> Made:
    return Made(JOBS[request.param], tmp_path_factory.mktemp(request.param))


def said(*command) -> str:
    done = subprocess.run([str(c) for c in command], capture_output=True, text=True, timeout=120)
    assert done.returncode == 0, done.stderr
    return done.stdout


def test_admesh_finds_every_stl_closed_and_nothing_to_repair(made, need):
    need("admesh")
    for name, path in made.stl().items():
        report = said("admesh", path)
        facets = made.parts[name].solid.num_tri()
        assert re.findall(r"Number of facets +: +(\d+) +(\d+)", report) == [(str(facets),) * 2]
        assert re.search(r"All facets connected", report), report
        found = dict(re.findall(r"(\w[\w ]*?) +: +(-?[\d.]+)", report))
        assert found["Number of parts"] == "1", (name, report)
        for fault in (
            "Degenerate facets",
            "Edges fixed",
            "Facets removed",
            "Facets added",
            "Facets reversed",
            "Backwards edges",
            "Normals fixed",
        ):
            assert found[fault] == "0", (name, report)
        volume = made.parts[name].volume
        assert float(found["Volume"]) == pytest.approx(volume, rel=SUMMED_IN_SINGLE)
        sizes = re.findall(r"Min (.) = +(-?[\d.]+), Max . = +(-?[\d.]+)", report)
        box = np.array([[float(low), float(high)] for _, low, high in sizes]).T
        assert np.abs(box - made.box(name)).max() < SINGLE_MM


def test_prusa_slicer_finds_every_stl_manifold_in_one_part(made, need):
    need("prusa-slicer")
    paths = made.stl()
    report = said("prusa-slicer", "--info", *paths.values())
    parts = dict(re.findall(r"^\[([^\]\n]+\.stl)\]\n(.*?)(?=^\[|\Z)", report, re.M | re.S))
    assert len(parts) == len(paths)
    for name, path in paths.items():
        found = dict(re.findall(r"^(\w+) = +(\S+)$", parts[path.name], re.M))
        assert (found["manifold"], found["number_of_parts"]) == ("yes", "1"), (name, found)
        assert int(found["number_of_facets"]) == made.parts[name].solid.num_tri()
        volume = made.parts[name].volume
        assert float(found["volume"]) == pytest.approx(volume, rel=SUMMED_IN_SINGLE)
        box = [[float(found[f"{end}_{axis}"]) for axis in "xyz"] for end in ("min", "max")]
        assert np.abs(np.array(box) - made.box(name)).max() < SINGLE_MM


def test_lib3mf_reads_one_named_closed_body_a_tube_in_millimetres(made, need):
    need("lib3mf")
    import lib3mf

    model = lib3mf.get_wrapper().CreateModel()
    reader = model.QueryReader("3mf")
    reader.SetStrictModeActive(True)
    reader.ReadFromFile(str(made.folder / "frame.3mf"))
    assert reader.GetWarningCount() == 0
    assert model.GetUnit() == lib3mf.ModelUnit.MilliMeter
    names, bodies = [], model.GetMeshObjects()
    while bodies.MoveNext():
        body = bodies.GetCurrentMeshObject()
        names.append(body.GetName())
        part = made.parts[body.GetName()]
        assert body.IsManifoldAndOriented()
        assert body.GetTriangleCount() == part.solid.num_tri()
        vertices = np.array([list(v.Coordinates) for v in body.GetVertices()])
        assert np.abs([vertices.min(0), vertices.max(0)] - made.box(part.name)).max() < SINGLE_MM
        corners = vertices[np.array([list(t.Indices) for t in body.GetTriangleIndices()])]
        volume = np.einsum("ij,ij->", corners[:, 0], np.cross(corners[:, 1], corners[:, 2])) / 6
        assert volume == pytest.approx(part.volume, rel=1e-5)
    assert names == list(made.parts)
    items = model.GetBuildItems()
    assert items.Count() == len(names)


def test_khronos_validator_finds_no_error_in_the_glb(made, need):
    need("node")
    need("gltf-validator")
    done = subprocess.run(
        ["node", "-e", VALIDATE, str(made.folder / "frame.glb")],
        capture_output=True,
        text=True,
        timeout=120,
        env={**os.environ, "NODE_PATH": str(node_modules())},
    )
    assert done.returncode == 0, done.stderr
    report = json.loads(done.stdout)
    issues = report["issues"]
    assert (issues["numErrors"], issues["numWarnings"]) == (0, 0), issues["messages"]
    info = report["info"]
    assert info["version"] == "2.0"
    parts = made.parts.values()
    assert info["totalTriangleCount"] == sum(part.solid.num_tri() for part in parts)
    assert info["drawCallCount"] == len(parts)


def test_glb_stands_in_metres_with_y_up(made):
    """glTF 2.0, 3.4: metres, +y up. The frame's x, y, z in mm are then x, -z, y there."""
    import trimesh

    scene = trimesh.load(made.folder / "frame.glb")
    assert set(scene.geometry) == set(made.parts)
    for name, mesh in scene.geometry.items():
        at, _ = scene.graph[name]
        x, y, z = trimesh.transform_points(mesh.vertices, at).T * 1000
        box = np.array([[v.min(), v.max()] for v in (x, -z, y)]).T
        assert np.abs(box - made.box(name)).max() < SINGLE_MM
