"""What `frame3d new` writes explains every key, and each may be used as it stands there."""

import json
import re
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any, get_args

import pytest
from click.testing import CliRunner
from jsonschema import Draft202012Validator
from pydantic import BaseModel

import frame3d
from frame3d.jobs.bicycle_tables import BicycleTable, RiderTable
from frame3d.jobs.part_tables import PARTS
from frame3d.jobs.reference import keys_of as reference_keys
from frame3d.jobs.schema import JobFile, ShopFile
from frame3d.jobs.template import bicycle_text, job_text, shop_text
from frame3d_cli.main import main

TEXTS = {"job": job_text("mine"), "bicycle": bicycle_text("mine")}


def models_in(kind: Any) -> Iterator[type[BaseModel]]:
    if isinstance(kind, type) and issubclass(kind, BaseModel):
        yield kind
    for part in get_args(kind):
        yield from models_in(part)


def keys_of(table: type[BaseModel]) -> set[str]:
    """Keys of a table and of all tables in it."""
    found = set(table.model_fields)
    for field in table.model_fields.values():
        for inner in models_in(field.annotation):
            found |= keys_of(inner)
    return found


def explained(text: str) -> set[str]:
    return set(re.findall(r"[a-z][a-z_0-9]*", text))


@pytest.mark.parametrize("file", ["job.toml", "shop.toml"])
def test_the_first_line_names_a_schema_that_is_written_beside_and_takes_the_file(
    file: str, tmp_path: Path
) -> None:
    assert CliRunner().invoke(main, ["new", str(tmp_path / "mine")]).exit_code == 0
    text = (tmp_path / "mine" / file).read_text(encoding="utf-8")
    named = re.match(r"#:schema \./(\S+)\n", text)
    assert named
    schema = json.loads((tmp_path / "mine" / named[1]).read_text(encoding="utf-8"))
    Draft202012Validator(schema).validate(tomllib.loads(text))


@pytest.mark.parametrize("place", ["job", "tube", "joint", "hole", "limits", "cranks", "plate"])
def test_what_the_template_says_of_a_key_is_the_help_of_its_model(place: str) -> None:
    said = " ".join(re.sub(r"\s*\n?#\s*", " ", "\n".join(TEXTS.values())).split())
    for key in reference_keys(place):
        assert key.meaning in said, key.place


@pytest.mark.parametrize("which", TEXTS)
def test_every_key_that_a_job_can_hold_is_explained(which: str) -> None:
    in_bicycles = keys_of(BicycleTable) | keys_of(RiderTable) | {"bicycle", "rider"}
    missing = keys_of(JobFile) - explained(TEXTS[which])
    assert missing <= (in_bicycles if which == "job" else set())


def test_every_key_that_a_shop_can_hold_is_explained() -> None:
    """The shop's own rows of bought parts stand in the README."""
    assert keys_of(ShopFile) - explained(shop_text()) <= {*PARTS, "errors"}


def blocks(text: str) -> Iterator[str]:
    """Tables that stand as comments, each as it would be used."""
    for part in re.split(r"(?m)^(?=# \[)", text)[1:]:
        lines = []
        for line in part.splitlines():
            if not line.startswith("# "):
                break
            lines.append(re.sub(r"^# (\[|[a-z_]+ *= )", r"\1", line))
        yield "\n".join(lines)


def cases() -> Iterator[Any]:
    for which, text in TEXTS.items():
        for block in blocks(text):
            header = block.splitlines()[0].partition("#")[0].strip()
            yield pytest.param(which, block, id=f"{which} {header}")


@pytest.mark.parametrize(("which", "block"), [*cases()])
def test_a_table_may_be_used_as_it_stands(which: str, block: str, tmp_path: Path) -> None:
    (tmp_path / "shop.toml").write_text(shop_text())
    text = TEXTS[which]
    if "[[measured]]" not in block:  # choosing saws takes its time
        text = text.replace('cut     = "saw"', "")
    (tmp_path / "job.toml").write_text(f"{text}\n{block}\n")
    frame3d.open(tmp_path / "job.toml")


def test_no_line_is_wider_than_100_letters() -> None:
    assert max(map(len, "\n".join((*TEXTS.values(), shop_text())).splitlines())) <= 100
