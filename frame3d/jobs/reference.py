"""Every key of the files that a builder writes, as their JSON Schemas tell it."""

import json
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from typing import Any

from frame3d.jobs.json_schema import Schema, job_schema, shop_schema, tubes_schema
from frame3d.quantities import LONGEST_MM

FILES = {"job file": job_schema, "shop file": shop_schema, "tube list": tubes_schema}
UNITS = {"deg": "degrees"}


@dataclass(frozen=True)
class Key:
    """A key of a table. All texts as a builder reads or writes them.

    place: the tables that it stands in and its name, as "bicycle.rear.stay_gap"
    values: what may be given for it, with the unit
    usual: the value that stands where it is left out; "" where nothing does
    example: a value that may be given
    """

    place: str
    meaning: str
    values: str
    needed: bool
    usual: str
    example: str

    @property
    def name(self) -> str:
        return self.place.rpartition(".")[2]


@dataclass(frozen=True)
class KeyTable:
    """A table of a file and its keys. header: as it stands in the file, "[[tube]]"."""

    file: str
    place: str
    header: str
    meaning: str
    keys: tuple[Key, ...]


@cache
def reference() -> tuple[KeyTable, ...]:
    """All tables of all files, in the order of the files."""
    return tuple(
        table
        for file, schema in FILES.items()
        for made in [schema()]
        for table in _tables(file, "", made, made["$defs"])
    )


def keys_of(place: str) -> tuple[Key, ...]:
    """The keys of a table. Raises KeyError for one that no file has."""
    return {table.place: table for table in reference()}[place].keys


def written(value: Any) -> str:
    """A value as it stands in a TOML file."""
    if isinstance(value, bool | str):
        return json.dumps(value, ensure_ascii=False)
    if isinstance(value, dict):
        items = (f"{_bare(key)} = {written(item)}" for key, item in value.items())
        return f"{{ {', '.join(items)} }}" if value else "{}"
    if isinstance(value, list | tuple):
        return f"[{', '.join(map(written, value))}]"
    return f"{value:.6g}"


def _bare(key: str) -> str:
    return key if key.replace("_", "").isalnum() else json.dumps(key, ensure_ascii=False)


def _tables(file: str, place: str, table: Schema, tables: Schema) -> Iterator[KeyTable]:
    """The table itself, then those in it."""
    inner = {}
    keys = []
    for name, said in table["properties"].items():
        below = f"{place}.{name}" if place else name
        found = _table_of(said, tables)
        if found is not None:
            inner[below] = (found, said.get("type") == "array")
        if place:
            keys.append(_key(below, said, found, name in table.get("required", ())))
    if place:
        keys.sort(key=lambda key: (key.name != "name", not key.needed))
        yield KeyTable(file, place, table["header"], table["description"], tuple(keys))
    for below, (found, several) in inner.items():
        header = f"[[{below}]]" if several else f"[{below}]"
        yield from _tables(file, below, {**found, "header": header}, tables)


def _table_of(said: Schema, tables: Schema) -> Schema | None:
    """The table that is a key's value, or each item of its list."""
    inner: Schema = said.get("items") or said
    if "$ref" in inner:
        inner = tables[inner["$ref"].rpartition("/")[2]]
    return inner if inner.get("properties") else None


def _key(place: str, said: Schema, table: Schema | None, needed: bool) -> Key:
    usual = said.get("default")
    shown = [*said.get("examples", ()), *([] if usual is None else [usual]), *_words(said)]
    return Key(
        place,
        said.get("description") or (table or {}).get("description", ""),
        _values(said, table),
        needed,
        "" if usual in (None, [], {}) else written(usual),
        written(shown[0]) if shown else "",
    )


def _words(said: Schema) -> list[Any]:
    return list(said.get("enum", [said["const"]] if "const" in said else []))


def _values(said: Schema, table: Schema | None) -> str:
    """What may be given, in words."""
    if words := _words(said):
        return _either([written(word) for word in words])
    if table is not None:
        return "tables" if said.get("type") == "array" else "a table"
    if said.get("not") == {}:
        return "cannot be given"
    unit = said.get("unit", "")
    unit = UNITS.get(unit, unit)
    kinds = [_kind(kind, str(unit)) for kind in said.get("anyOf", [said])]
    return _either([kind for kind in kinds if kind])


def _kind(said: Schema, unit: str) -> str:
    kind = said.get("type")
    if isinstance(kind, list):
        kind = kind[0]
    if kind in ("number", "integer"):
        return _range(said, unit) or unit or "a number"
    if kind == "array":
        most, least = said.get("maxItems"), said.get("minItems")
        count = f"a list of {most}" if most == least else "a list"
        return f"{count}, {unit}" if unit and "items" in said else count
    if kind == "object":
        return "a table by name"
    return {"boolean": "true or false", "string": "a text in quotes"}.get(str(kind), "")


def _range(said: Schema, unit: str) -> str:
    low, high = said.get("minimum"), said.get("maximum")
    if low is None or high is None or (low, high) == (-LONGEST_MM, LONGEST_MM):
        return ""
    numbers = f"{low:g}" if high == LONGEST_MM else f"{low:g} to {high:.10g}"
    return f"{numbers} {unit}".rstrip() + (" or more" if high == LONGEST_MM else "")


def _either(words: list[str]) -> str:
    return f"{', '.join(words[:-1])} or {words[-1]}" if len(words) > 1 else "".join(words)
