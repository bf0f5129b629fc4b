"""The published JSON Schemas are schemas, and what they say of a file is what its reading says."""

import json
import re
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from jsonschema import Draft202012Validator

import frame3d
from frame3d.jobs import JobError
from frame3d.jobs.bicycle_tables import OUTCOMES
from frame3d.jobs.reference import Key, reference
from frame3d.jobs.template import bicycle_text, job_text, shop_text
from frame3d.quantities import LENGTH_PATTERN, parse_length
from frame3d_cli.main import main
from frame3d_cli.schema import SCHEMAS
from tests.unit.test_bad_jobs import refused

ROOT = Path(__file__).parents[2]
EXAMPLES = sorted((ROOT / "examples").glob("*/job.toml"))
KEYS = [key for table in reference() for key in table.keys]


@pytest.mark.parametrize("name", SCHEMAS)
def test_every_published_schema_is_one_by_draft_2020_12(name: str) -> None:
    printed = CliRunner().invoke(main, ["schema", name])
    assert printed.exit_code == 0, printed.output
    Draft202012Validator.check_schema(json.loads(printed.stdout))


def judge(name: str) -> Draft202012Validator:
    return Draft202012Validator(SCHEMAS[name]())


JUDGES = {name: judge(name) for name in ("job", "shop", "tubes")}


@pytest.mark.parametrize("job", EXAMPLES, ids=lambda path: path.parent.name)
def test_the_schema_takes_every_example_job(job: Path) -> None:
    judge("job").validate(tomllib.loads(job.read_text(encoding="utf-8")))


@pytest.mark.parametrize(
    ("name", "text"),
    {
        "shop": (ROOT / "examples" / "shop.toml").read_text(encoding="utf-8"),
        "tubes": (ROOT / "examples" / "tubes.toml").read_text(encoding="utf-8"),
        "job": bicycle_text("mine"),
    }.items(),
)
def test_the_schemas_take_the_other_files(name: str, text: str) -> None:
    judge(name).validate(tomllib.loads(text))


# What is put in the place of a line of the new job, and refused by its reading too.
BAD = {
    "unknown table": ("[[joint]]", "[[joints]]"),
    "unknown key": ("onto = ", "on = "),
    "unknown key of the job": ("process = ", "proces = "),
    "unknown process": ('"fillet-braze"', '"glue"'),
    "a key missing": ('onto = ["post"]', ""),
    "wall and stock missing": ("wall     = 1.2", ""),
    "a length as a list": ("saw  = 37.0", "saw = [37.0]"),
    "a text without unit": ("saw  = 37.0", 'saw = "37"'),
    "an unknown unit": ("saw  = 37.0", 'saw = "37 ell"'),
    "a saw too large": ("saw  = 37.0", "saw = 3700"),
    "a point of two": ("[250.0, 0.0, 60.0]", "[250.0, 60.0]"),
    "a station of one": ("[60, 0.9]", "[60]"),
    "a material of glass": ('material = "steel"', 'material = "glass"'),
    "a truth in quotes": ("[[joint]]", '[clearances]\nfoot_retention = "yes"\n[[joint]]'),
    "an end that is none": ('end  = "start"', 'end  = "left"'),
    "a bicycle's unknown number": ("[[joint]]", "[bicycle]\nrakee = 45\n[[joint]]"),
    "a bicycle's outcome": ("[[joint]]", "[bicycle]\ntop_tube_length = 545\n[[joint]]"),
    "a wheel as a number": ("[[joint]]", "[bicycle]\nfront_wheel = 622\n[[joint]]"),
    "a rear layout below zero": ("[[joint]]", "[bicycle.rear]\nstay_gap = -1\n[[joint]]"),
    "a rider without hands": ("[[joint]]", "[rider]\nsaddle_height = 700\n[[joint]]"),
}


@pytest.mark.parametrize("case", BAD)
def test_the_schema_refuses_what_the_reading_refuses(case: str, tmp_path: Path) -> None:
    old, new = BAD[case]
    text = job_text("mine")
    lines = [line for line in text.splitlines() if old in line and not line.startswith("#")]
    text = text.replace(lines[0], lines[0].partition("#")[0].replace(old, new), 1)
    assert not judge("job").is_valid(tomllib.loads(text))
    (tmp_path / "shop.toml").write_text(shop_text())
    (tmp_path / "job.toml").write_text(text)
    with pytest.raises(JobError):
        frame3d.open(tmp_path / "job.toml")


@pytest.mark.parametrize(
    "text",
    [
        *("28.6 mm", '1 1/8"', "1-1/8 in", "7/8 IN", ".035 inch", " 2.86 cm ", "-1 m", "3 inches"),
        *("28.6", "1,5 mm", "mm", "1 ft", "1/8 1 in", "2e3 mm", "one in"),
    ],
)
def test_a_lengths_text_is_one_for_the_schema_where_it_is_one_for_the_reading(text: str) -> None:
    try:
        parse_length(text)
        read = True
    except ValueError:
        read = False
    assert bool(re.search(LENGTH_PATTERN, text)) is read


@pytest.mark.parametrize("key", KEYS, ids=lambda key: key.place)
def test_every_key_has_a_help_and_says_what_may_stand(key: Key) -> None:
    assert len(key.meaning) > 1
    assert key.values
    assert key.example or key.name in OUTCOMES or key.values in ("a table", "tables"), key


def at(place: str, example: Any) -> dict[str, Any]:
    """A file's data that holds no more than this key."""
    *tables, name = place.split(".")
    data: Any = {name: example}
    several = {table.place: table.header.startswith("[[") for table in reference()}
    for count in range(len(tables), 0, -1):
        data = [data] if several[".".join(tables[:count])] else data
        data = {tables[count - 1]: data}
    return dict(data)


@pytest.mark.parametrize(
    ("name", "key"),
    [
        pytest.param(table.file.split()[0].replace("tube", "tubes"), key, id=key.place)
        for table in reference()
        for key in table.keys
        if key.example
    ],
)
def test_the_example_of_a_key_is_a_value_of_it(name: str, key: Key) -> None:
    value = tomllib.loads(f"value = {key.example}")["value"]
    for error in JUDGES[name].iter_errors(at(key.place, value)):
        assert error.validator in ("required", "anyOf"), error
        assert "required" in str(error.schema), error


def places(data: Any, place: str = "") -> Iterator[str]:
    for key, value in data.items():
        below = f"{place}.{key}" if place else key
        yield below
        for item in value if isinstance(value, list) else [value]:
            if isinstance(item, dict):
                yield from places(item, below)


def test_every_key_of_readme_and_examples_is_in_the_reference() -> None:
    known = {key.place for key in KEYS} | {table.place for table in reference()}
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    texts = [*re.findall(r"```toml\n(.*?)```", readme, re.DOTALL), job_text("x"), shop_text()]
    texts += [path.read_text(encoding="utf-8") for path in (ROOT / "examples").rglob("*.toml")]
    assert len(texts) > 10
    by_name = ("joint.saw.", "paint.tube.", "measured.mates.")
    used = {place for text in texts for place in places(tomllib.loads(text))}
    assert {place for place in used if not place.startswith(by_name)} <= known


def test_all_keys_that_a_table_lacks_are_told_at_once(tmp_path: Path) -> None:
    job = tmp_path / "job.toml"
    job.write_text('[job]\nname = "x"\nprocess = "tig"\n[[tube]]\nname = "a"\n')
    assert 'tube "a", od: is missing; so is wall' in refused(job, tmp_path)
