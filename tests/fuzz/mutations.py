"""Jobs made odd: tables of good ones with keys dropped and values swapped, written as TOML again.

The same seed and number give the same file.
"""

import json
import re
import tomllib
from collections.abc import Callable, Iterator
from datetime import date
from functools import cache
from pathlib import Path
from random import Random
from typing import Any

from frame3d.jobs.template import bicycle_text, job_text, shop_text

EXAMPLES = Path(__file__).parents[2] / "examples"
ODD_NUMBERS = (
    0, 1, -1, 0.1, 0.01, 1e-9, -1e-9, 1e-320, 0.05, 0.4999, 3, 7.5,
    14.3, 28.6, 28.575, 36, 45, 89.999,
    90, 180, -90, 359.9, 360, 720, 99, 119.99, 250, 299.9, 300, 1000,
    9999, 99_999, 100_000, 1e5 + 1,
    1e9, -1e9, 1e22, 1e300, -1e300, 1e308, float("inf"),
    float("-inf"), float("nan"), 2**31, 2**53 + 1,
    2**63 - 1, 2**63, -(2**63), 10**20, 10**308, 10**309, -(10**400), 10**4400,
)  # fmt: skip
ODD_TEXTS = (
    "", " ", "x", "post", "rail", "seat tube", "left seat stay",
    "seat stay", "shell", "[/]", "[red]",
    "[bold]a[/bold]", "-rf", "../../x", "a/b", "a\\b", "a:b", "CON",
    "ä", "e\u0301", "下管", "ไทย",
    "دراجة", "\u202eback", "\u200d", "\x1b[31mred", "\x07", "\n",
    "a\tb", "🚲", "👩‍🔧", "𝔛", "\ufeff",
    "n" * 200, "n" * 201, "n" * 5000, "28.6 mm", "28,6 mm",
    "1 1/8 in", "1/0 in", "9" * 400 + " mm",
    "1e5 mm", "inf mm", "nan", "- 3 mm", "3 ft", "start", "end",
    "slot", "saw", "hand", "laser", "tig",
    "navy", "#fff", "#12", "28-622", "0-622", "EC34/28.6 | EC34/30",
    "ISO 68", "{}", "%s", "${HOME}",
)  # fmt: skip
OTHERS: tuple[Any, ...] = (
    True,
    False,
    date(2026, 1, 2),
    [],
    {},
    [[]],
    [{}],
    {"": 1},
    {"a": {"b": []}},
)


@cache
def small() -> dict[str, Any]:
    """A job of two tubes that holds every table."""
    return _with_all_tables(job_text("mine"))


@cache
def bases() -> list[dict[str, Any]]:
    """Good jobs' tables: those with every table come first, and most often."""
    found = sorted(EXAMPLES.glob("*/job.toml"))
    return [
        small(),
        _with_all_tables(bicycle_text("mine")),
        *(tomllib.loads(path.read_text(encoding="utf-8")) for path in found),
    ]


def _with_all_tables(text: str) -> dict[str, Any]:
    """A new job with all tables that stand in it as comments, but for those of what it lacks."""
    parts = re.split(r"(?m)^(?=# \[)", text)
    for part in parts[1:]:
        lines = []
        for line in part.splitlines():
            if not line.startswith("# "):
                break
            lines.append(re.sub(r"^# (\[|[a-z_]+ *= )", r"\1", line))
        if not lines[0].startswith(("[bicycle", "[[joint", "[[measured", "[rider")):
            text += "\n" + "\n".join(lines) + "\n"
    return tomllib.loads(text)


def mutated(seed: int, number: int, examples: bool = True) -> dict[str, str]:
    """The texts of an odd job and of its shop, by file name; without examples only of the small job
    that holds every table."""
    random = Random(f"{seed} {number}")
    jobs = json_copy(bases() if examples else [small()])
    weights = [
        30,
        2,
        *(15 if "bicycle" not in job and len(job["tube"]) < 4 else 1 for job in jobs[2:]),
    ]
    job = random.choices(jobs, weights[: len(jobs)])[0]
    shop, tubes = json_copy(shop_tables()), json_copy(tube_list())
    job["job"]["shop"] = "shop.toml"
    if "tubes" in job["job"]:
        job["job"]["tubes"] = "tubes.toml"
    files = {"job.toml": job, "shop.toml": shop, "tubes.toml": tubes}
    listed = "tubes" in job["job"]
    odd = random.choices([*files], (80, 15, 25 if listed else 0))[0]
    for _ in range(random.choice((1, 1, 1, 1, 2, 2, 3))):
        _mutate(files[odd], random)
    texts = {name: dumped(tables) for name, tables in files.items()}
    if random.random() < 0.1:
        texts[odd] = random.choice(TEXT_CHANGES)(texts[odd], random)
    return texts


@cache
def shop_tables() -> dict[str, Any]:
    """A new shop file with all that stands in it as comments."""
    return tomllib.loads(re.sub(r"(?m)^# (\[|[a-z_]+ *= )", r"\1", shop_text()))


@cache
def tube_list() -> dict[str, Any]:
    return tomllib.loads((EXAMPLES / "tubes.toml").read_text(encoding="utf-8"))


def _places(value: Any) -> Iterator[tuple[Any, Any]]:
    """Every (holder, key) in nested tables and lists."""
    items = value.items() if isinstance(value, dict) else enumerate(value)
    for key, item in list(items):
        yield value, key
        if isinstance(item, dict | list):
            yield from _places(item)


def _mutate(data: dict[str, Any], random: Random) -> None:
    places = list(_places(data))
    if not places:
        return
    holder, key = random.choice(places)
    value = holder[key]
    kind = random.choice(
        (
            *("drop", "swap", "swap", "near", "near", "near", "near", "other", "copy", "rename"),
            *("nest", "order"),
        )
    )
    if kind == "drop":
        del holder[key]
    elif kind == "swap":
        numbers = isinstance(value, int | float) and random.random() < 0.8
        texts = isinstance(value, str) and random.random() < 0.6
        some = (
            ODD_NUMBERS if numbers else ODD_TEXTS if texts else (*ODD_NUMBERS, *ODD_TEXTS, *OTHERS)
        )
        holder[key] = random.choice(some)
    elif kind == "near" and isinstance(value, int | float) and not isinstance(value, bool):
        holder[key] = random.choice(
            (value * random.uniform(0.5, 2), -value, value + 1e-7, value * 10)
        )
    elif kind == "other":  # another value of the same file
        other, at = random.choice(places)
        holder[key] = (
            json_copy(other[at]) if at in other or (isinstance(at, int) and at < len(other)) else 0
        )
    elif kind == "copy" and isinstance(holder, list):
        holder.extend(json_copy(value) for _ in range(random.choice((1, 1, 5, 40))))
    elif kind == "order" and (lists := [h[k] for h, k in places if isinstance(h[k], list)]):
        rows = random.choice(lists)  # of tables, stations or corners
        if rows and random.random() < 0.5:
            random.shuffle(rows)
        elif rows:
            one, other = random.randrange(len(rows)), random.randrange(len(rows))
            rows[one], rows[other] = rows[other], rows[one]
    elif kind == "rename" and isinstance(holder, dict):
        holder[random.choice((*ODD_TEXTS, "od", "wall", "start", "tube", "wal"))] = holder.pop(key)
    elif kind == "nest":
        for _ in range(random.choice((1, 2, 30))):
            value = random.choice(([value], {"a": value}))
        holder[key] = value


def json_copy(value: Any) -> Any:
    """A deep copy, so that no table holds itself."""
    if isinstance(value, dict):
        return {key: json_copy(item) for key, item in value.items()}
    if isinstance(value, list):
        return [json_copy(item) for item in value]
    return value


def dumped(data: dict[str, Any]) -> str:
    """A table as TOML; lists of tables as [[tables]] on the first level."""
    lines = []
    inner = []
    for key, value in data.items():
        name = json.dumps(key)
        tables = isinstance(value, list) and value and all(isinstance(item, dict) for item in value)
        if tables or isinstance(value, dict):
            for table in value if tables else [value]:
                inner.append(f"[[{name}]]" if tables else f"[{name}]")
                inner += [f"{json.dumps(k)} = {_value(v)}" for k, v in table.items()]
        else:
            lines.append(f"{name} = {_value(value)}")
    return "\n".join((*lines, *inner)) + "\n"


def _value(value: Any) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        return (
            json.dumps(value)
            if value.isprintable()
            else json.dumps(value).replace("\x7f", "\\u007f")
        )
    if isinstance(value, dict):
        return "{" + ", ".join(f"{json.dumps(k)} = {_value(v)}" for k, v in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(map(_value, value)) + "]"
    if isinstance(value, int):
        return hex(value) if value.bit_length() > 14_000 else str(value)
    return str(value)


def _lines_changed(change: Callable[[list[str], int], None]) -> Callable[[str, Random], str]:
    def changed(text: str, random: Random) -> str:
        lines = text.splitlines()
        change(lines, random.randrange(len(lines)))
        return "\n".join(lines)

    return changed


TEXT_CHANGES: tuple[Callable[[str, Random], str], ...] = (
    _lines_changed(lambda lines, n: lines.pop(n) and None),
    _lines_changed(lambda lines, n: lines.insert(n, lines[n])),
    _lines_changed(lambda lines, n: lines.__setitem__(n, lines[n].replace('"', "“"))),
    _lines_changed(lambda lines, n: lines.__setitem__(n, lines[n].replace(".", ","))),
    _lines_changed(lambda lines, n: lines.__setitem__(n, lines[n].replace("[[", "["))),
    _lines_changed(lambda lines, n: lines.__setitem__(n, " " * 3000 + lines[n])),
    lambda text, random: text[: random.randrange(len(text))],
    lambda text, random: text.replace('"', random.choice("'“”"), random.randrange(1, 9)),
)
