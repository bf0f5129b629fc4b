"""What is wrong with a text that is no TOML, in the builder's words, with the corrected line.

Each way to mend a line is for a slip that builders make; it is told only where TOML takes the line.
"""

import json
import re
import tomllib
from collections.abc import Iterator

from frame3d.jobs.locate import KeyPath
from frame3d.jobs.validation import key_text

LONGEST_LINE = 200  # letters: a longer one is told as it stands

_PLACE = re.compile(r" \(at line (\d+), column \d+\)$| \(at end of document\)$")
_BARE_KEY = re.compile(r"[A-Za-z0-9_-]+")
_NUMBER = re.compile(r"[+-]?(?:\d+(?:\.\d*)?|\.\d+)")
_DECIMAL_COMMA = re.compile(r"([+-]?\d+),(\d+)")
_WITH_UNIT = re.compile(r"[+-]?[\d.,/ -]+([A-Za-z]+|\"|'')")
_FRACTION = re.compile(r"(?:\d+[ -])?\d+/\d+")
_HEX = re.compile(r"#[0-9A-Fa-f]{3,6}")
# Typographic quotes, and the minus sign that is no hyphen.
_STRAIGHT = str.maketrans(
    {**dict.fromkeys("“”„‟″«»", '"'), **dict.fromkeys("‘’‚′", "'"), "−": "-", "–": "-"}
)
_PLAIN_WORDS = {
    "Unclosed array": "a list is opened with [ and not closed with ]",
    "Unclosed inline table": "a table is opened with { and not closed with }",
    "Expected '=' after a key in a key/value pair": "expected = after the key",
    "Expected newline or end of document after a statement": "expected nothing after the value",
    "Cannot overwrite a value": "the key is given a second time, expected once",
}


# Tables of which a file may hold several; of all others it holds one.
SEVERAL = {
    *("tube", "joint", "hole", "end", "plate", "part", "clearance", "measured"),
    *("saw", "block", "stock", "rims", "headset_bores", "steerers", "shells", "seat_posts", "hubs"),
}


def fault_in(text: str, message: str) -> tuple[str, int | None, str]:
    """What is wrong, the line that shows it, and the key there, if a line starts with one.

    text: the whole file; message: what the standard reader says of it, with its place
    """
    place = _PLACE.search(message)
    said = message[: place.start()] if place else message
    lines = text.splitlines()
    number = int(place[1]) if place and place[1] else len(lines)
    if not 0 < number <= len(lines):
        return f"is not valid TOML: {said}", None, ""
    header = lines[number - 1].startswith("[")
    if said == "Unclosed array" or (said == "Invalid value" and header):
        # Told where the next key or table stands; opened some lines above.
        above = range(number - 1, 0, -1)
        number = next((n for n in above if _opens(lines[n - 1])), number)
    line = lines[number - 1].strip()
    key = key_at(lines, number)
    again = re.fullmatch(r"Cannot declare \('(\w+)',\) twice", said)
    if again or (said == "Cannot overwrite a value" and line.startswith("[")):
        name = line.strip("[] \t")
        of_many = f"; write [[{name}]] for each of several" if name in SEVERAL else ", expected one"
        return f"found a second {line}{of_many}", number, name
    for mended, why in _mended(line) if not _is_toml(line) else ():
        if mended != line and _is_toml(mended):
            return f"found {line}; write {mended}{why and ': '}{why}", number, key
    if said == "Invalid value" and not line.partition("=")[2].partition("#")[0].strip():
        said = "the value is missing"
    return f"is not valid TOML: {_PLAIN_WORDS.get(said, said)}", number, key


def _opens(line: str) -> bool:
    return not line.lstrip().startswith("[") and line.count("[") > line.count("]")


def _is_toml(line: str) -> bool:
    try:
        tomllib.loads(line)
    except (ValueError, RecursionError):
        return False
    return True


def key_at(lines: list[str], number: int) -> str:
    """The key of a line with the table that it stands in, as other messages name it."""
    key = re.split(r"[=:\s]", lines[number - 1].lstrip(), maxsplit=1)[0].strip("\"'")
    if not _BARE_KEY.fullmatch(key):
        key = ""
    above = lines[: number - 1]
    starts = [n for n, line in enumerate(above) if line.startswith("[")]
    if not starts or lines[number - 1].lstrip().startswith("["):
        return key
    try:
        data = tomllib.loads("\n".join(above))
    except (ValueError, RecursionError):
        return key
    name = above[starts[-1]].partition("#")[0].strip("[] \t")
    items = data.get(name)
    path: KeyPath = (name, len(items) - 1) if isinstance(items, list) else (name,)
    return key_text((*path, key) if key else path, data)


def _mended(line: str) -> Iterator[tuple[str, str]]:
    """The line as it may have been meant, with why, the likest first."""
    if len(line) > LONGEST_LINE:
        return
    straight = line.translate(_STRAIGHT)
    yield straight, "quotes and minus are plain ones" if straight != line else ""
    line = straight
    if line.startswith("["):
        name = line.partition("#")[0].strip("[] \t")
        many = line.startswith("[[")
        yield (f"[[{name}]]" if many else f"[{name}]"), ""
        return
    key, equals, value = line.partition("=")
    if not equals:
        key, _, value = line.partition(":" if ":" in line else " ")
        if not _BARE_KEY.fullmatch(key.strip()) or (":" not in line and value[:1].isalpha()):
            return  # prose
    key, value = key.strip(), value.strip()
    if not _is_toml(f"{key} = 0"):
        key = json.dumps(key.strip("\"'"), ensure_ascii=False)
    if _HEX.fullmatch(value.partition(" ")[0]):
        yield f'{key} = "{value.partition(" ")[0]}"', "a text stands in quotes"
    value = value if value[:1] in ("'", '"') else value.partition("#")[0].strip()
    if not value:
        return
    yield f"{key} = {value}", ""
    if value.startswith("["):
        items = re.split(r"([\[\],])", value)
        mended = "".join(_item(part) for part in items)
        yield f"{key} = {mended}", "a text or a number with a unit stands in quotes"
        missing = value.count("[") - value.count("]")
        yield f"{key} = {value}{']' * max(missing, 0)}", "the list is closed with ]"
        return
    for mended, why in _value(value):
        yield f"{key} = {mended}", why


def _item(part: str) -> str:
    words = part.strip()
    if not words or words in "[]," or _is_toml(f"a = {words}"):
        return part
    return part.replace(words, next(_value(words))[0])


def _value(value: str) -> Iterator[tuple[str, str]]:
    """A single value as TOML takes it, with why."""
    if comma := _DECIMAL_COMMA.fullmatch(value):
        yield f"{comma[1]}.{comma[2]}", "a decimal point"
    if value.lower() in ("true", "false"):
        yield value.lower(), "in small letters"
    if _NUMBER.fullmatch(value):
        yield f"{float(value):g}", "a digit on each side of the point, none too many before it"
    if _FRACTION.fullmatch(value):
        yield f'"{value} in"', "a fraction stands in quotes, with its unit"
    if unit := _WITH_UNIT.fullmatch(value):
        mark = unit[1] in ('"', "''")
        size = value.removesuffix(unit[1]).strip()
        size = _DECIMAL_COMMA.sub(r"\1.\2", size)
        yield f'"{size} {"in" if mark else unit[1]}"', "a number with a unit stands in quotes"
    if value[0] in ("'", '"'):
        yield f"{value}{value[0]}", "the closing quote was missing"
        yield f"'{value[1:-1]}'", "single quotes where a text holds a backslash"
    yield json.dumps(value.strip("\"'"), ensure_ascii=False), "a text stands in quotes"
