"""In which line of a TOML text a key stands, since the standard reader does not tell.

Only for texts that the standard reader takes: what is no TOML is not noticed here.
"""

import re
import tomllib
from collections import defaultdict
from collections.abc import Iterator, Sequence
from functools import lru_cache

KeyPath = tuple[str | int, ...]

# TOML 1.0.0: what is in quotes may hold any mark, and in three quotes lines too.
_TOKEN = re.compile(
    r'''(?P<quoted>"""(?:\\.|[^\\])*?"{3,5}|\'\'\'.*?'{3,5}|"(?:\\.|[^"\\\n])*"|'[^'\n]*')'''
    r"""|(?P<comment>\#[^\n]*)|(?P<mark>[][{},=.\n])|(?P<bare>[^][{},=.\n\#"'\s]+)""",
    re.DOTALL,
)


Token = tuple[str, int]  # a word or a mark, and the line where it begins


def line_of(text: str, path: KeyPath) -> int | None:
    """The line, from 1, of the key at `path`, such as ("tube", 1, "wall"), or of an item of a list.

    Without a line of its own (a missing key) the line of what holds it; None where nothing does.
    """
    known = _lines(text)
    for length in range(len(path), 0, -1):
        if path[:length] in known:
            return known[path[:length]]
    return None


@lru_cache(maxsize=4)
def _lines(text: str) -> dict[KeyPath, int]:
    """The line of every table, key and item of a list; each part of the text is read once."""
    lines: dict[KeyPath, int] = {}
    counts: defaultdict[KeyPath, int] = defaultdict(int)
    table: KeyPath = ()
    tokens = [*_tokens(text), ("\n", 0)]
    at = 0
    while at < len(tokens):
        word, number = tokens[at]
        if word == "\n":
            at += 1
        elif word == "[":
            several = int(tokens[at + 1][0] == "[")
            parts, at = _key(tokens, at + 1 + several)
            name: KeyPath = ()
            for part in parts:
                # Within an array of tables, [array.key] belongs to its last one.
                name = (*name, counts[name] - 1, part) if name in counts else (*name, part)
                lines.setdefault(name, number)
            table = name
            if several:
                table = (*name, counts[name])
                counts[name] += 1
            lines.setdefault(table, number)
            at += 1 + several
        else:
            at = _assigned(tokens, at, table, lines)
    return lines


def _tokens(text: str) -> Iterator[Token]:
    """Words and marks, each with the line where it begins; comments are left out."""
    number = 1
    for found in _TOKEN.finditer(text):
        word = found[0]
        if found.lastgroup != "comment":
            yield word, number
        number += word.count("\n")


def _key(tokens: Sequence[Token], at: int) -> tuple[list[str], int]:
    """The parts of a key, with dots between or without, and where it ends."""
    parts = [_plain(tokens[at][0])]
    while tokens[at + 1][0] == ".":
        at += 2
        parts.append(_plain(tokens[at][0]))
    return parts, at + 1


def _plain(part: str) -> str:
    """A part of a key without its quotes."""
    if part[0] == "'":
        return part[1:-1]
    return str(tomllib.loads(f"key = {part}")["key"]) if part[0] == '"' else part


def _assigned(tokens: Sequence[Token], at: int, table: KeyPath, lines: dict[KeyPath, int]) -> int:
    """Take in a key of `table` with all of its value; returns where that ends."""
    # What is open around here: the path of each, and of a list how many items are past.
    held: list[tuple[KeyPath, int | None]] = [(table, None)]
    place, key_next = table, True
    while True:
        word, number = tokens[at]
        path, past = held[-1]
        if word == "\n":
            if len(held) == 1:
                return at
        elif word in ("]", "}"):
            held.pop()
            key_next = False
        elif word == ",":
            held[-1] = (path, None if past is None else past + 1)
            key_next = past is None
        elif key_next:
            parts, at = _key(tokens, at)  # now at its equals sign
            place, key_next = path, False
            for part in parts:
                place = (*place, part)
                lines.setdefault(place, number)
        else:
            here = place if past is None else (*path, past)
            lines.setdefault(here, number)
            if word in ("[", "{"):
                held.append((here, 0 if word == "[" else None))
                key_next = word == "{"
        at += 1
