"""What --json prints is what its published schema says, and the schema takes nothing else."""

import json
from copy import deepcopy
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from jsonschema import Draft202012Validator

from frame3d_cli.main import main
from frame3d_cli.schema import SCHEMAS

EXAMPLES = Path(__file__).parents[2] / "examples"
PRINTED = [
    *(("filler", name) for name in ("two-tubes", "diamond", "touring", "trailer")),
    ("measured", "trailer"),
]


def told(command: str, job: Path) -> Any:
    return json.loads(CliRunner().invoke(main, [command, str(job), "--json"]).stdout)


@pytest.mark.parametrize(("command", "example"), PRINTED)
def test_what_is_printed_is_what_the_schema_says(command: str, example: str) -> None:
    found = told(command, EXAMPLES / example / "job.toml")
    judge = Draft202012Validator(SCHEMAS[command]())
    judge.validate(found)
    assert next(iter(found)) == "format"
    assert found["format"].startswith(f"frame3d-{command}/")
    (rows,) = (key for key in ("joints", "ends") if key in found)
    for alter in (
        lambda d: d.update(format="frame3d-report/1"),
        lambda d: d.pop("job"),
        lambda d: d.update(more=1),
        lambda d: d[rows][0].update(end="middle"),
        lambda d: d[rows][0].pop("tube"),
        lambda d: d[rows][0].update(tube=5),
    ):
        altered = deepcopy(found)
        alter(altered)
        assert not judge.is_valid(altered)
