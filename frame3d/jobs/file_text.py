"""The text of a job file, a shop file or a tube list, and the TOML in it."""

import re
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from frame3d.jobs.job_error import JobError
from frame3d.jobs.locate import KeyPath
from frame3d.jobs.toml_faults import fault_in, key_at
from frame3d.jobs.validation import fail, key_text

LARGEST_BYTES = 1_000_000  # own choice; a whole bicycle's job has some 10,000
DEEPEST = 20  # tables and lists within each other, and parts of a key; a job needs 5
# TOML 1.0.0, "Integer": an integer that 64 bits do not hold must be refused.
LARGEST_INTEGER = 2**63
EXPECTED = "expected one of 18 digits at most"
LONG = re.compile(r"[\d_]{4000}")
BETWEEN_KEYS = re.compile(r"[={},\[\]#\n]")
QUOTES = str.maketrans("", "", "\"'")


def text_of(file: Path, what: str) -> str:
    """The text of a file. Raises JobError for what cannot be read or is no text."""
    if file.is_dir():
        raise JobError(file, f"is a folder, expected {what}")
    try:
        data = file.read_bytes()
    except FileNotFoundError:
        raise JobError(file, f"there is no such file, expected {what}") from None
    except OSError as error:
        raise JobError(file, f"cannot be read: {error.strerror}") from None
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        raise JobError(file, f"is not text in UTF-8, expected {what} in TOML", line) from None
    if len(data) > LARGEST_BYTES:
        size = f"{len(data) / 1e6:.1f} MB"
        raise JobError(file, f"holds {size}, expected {LARGEST_BYTES / 1e6:g} MB at most")
    if "\0" in text:
        raise JobError(file, f"is not text, expected {what} in TOML")
    if not text.strip():
        raise JobError(file, f"is empty, expected {what} in TOML")
    return text


def parsed(file: Path, text: str) -> dict[str, Any]:
    """The tables in a text. Raises JobError for what is no TOML, and for numbers that TOML does not
    know."""
    keys = BETWEEN_KEYS.split(text.translate(QUOTES).replace(" ", ""))
    if any(key.count(".") > DEEPEST and ".." not in key for key in keys):
        # The reader's time would grow with the square of the parts.
        raise JobError(file, f"found a key of more than {DEEPEST} parts with dots between")
    try:
        data = tomllib.loads(text.replace("\r\n", "\n"))
    except tomllib.TOMLDecodeError as error:
        raise JobError(file, *fault_in(text, str(error))) from None
    except RecursionError:
        raise JobError(file, "is not valid TOML: lists or tables are nested too deep") from None
    except ValueError:  # Python reads no integer of more than 4,300 digits
        lines = text.splitlines()
        line = next(n for n, words in enumerate(lines, 1) if LONG.search(words))
        problem = f"found a number of thousands of digits, {EXPECTED}"
        raise JobError(file, problem, line, key_at(lines, line)) from None
    for path, problem in _unusable(data, ()):
        fail(file, text, path, key_text(path, data), problem)
    return data


def _unusable(value: Any, path: KeyPath) -> Iterator[tuple[KeyPath, str]]:
    """Integers that TOML does not know, and what is nested too deep, with the place of each."""
    if isinstance(value, dict | list):
        if len(path) > DEEPEST:
            yield path[:3], f"is nested more than {DEEPEST} deep"
            return
        items = value.items() if isinstance(value, dict) else enumerate(value)
        for step, item in items:
            if isinstance(item, dict | list | int):
                yield from _unusable(item, (*path, step))
    elif not -LARGEST_INTEGER <= value < LARGEST_INTEGER:
        digits = int(value.bit_length() * 0.30103)
        yield path, f"found a number of about {digits} digits, {EXPECTED}"
