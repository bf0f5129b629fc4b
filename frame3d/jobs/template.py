"""A job and a shop to start from, with every key explained: by the help of its own table."""

import json
import re
from textwrap import wrap

from frame3d.jobs.reference import Key, KeyTable, keys_of, reference

WIDTH, COLUMN = 100, 30  # of a line, and where its comment begins if it can
LONGEST = 58  # of a line whose comment stands behind it

_HEADER = re.compile(r"(?:# |@)?\[\[?([\w.]+)\]\]?$")
_KEY = re.compile(r"(?:# )?([\w-]+) *=")

# Of a key that stands below for the first time the meaning follows, from the key's own help.
# Lines that begin with @ become comments with an example or what is usual: @[table] a whole table,
# @key one key; @* becomes all keys of the table, those without a usual value as comments.
_JOB = """\
# A job: tubes, and the ends that are coped onto other tubes.
# Axes: x forward, y left, z up. Lengths are mm, or a text with its unit:
# 28.6, "28.6 mm", "1 1/8 in", "0.035 in". `frame3d explain KEY` tells more of every key.

[job]
name    = {name}
process = "fillet-braze"
shop    = "shop.toml"
@tubes
# cut   = "saw"

@[limits]

[[tube]]
name     = "post"
start    = [0.0, 0.0, -100.0]
end      = [0.0, 0.0, 100.0]
od       = 36.0
wall     = 1.2
material = "steel"

[[tube]]
name  = "rail"
start = [0.0, 0.0, 0.0]
end   = [250.0, 0.0, 60.0]
od    = "1 1/8 in"
wall  = [[0, 0.9], [60, 0.9], [90, 0.6]]

{shapes}
[[joint]]
tube = "rail"
end  = "start"
onto = ["post"]
saw  = 37.0
# cut = "saw"

{more}"""

_SHAPES = """\
# A tube cut from a raw one, and other shapes:
@stock
@raw_length
@trim_start
@flipped
# od    = [[0, 22.2], [200, 22.2], [380, 12.5]]       # tapered
# od    = [[0, 28.6], [60, 28.6], [60, 30.0]]         # stepped: one distance twice
@oval
@bends
"""

_MORE = """\
# [[end]]
# tube  = "{end}"
# end   = "end"
# kind  = "slot"
# depth = 18.0
# width = 5.0
# angle = 90

# [[plate]]
@name
@outline
@thickness
{stands}
@u
@v
@slots
@material

@[cranks]

# [clearances]
@toe_mm
@pedal_lean_deg
@tyre_mm
@chain_ring_mm
@crank_mm
@heel_mm
# head_tube = "{mate}"
@foot_retention
@front_mudguard

# [[clearance]]
# between = ["{mate}", "{other}"]
# least   = 1.0

# [[hole]]
# tube     = "{other}"
# at       = 120.0
# angle_deg = 90
# diameter = 6.1
# kind     = "bottle boss"
# through  = false

# [paint]
# frame = "navy"
# tube  = {{ "{other}" = "ivory" }}

# [[part]]
# name  = "wheel"
# kind  = "wheel"
# centre = [400.0, 0.0, 0.0]
# radius = 340
# width  = 32

# [[measured]]
# tube  = "{measured}"
# end   = "{measured_end}"
@od
@saw
@angle
@long
@short
@left
@right
@phase
# mates = {{ "{mate}" = 36.05 }}
"""

_SHOP = """\
# What stands in this shop. Everything may be left out.

[shop]
name = "my shop"
# cut = "saw"

[[saw]]
od    = 28.9
depth = 38.0
# tooth = 1.5
# teeth = 26
@proved
@kind

[[saw]]
od    = 37.0
depth = 38.0

[mill]
@*

@[[block]]

@[errors]

@[printer]
"""

_BICYCLE = """\
# A bicycle: its numbers, and the tubes that are picked for it. Lengths are mm, or a text with its
# unit: 28.6, "28.6 mm", "1 1/8 in", "0.035 in"; angles are degrees.
# See what the numbers come to, before tubes are picked and after: frame3d geometry job.toml

[job]
name    = {name}
process = "fillet-braze"
shop    = "shop.toml"
@tubes
cut     = "saw"

[bicycle]
front_wheel       = "28-622"
rear_wheel        = "28-622"
headset           = "EC34/28.6 | EC34/30"
shell             = "ISO 68"
seat_post         = 27.2
front_hub         = "100x9"
rear_hub          = "130x10"
bb_drop           = 70.0
chain_stay_length = 430.0
head_tube_angle   = 72.5
rake              = 45.0
fork_length       = 393.0
stack             = 580.0
reach             = 385.0
seat_tube_angle   = 73.0
seat_tube_length  = 540.0

# Any numbers that together fix the frame will do; too few or too many are told. These are known
# (top_tube_length and down_tube_length are only told):
{measures}

@[bicycle.rear]

@[bicycle.fork]

@[rider]

@[limits]

# A tube of the bicycle has its axis from the numbers and its joints by itself. Head tube and shell,
# if not picked, are what the headset and the standard ask for; top tube, seat stays, bridges and
# the fork may be left out. Stays and blades are picked once for both sides.
[[tube]]
name = "top tube"             # from the seat tube to the head tube
od   = 28.6
wall = [[0, 0.8], [90, 0.8], [120, 0.5], [430, 0.5], [460, 0.8]]

[[tube]]
name = "down tube"            # from the shell to the head tube
od   = 31.8
wall = [[0, 0.8], [100, 0.8], [130, 0.5], [500, 0.5], [530, 0.8]]

[[tube]]
name = "seat tube"            # from the shell up
od   = 28.6
wall = 0.7

[[tube]]
name = "chain stay"           # from the shell to the dropout
od   = [[0, 20.0], [200, 20.0], [380, 12.5]]
wall = 0.8

[[tube]]
name = "seat stay"            # from the seat tube to the dropout
od   = 14.0
wall = 0.8

[[tube]]
name = "chain stay bridge"
od   = 12.7
wall = 0.9

[[tube]]
name = "seat stay bridge"
od   = 12.7
wall = 0.9

[[tube]]
name = "steerer"              # from the crown up
od   = 28.6
wall = 1.6

[[tube]]
name = "crown"                # across, under the head tube
od   = 34.9
wall = 2.0

[[tube]]
name = "fork blade"           # from the crown to the dropout
od   = [[0, 24.0], [180, 24.0], [340, 13.0]]
wall = 1.0

{shapes}
# start, end and bends of a tube, and a [[joint]] of your own, win over the bicycle's. More tubes
# and joints stand where they say, from the shell's centre: x forward, y left, z up.
# [[joint]]
# tube = "top tube"
# end  = "end"
# onto = ["head tube"]
# saw  = 37.0
# cut  = "saw"

# In [[hole]] and [[end]] "seat stay", "chain stay" or "fork blade" stands for both sides: angles
# as on the left one, and the right one is its mirror image.
{more}"""


def bicycle_text(name: str) -> str:
    """A bicycle's job file that passes as it is, under this name."""
    shown = set(re.findall(r"(?m)^(\w+) +=", _BICYCLE))
    known = [key for key in keys_of("bicycle") if key.values not in ("a table", "a text in quotes")]
    lines = [f"{key.name:<26} {key.meaning}" for key in known if key.name not in shown]
    wrapped = [part for line in lines for part in wrap(line, 90, subsequent_indent=" " * 27)]
    measures = "\n".join(f"# {line}" for line in wrapped)
    names = {"other": "down tube", "mate": "head tube", "end": "seat stay", "stands": "@axle"}
    more = _MORE.format(measured="top tube", measured_end="end", **names)
    return _text(_BICYCLE, name, more, measures=measures)


def job_text(name: str) -> str:
    """A job file that passes as it is, under this name."""
    names = {"other": "rail", "mate": "post", "end": "rail", "stands": "@at"}
    return _text(_JOB, name, _MORE.format(measured="rail", measured_end="start", **names))


def shop_text() -> str:
    """A shop file to go with it."""
    return _explained("shop", _SHOP)


def _text(template: str, name: str, more: str, **values: str) -> str:
    quoted = json.dumps(name, ensure_ascii=False)
    return _explained("job", template.format(name=quoted, shapes=_SHAPES, more=more, **values))


def _explained(file: str, text: str) -> str:
    """The text with its marks filled in, and each key's meaning behind it where it stands first."""
    tables = {table.place: table for table in reference() if table.file == f"{file} file"}
    out, told = [f"#:schema ./{file}.schema.json"], set()
    table = None
    for marked in text.splitlines():
        if header := _HEADER.match(marked):
            table = tables[header[1]]
        meanings = {key.name: _meaning(key) for key in table.keys} if table else {}
        for line in _filled(marked, table):
            meaning = place = ""
            if table and _HEADER.match(line):
                place, meaning = table.place, table.meaning
            elif table and (key := _KEY.match(line)):
                place, meaning = f"{table.place}.{key[1]}", meanings.get(key[1], "")
            out += _with_comment(line, "" if place in told or "  #" in line else meaning)
            told.add(place)
    return "\n".join(out) + "\n"


def _meaning(key: Key) -> str:
    """With the words that it may have, where the meaning does not name them."""
    words = re.findall(r'"(.*?)"', key.values)
    named = all(word in key.meaning for word in words)
    return key.meaning if named else f"{key.meaning}: {key.values}"


def _filled(marked: str, table: KeyTable | None) -> list[str]:
    """The lines that a mark stands for; any other line as it is."""
    if not (marked.startswith("@") and table):
        return [marked]
    shown = {key.name: key.example for key in table.keys}
    if marked[1:] in shown:
        return [f"# {marked[1:]} = {shown[marked[1:]]}"]
    width = max(map(len, shown))
    if marked == "@*":
        usual = {key.name for key in table.keys if key.usual}
        marks = {name: "" if name in usual else "# " for name in shown}
        return [f"{marks[name]}{name:<{width}} = {value}" for name, value in shown.items()]
    return [f"# {marked[1:]}", *(f"# {name:<{width}} = {value}" for name, value in shown.items())]


def _with_comment(line: str, meaning: str) -> list[str]:
    """The line with its meaning behind it, or below it where the line is long."""
    if not meaning:
        return [line]
    above = [line] if len(line) > LONGEST else []
    line, mark = "" if above else line, "# " if line.startswith("# ") else ""
    column = max(COLUMN, len(line) + 2)
    first, *others = wrap(meaning, WIDTH - column - 2)
    lines = [f"{line or mark:<{column}}# {first}"]
    return [*above, *lines, *(f"{mark:<{column}}# {part}" for part in others)]
