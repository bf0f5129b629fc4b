"""What all tables of the job and shop files share: known keys only, and errors in plain words."""

import difflib
import math
import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Any, NoReturn

from pydantic import (
    BaseModel,
    ConfigDict,
    GetCoreSchemaHandler,
    GetJsonSchemaHandler,
    ValidationError,
    model_validator,
)
from pydantic_core import ErrorDetails, PydanticCustomError, core_schema

from frame3d.jobs.job_error import JobError
from frame3d.jobs.locate import KeyPath, line_of
from frame3d.letters import JOINERS
from frame3d.quantities import (
    LENGTH_PATTERN,
    LONGEST_MM,
    described,
    parse_length,
    plain_number,
)

LONGEST_NAME, LONGEST_PATH = 200, 1000
OWN_KEY = ("unknown_key", "too_many")  # found in a table, of one of its keys
MOST_WORDS = 40  # of those that are known, in a message
MOST_SEARCHED = 500  # of those, for one that is near


def nearest(word: str, known: Iterable[str]) -> str:
    """`expected ...` with the nearest known word, or all of them. Nearest is one of the same parts
    in another order, "130x10" for "10x130", else the likest."""
    words = list(known)
    searched, word = words[:MOST_SEARCHED], word[:LONGEST_NAME]
    parts = _parts(word)
    turned = [other for other in searched if parts and _parts(other) == parts]
    close = turned or difflib.get_close_matches(word, searched, n=1, cutoff=0.6)
    if close:
        return f'did you mean "{close[0]}"?'
    if not words:
        return "expected none here"
    more = f" and {len(words) - MOST_WORDS} more" if len(words) > MOST_WORDS else ""
    return f"expected one of {', '.join(words[:MOST_WORDS])}{more}"


def _parts(word: str) -> list[str]:
    return sorted(re.findall(r"\d+(?:\.\d+)?|[^\W\d_]+", word.lower()))


# More of anything in one file is no frame: work that grows with the square of it would take minutes
# and memory. Own choice; tables such as [[tube]], and rows of numbers such as an outline's corners.
MOST_TABLES, MOST_ROWS = 2000, 500


def _title(table: type) -> str:
    """AxleSlotTable: axle slot."""
    return re.sub(r"(?<=.)(?=[A-Z])", " ", table.__name__.removesuffix("Table")).lower()


class Table(BaseModel):
    """A TOML table. Unknown keys are errors, with the nearest known key suggested; so are lists
    longer than any shop's."""

    model_config = ConfigDict(extra="forbid", frozen=True, model_title_generator=_title)

    @model_validator(mode="before")
    @classmethod
    def _known_keys(cls, data: Any) -> Any:
        if isinstance(data, dict):
            for key in data:
                if key not in cls.model_fields:
                    raise PydanticCustomError(
                        "unknown_key",
                        "unknown key, {advice}",
                        {"key": key, "advice": nearest(key, cls.model_fields)},
                    )
            for key, value in data.items():
                if isinstance(value, list) and (problem := _too_many(value)):
                    raise PydanticCustomError(
                        "too_many", "{problem}", {"key": key, "problem": problem}
                    )
        return data


def _too_many(rows: list[Any]) -> str:
    most = MOST_TABLES if rows and isinstance(rows[0], dict) else MOST_ROWS
    return f"found {len(rows)} of them, expected {most} at most" if len(rows) > most else ""


def number(value: object, low: float, high: float, what: str) -> float:
    """A plain number from a file, from `low` to `high`."""
    if isinstance(value, bool) or not isinstance(value, int | float) or value != value:
        raise ValueError(f"found {described(value)}, expected {what}")
    found = plain_number(value)
    if not low <= found <= high:
        raise ValueError(f"found {found:g}, expected {what} from {low:g} to {high:g}")
    return found


@dataclass(frozen=True, eq=False)
class Kind:
    """A kind of value in a file, as an annotation of a field.

    read: the value from what stands in the file; raises ValueError in the builder's words
    schema: the JSON Schema of what may stand there
    """

    read: Callable[[object], Any]
    schema: dict[str, Any]

    def __get_pydantic_core_schema__(
        self, source: Any, handler: GetCoreSchemaHandler
    ) -> core_schema.CoreSchema:
        return core_schema.no_info_before_validator_function(self.read, handler(source))

    def __get_pydantic_json_schema__(
        self, core: core_schema.CoreSchema, handler: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        return dict(self.schema)


def length_schema(low: float = -LONGEST_MM, high: float = LONGEST_MM) -> dict[str, Any]:
    """A number in mm, or a text with its unit."""
    number = {"type": "number", "minimum": low, "maximum": high}
    return {"anyOf": [number, {"type": "string", "pattern": LENGTH_PATTERN}], "unit": "mm"}


def list_schema(items: dict[str, Any], least: int = 1, most: int | None = None) -> dict[str, Any]:
    """A list of so many items."""
    limits = {"minItems": least} | ({} if most is None else {"maxItems": most})
    return {"type": "array", "items": items, **limits}


def table_schema(
    properties: dict[str, Any] | None = None, others: Any = False, required: Iterable[str] = ()
) -> dict[str, Any]:
    """A table with these keys; others: what the value of any other key must be, False without."""
    made = {"type": "object", "properties": properties or {}, "additionalProperties": others}
    return made | ({"required": list(required)} if required else {})


def length_between(low: float, high: float, what: str) -> Kind:
    return Kind(lambda value: parse_length(value, low, high, what), length_schema(low, high))


def number_between(low: float, high: float, what: str, unit: str = "") -> Kind:
    schema: dict[str, Any] = {"type": "number", "minimum": low, "maximum": high}
    return Kind(
        lambda value: number(value, low, high, what), schema | ({"unit": unit} if unit else {})
    )


def _name(value: object) -> str:
    if not isinstance(value, str):
        raise ValueError(f"found {described(value)}, expected a name in quotes")
    seen = "".join(letter for letter in value if letter not in JOINERS)
    if not seen.strip() or len(value) > LONGEST_NAME or not seen.isprintable():
        raise ValueError(
            f"found {described(value)}, expected a name of 1 to {LONGEST_NAME} printable characters"
        )
    return value.strip()


def _file_name(value: object) -> str:
    if not isinstance(value, str):
        raise ValueError(f"found {described(value)}, expected a file's name in quotes")
    if not value.strip() or len(value) > LONGEST_PATH or not value.isprintable():
        expected = f"expected a file's name of 1 to {LONGEST_PATH} printable characters"
        raise ValueError(f"found {described(value)}, {expected}")
    return value


Name = Annotated[str, Kind(_name, {"type": "string", "minLength": 1, "maxLength": LONGEST_NAME})]
FileName = Annotated[
    str, Kind(_file_name, {"type": "string", "minLength": 1, "maxLength": LONGEST_PATH})
]


def fail(file: Path, text: str, path: KeyPath, key: str, problem: str) -> NoReturn:
    """Raise a JobError that points at `path` in `text`."""
    raise JobError(file, problem, line_of(text, path), key) from None


def raise_first(error: ValidationError, file: Path, text: str, data: dict[str, Any]) -> NoReturn:
    """Turn pydantic's findings into the one that stands first in the file."""
    found = []
    for detail in error.errors(include_url=False):
        path: KeyPath = tuple(detail["loc"])
        if detail["type"] in OWN_KEY:
            path = (*path, detail["ctx"]["key"])
        found.append((line_of(text, path) or math.inf, path, detail))
    _, path, detail = min(found, key=lambda item: item[0])
    problem = _problem(path, detail)
    if detail["type"] == "missing":
        others = [
            str(other[-1])
            for _, other, also in found
            if also["type"] == "missing" and other[:-1] == path[:-1] and other != path
        ]
        problem += f"; so {'are' if others[1:] else 'is'} {', '.join(others)}" if others else ""
    fail(file, text, path, key_text(path, data), problem)


def key_text(path: KeyPath, data: dict[str, Any]) -> str:
    """A path as a builder reads it: ("tube", 1, "wall") becomes `tube "rail", wall`."""
    words: list[str] = []
    here: Any = data
    for step in path:
        try:
            here = here[step]
        except (KeyError, IndexError, TypeError):
            here = None
        if isinstance(step, int):
            name = here.get("name", here.get("tube")) if isinstance(here, dict) else None
            label = described(name) if isinstance(name, str) else f"number {step + 1}"
            if words:
                words[-1] += f" {label}"
        else:
            words.append(step)
    return ", ".join(words)


def _problem(path: KeyPath, detail: ErrorDetails) -> str:
    kind, message = detail["type"], detail["msg"]
    if kind == "missing":
        return "is missing"
    if kind == "value_error":
        return message.removeprefix("Value error, ")
    if kind in OWN_KEY:
        return message
    if kind == "literal_error":  # told as 'start' or 'end'
        message = detail["ctx"]["expected"].replace("'", '"')
    if len(path) == 1 and kind == "tuple_type" and isinstance(detail["input"], dict):
        return f"found [{path[0]}], expected a table for each of several; write [[{path[0]}]]"
    if len(path) == 1 and kind.startswith("model_") and isinstance(detail["input"], list):
        return f"found [[{path[0]}]], expected one table; write [{path[0]}]"
    expected = {
        "tuple_type": "a list in square brackets",
        "model_type": "a table",
        "model_attributes_type": "a table",
        "dict_type": "a table",
        "bool_type": "true or false",
    }.get(kind, message[0].lower() + message[1:])
    return f"found {described(detail['input'])}, expected {expected}"
