"""A message names the line where the key stands, in whatever way TOML lets it be written."""

import time
import tomllib
from pathlib import Path

import pytest

from frame3d.jobs.locate import KeyPath, line_of

EXAMPLES = sorted((Path(__file__).parents[2] / "examples").glob("**/*.toml"))

TEXT = '''\
title = "a # b [x] = 1"       # [no.table]
[job]
name = """
[[tube]]
od = 1
"""
note = \'\'\'
[x]\'\'\'
"quoted key".'and.dotted' . plain = 1
[[tube]]
od = [
  [0, 1.2], # a row, [no header]
  [90,
   "]"],
]
wall = 0.9
oval = { across = 20, "an\\u0067le" = 3.5, deep = { er = [1,
  2] } }
[[tube]]
[tube.bends]
radius = 1979-05-27 07:32:00
[[tube.slots]]
width = 1
[[tube.slots]]
width = -2.5e3
[ a . "b.c" ]
d = [{ x = 1 },
     { x = 2, y = { z = 3 } },
     ]
last = true
'''

PLACES: list[tuple[KeyPath, int]] = [
    (("title",), 1),
    (("job",), 2),
    (("job", "name"), 3),
    (("job", "note"), 7),
    (("job", "quoted key", "and.dotted", "plain"), 9),
    (("tube",), 10),
    (("tube", 0), 10),
    (("tube", 0, "od"), 11),
    (("tube", 0, "od", 0), 12),
    (("tube", 0, "od", 1, 0), 13),
    (("tube", 0, "od", 1, 1), 14),
    (("tube", 0, "wall"), 16),
    (("tube", 0, "oval", "angle"), 17),
    (("tube", 0, "oval", "deep", "er", 1), 18),
    (("tube", 0, "missing"), 10),
    (("tube", 1), 19),
    (("tube", 1, "bends", "radius"), 21),
    (("tube", 1, "slots", 0, "width"), 23),
    (("tube", 1, "slots", 1, "width"), 25),
    (("a", "b.c"), 26),
    (("a", "b.c", "d", 0, "x"), 27),
    (("a", "b.c", "d", 1, "y", "z"), 28),
    (("a", "b.c", "last"), 30),
]


@pytest.mark.parametrize(("path", "line"), PLACES)
@pytest.mark.parametrize("newline", ["\n", "\r\n"])
def test_every_key_of_toml_is_found_in_its_line(path: KeyPath, line: int, newline: str) -> None:
    assert line_of(TEXT.replace("\n", newline), path) == line


def test_what_stands_nowhere_has_no_line() -> None:
    assert line_of(TEXT, ("plate", 0)) is None


def places(value: object, path: KeyPath = ()) -> list[KeyPath]:
    steps = value.items() if isinstance(value, dict) else enumerate(value)  # type: ignore[arg-type]
    found = []
    for step, item in steps:
        found.append((*path, step))
        if isinstance(item, dict | list):
            found += places(item, (*path, step))
    return found


@pytest.mark.parametrize("file", EXAMPLES, ids=lambda file: "/".join(file.parts[-2:]))
def test_the_line_of_every_key_of_the_examples_names_it(file: Path) -> None:
    text = file.read_text()
    rows = text.split("\n")
    for path in places(tomllib.loads(text)):
        line = line_of(text, path)
        assert line is not None
        key = next(step for step in reversed(path) if isinstance(step, str))
        if isinstance(path[-1], str):
            assert key in rows[line - 1], (path, line)


def test_a_file_of_many_lines_is_read_once() -> None:
    """Every key of 20,000 lines, in well under what reading it again for each would take."""
    text = "".join(f'[[tube]]\nname = "t{n}"\nod = [\n  [0, 1.2],\n]\n' for n in range(4000))
    begin = time.process_time()
    tomllib.loads(text)
    once = time.process_time() - begin
    begin = time.process_time()
    assert line_of(text, ("tube", 3999, "od", 0)) == 19_999
    for n in range(4000):
        assert line_of(text, ("tube", n, "od")) == 5 * n + 3
    assert time.process_time() - begin < 50 * once
