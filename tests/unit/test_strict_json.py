"""What is printed and written as JSON is strict JSON, and pages name no number that there is not.

RFC 8259, section 6: "Numeric values that cannot be represented in the grammar below (such as
Infinity and NaN) are not permitted" (from memory).
"""

import ast
import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from frame3d.json_text import json_text
from frame3d_cli.main import main

ROOT = Path(__file__).parents[2]

# The saw passes below the tube's top: no datum line is cut.
MISSED = """\
[job]
name = "missed"
process = "tig"

[[tube]]
name = "post"
start = [0, -100, 0]
end = [0, 100, 0]
od = 36
wall = 1

[[tube]]
name = "rail"
start = [0, 0, 16]
end = [300, 0, 16]
od = 28.6
wall = 0.9

[[joint]]
tube = "rail"
end = "start"
onto = ["post"]
saw = 37

[[measured]]
tube = "rail"
end = "start"
od = 28.6
"""


def strict(text: str) -> object:
    def refuse(constant: str) -> None:
        raise AssertionError(f"{constant} is not JSON")

    return json.loads(text, parse_constant=refuse)


@pytest.fixture
def missed(tmp_path: Path) -> Path:
    job = tmp_path / "job.toml"
    job.write_text(MISSED)
    return job


@pytest.mark.parametrize("value", [float("inf"), float("-inf"), float("nan")])
@pytest.mark.parametrize("compact", [False, True])
def test_the_writer_refuses_what_json_has_no_words_for(value: float, compact: bool) -> None:
    with pytest.raises(ValueError, match="JSON"):
        json_text({"gap_mm": [value]}, compact=compact)


@pytest.mark.parametrize("command", ["check", "setup", "errors", "filler", "measured"])
def test_a_job_that_is_not_cut_whole_prints_strict_json(command: str, missed: Path) -> None:
    done = CliRunner().invoke(main, [command, str(missed), "--json"])
    assert done.exit_code in (1, 2), done.output
    if done.stdout:
        strict(done.stdout)


def test_lengths_that_no_saw_gives_are_null(missed: Path) -> None:
    told = strict(CliRunner().invoke(main, ["setup", str(missed), "--json"]).stdout)
    rail = next(t for t in told["tubes"] if t["sheet"]["tube"] == "rail")
    assert rail["measures"]["datum_mm"] is None
    assert rail["measures"]["opposite_mm"] is not None


def test_one_writer_makes_all_json() -> None:
    """Texts for TOML, which JSON's quotes serve, and the folder's own notes are no figures."""
    words = {"quantities.py", "reference.py", "template.py", "toml_faults.py", "vents.py"}
    texts = {*words, "output_folder.py"}
    found = {
        path.name
        for room in ("frame3d", "cli")
        for path in (ROOT / room).rglob("*.py")
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.Attribute) and node.attr in ("dump", "dumps")
    }
    assert found <= {"json_text.py"} | texts
