"""The GLB for phones, by Khronos' own gltf-validator (npm)."""

import json
import os
import subprocess
from pathlib import Path

import pytest
from frames import hostile
from judges import need, node_modules

import frame3d
from frame3d.build import Build
from frame3d.view.viewer_glb import write_phone_glb

pytestmark = pytest.mark.peer

DIAMOND = Path(__file__).parents[2] / "examples" / "diamond" / "job.toml"
VALIDATE = """
const validator = require("gltf-validator");
const bytes = new Uint8Array(require("fs").readFileSync(process.argv[1]));
validator.validateBytes(bytes, { format: "glb", maxIssues: 0 }).then(
  (report) => console.log(JSON.stringify(report)),
  (error) => { console.error(error); process.exit(1); });
"""


@pytest.mark.parametrize("which", ["diamond", "hostile names"])
def test_phone_glb_is_valid(which, tmp_path: Path):
    need("node")
    need("gltf-validator")
    frame = frame3d.open(DIAMOND).frame if which == "diamond" else hostile()
    path = tmp_path / "frame.glb"
    write_phone_glb(Build(frame).version().scene, path)
    done = subprocess.run(
        ["node", "-e", VALIDATE, str(path)],
        env={**os.environ, "NODE_PATH": str(node_modules())},
        capture_output=True,
        text=True,
        timeout=60,
    )
    assert done.returncode == 0, done.stderr
    report = json.loads(done.stdout)
    assert report["issues"]["numErrors"] == 0
    assert report["issues"]["numWarnings"] == 0
    assert report["info"]["totalTriangleCount"] > 1000
