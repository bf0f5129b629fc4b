"""In which line of a TOML text a key stands, since the standard reader does not tell."""

import re
from collections import defaultdict
from functools import lru_cache

KeyPath = tuple[str | int, ...]

_HEADER = re.compile(r"\s*(\[\[?)\s*([^\[\]]+?)\s*\]\]?\s*(#.*)?$")
_ASSIGNMENT = re.compile(r"""\s*(?:"([^"]*)"|'([^']*)'|([A-Za-z0-9_-]+))\s*=""")


def line_of(text: str, path: KeyPath) -> int | None:
    """The line, from 1, of the key at `path`, such as ("tube", 1, "wall").

    Without a line of its own (a missing key, an item of a list) the line of what holds it; None
    where nothing does.
    """
    known = _lines(text)
    for length in range(len(path), 0, -1):
        if path[:length] in known:
            return known[path[:length]]
    return None


@lru_cache(maxsize=4)  # a text with thousands of faults is read once
def _lines(text: str) -> dict[KeyPath, int]:
    lines: dict[KeyPath, int] = {}
    counts: defaultdict[KeyPath, int] = defaultdict(int)
    table: KeyPath = ()
    for number, line in enumerate(text.splitlines(), start=1):
        if header := _HEADER.match(line):
            name: KeyPath = ()
            for part in header[2].split("."):
                # Within an array of tables, [array.key] belongs to its last one.
                holder = (*name, counts[name] - 1) if name in counts else name
                name = (*holder, part.strip().strip("\"'"))
            if header[1] == "[[":
                lines.setdefault(name, number)
                table = (*name, counts[name])
                counts[name] += 1
            else:
                table = name
            lines.setdefault(table, number)
        elif assignment := _ASSIGNMENT.match(line):
            key = next(group for group in assignment.groups() if group is not None)
            lines.setdefault((*table, key), number)
    return lines
