"""The published JSON Schemas are schemas, and what they say of a file is what its reading says."""

import json

import pytest
from click.testing import CliRunner
from jsonschema import Draft202012Validator

from frame3d_cli.main import main
from frame3d_cli.schema import SCHEMAS


@pytest.mark.parametrize("name", SCHEMAS)
def test_every_published_schema_is_one_by_draft_2020_12(name: str) -> None:
    printed = CliRunner().invoke(main, ["schema", name])
    assert printed.exit_code == 0, printed.output
    Draft202012Validator.check_schema(json.loads(printed.stdout))
