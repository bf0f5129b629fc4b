"""The JSON Schemas (draft 2020-12) of the files that a builder writes, from their typed tables."""

from typing import Any

from frame3d.jobs.schema import JobFile, ShopFile
from frame3d.jobs.tube_list import TubeList
from frame3d.jobs.validation import Table

Schema = dict[str, Any]

DRAFT = "https://json-schema.org/draft/2020-12/schema"


def job_schema() -> Schema:
    return _schema(JobFile, "job file")


def shop_schema() -> Schema:
    return _schema(ShopFile, "shop file")


def tubes_schema() -> Schema:
    return _schema(TubeList, "tube list")


def _schema(table: type[Table], title: str) -> Schema:
    made = _without_null(table.model_json_schema())
    return {"$schema": DRAFT, **made, "title": title}


def _without_null(part: Any) -> Any:
    """TOML has no null: a key that may be left out is only not required."""
    if isinstance(part, list):
        return [_without_null(item) for item in part if item != {"type": "null"}]
    if not isinstance(part, dict):
        return part
    kept = {key: _without_null(value) for key, value in part.items()}
    if "default" in kept and kept["default"] is None:
        del kept["default"]
    if len(kept.get("anyOf", ())) == 1:
        (only,) = kept.pop("anyOf")
        return {**only, **kept}
    return kept
