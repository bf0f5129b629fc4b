"""The language server that editors run for TOML takes new jobs and examples by the schemas that
`frame3d new` writes beside them, and marks a slip. Taplo is PyPI's; it reads them by an older
draft of JSON Schema than they are written in.
"""

import re
import subprocess
from pathlib import Path

import pytest
from click.testing import CliRunner
from judges import need

from frame3d_cli.main import main

pytestmark = pytest.mark.peer
EXAMPLES = Path(__file__).parents[2] / "examples"


@pytest.fixture(params=["", "--bicycle"])
def new(request: pytest.FixtureRequest, tmp_path: Path) -> Path:
    need("taplo")
    made = CliRunner().invoke(main, ["new", str(tmp_path / "mine"), *request.param.split()])
    assert made.exit_code == 0, made.output
    return tmp_path / "mine"


def linted(file: Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        ["taplo", "lint", file.name], cwd=file.parent, text=True, capture_output=True
    )


def test_an_editor_takes_a_new_job_and_marks_a_slip(new: Path) -> None:
    for file in ("job.toml", "shop.toml"):
        assert linted(new / file).returncode == 0, linted(new / file).stderr
        text = (new / file).read_text(encoding="utf-8")
        slip = re.sub(r"(?m)^od ", "odd ", text, count=1)
        assert slip != text
        (new / "slip.toml").write_text(slip, encoding="utf-8")
        marked = linted(new / "slip.toml")
        assert marked.returncode != 0
        assert "'odd' was unexpected" in marked.stderr


@pytest.mark.parametrize(
    "job", sorted(EXAMPLES.glob("*/job.toml")), ids=lambda path: path.parent.name
)
def test_an_editor_takes_the_examples(job: Path, tmp_path: Path) -> None:
    need("taplo")
    schema = CliRunner().invoke(main, ["schema", "job"]).stdout
    (tmp_path / "job.schema.json").write_text(schema, encoding="utf-8")
    text = job.read_text(encoding="utf-8")
    (tmp_path / "job.toml").write_text(f"#:schema ./job.schema.json\n{text}", encoding="utf-8")
    assert linted(tmp_path / "job.toml").returncode == 0, linted(tmp_path / "job.toml").stderr
