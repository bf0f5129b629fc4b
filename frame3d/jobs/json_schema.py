"""The JSON Schemas (draft 2020-12) of the files that a builder writes, from their typed tables."""

from typing import Any

from frame3d.jobs.schema import JobFile, ShopFile
from frame3d.jobs.tube_list import TubeList
from frame3d.jobs.validation import Table
from frame3d.quantities import LENGTH_PATTERN

Schema = dict[str, Any]

DRAFT = "https://json-schema.org/draft/2020-12/schema"
LENGTH_TEXT = {"type": "string", "pattern": LENGTH_PATTERN}
TOLD = {"description": "a length with its unit: mm, cm, m or in", "examples": ["1 1/8 in"]}


def job_schema() -> Schema:
    return _schema(JobFile)


def shop_schema() -> Schema:
    return _schema(ShopFile)


def tubes_schema() -> Schema:
    return _schema(TubeList)


def _schema(table: type[Table]) -> Schema:
    made = _plain(table.model_json_schema())
    tables = {**made.pop("$defs"), "length_text": LENGTH_TEXT | TOLD}
    return {"$schema": DRAFT, **made, "$defs": tables}


def _plain(part: Any) -> Any:
    """As TOML wants it: it has no null, so a key that may be left out is only not required; and
    as people read it: how a length is written stands once."""
    if isinstance(part, list):
        return [_plain(item) for item in part if item != {"type": "null"}]
    if not isinstance(part, dict):
        return part
    if part == LENGTH_TEXT:
        return {"$ref": "#/$defs/length_text"}
    kept = {key: _plain(value) for key, value in part.items()}
    if "default" in kept and (kept["default"] is None or "$ref" in kept):
        del kept["default"]  # left out whole, each of a table's keys has its own
    if len(kept.get("anyOf", ())) == 1:
        (only,) = kept.pop("anyOf")
        return {**only, **kept}
    return kept
