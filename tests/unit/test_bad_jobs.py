"""Every job that cannot be used gets one clear message, exit status 2, and writes nothing."""

from pathlib import Path

import pytest
from click.testing import CliRunner

from frame3d_cli.main import main

GOOD = """\
[job]
name = "pair"
process = "fillet-braze"

[[tube]]
name = "post"
start = [0, 0, -100]
end = [0, 0, 100]
od = 36.0
wall = 1.2

[[tube]]
name = "rail"
start = [0, 0, 0]
end = [250, 0, 60]
od = 28.6
wall = 0.9

[[joint]]
tube = "rail"
end = "start"
onto = ["post"]
saw = 37.0
"""

JOINT = '[[joint]]\ntube = "rail"\nend = "start"\nonto = ["post"]\n'
SAWN = JOINT + "saw = 37.0\n"
PROCESS = 'process = "fillet-braze"\n'
RAIL = '[[tube]]\nname = "rail"\nstart = [0, 0, 0]\nend = [250, 0, 60]\nod = 28.6\nwall = 0.9\n'

# What is replaced in the good job, by what, and what the message must say.
CHANGED = {
    "od zero": ("od = 28.6", "od = 0", ["line 16", 'tube "rail", od', "found 0", "from 1 to"]),
    "od negative": ("od = 28.6", "od = -28.6", ["line 16", "found -28.6", "outside diameter"]),
    "od nan": ("od = 28.6", "od = nan", ["line 16", "found nan", "finite"]),
    "od infinite": ("od = 28.6", "od = inf", ["line 16", "found inf", "finite"]),
    "od as text without unit": ("od = 28.6", 'od = "28.6"', ["line 16", "without unit"]),
    "od in kilograms": ("od = 28.6", 'od = "28.6 kg"', ["line 16", '"kg"', "mm, cm, m or in"]),
    "od in degrees": ("od = 28.6", 'od = "28.6°"', ["line 16", "expected a length"]),
    "od is a word": ("od = 28.6", 'od = "wide"', ["line 16", '"wide"', "expected a length"]),
    "od is empty text": ("od = 28.6", 'od = ""', ["line 16", "expected a length"]),
    "od is true": ("od = 28.6", "od = true", ["line 16", "found true", "expected a length"]),
    "od a list": ("od = 28.6", "od = [28.6]", ["line 16", "28.6", "[distance from start, od]"]),
    "od is a table": ("od = 28.6", "od = { mm = 28.6 }", ["line 16", "found a table"]),
    "od a date": ("od = 28.6", "od = 2026-01-02", ["line 16", "2026-01-02"]),
    "od half written fraction": ("od = 28.6", 'od = "1 1/ in"', ["line 16", "1 1/ in"]),
    "od over zero": ("od = 28.6", 'od = "1/0 in"', ["line 16", "over zero"]),
    "od with comma": ("od = 28.6", 'od = "28,6 mm"', ["line 16", "28,6 mm", "expected a length"]),
    "od beyond all measure": ("od = 28.6", "od = 1e9", ["line 16", "found 1e+09", "to 300 mm"]),
    "od in inches for mm": ("od = 28.6", 'od = "28.6 in"', ["line 16", '"28.6 in"', "to 300 mm"]),
    "wall zero": ("wall = 0.9", "wall = 0", ["line 17", 'tube "rail", wall', "found 0"]),
    "wall negative": ("wall = 0.9", "wall = -0.9", ["line 17", "found -0.9"]),
    "wall nan": ("wall = 0.9", "wall = nan", ["line 17", "found nan"]),
    "wall at the radius": ("wall = 0.9", "wall = 14.3", ["line 17", "than the radius of 14.3"]),
    "wall above the radius": ("wall = 0.9", "wall = 20", ["line 17", "found 20 mm", "radius"]),
    "wall station too thick": (
        "wall = 0.9",
        "wall = [[0, 0.9], [100, 15]]",
        ["line 17", "found 15 mm", "radius"],
    ),
    "wall stations fall": (
        "wall = 0.9",
        "wall = [[50, 0.9], [20, 0.6]]",
        ["line 17", "distances [50.0, 20.0]", "to rise"],
    ),
    "wall stations thrice": (
        "wall = 0.9",
        "wall = [[50, 0.9], [50, 0.6], [50, 0.5]]",
        ["line 17", "twice for a step"],
    ),
    "wall station before the tube": (
        "wall = 0.9",
        "wall = [[-5, 0.9], [50, 0.6]]",
        ["line 17", "station at -5 mm"],
    ),
    "wall station past the tube": (
        "wall = 0.9",
        "wall = [[0, 0.9], [500, 0.6]]",
        ["line 17", "station at 500 mm", "257.099"],
    ),
    "wall without pairs": ("wall = 0.9", "wall = [0.9, 0.6]", ["line 17", "found 0.9", "pairs"]),
    "wall of triples": ("wall = 0.9", "wall = [[0, 0.9, 1]]", ["line 17", "pairs"]),
    "wall empty": ("wall = 0.9", "wall = []", ["line 17", "empty list"]),
    "start of two numbers": ("start = [0, 0, 0]", "start = [0, 0]", ["line 14", "three lengths"]),
    "start a number": ("start = [0, 0, 0]", "start = 5", ["line 14", "found 5", "three lengths"]),
    "start with nan": ("start = [0, 0, 0]", "start = [0, nan, 0]", ["line 14", "found nan"]),
    "start with infinity": ("start = [0, 0, 0]", "start = [-inf, 0, 0]", ["line 14", "found -inf"]),
    "start far beyond": ("start = [0, 0, 0]", "start = [0, 0, 1e7]", ["line 14", "to 100000"]),
    "start with a bad unit": (
        "start = [0, 0, 0]",
        'start = [0, 0, "3 ft"]',
        ["line 14", '"ft"', "mm, cm, m or in"],
    ),
    "zero length": ("end = [250, 0, 60]", "end = [0, 0, 0]", ["line 15", "axis of 0 mm"]),
    "almost zero length": ("end = [250, 0, 60]", "end = [0, 0, 1e-9]", ["line 15", "1e-09 mm"]),
    "unknown key in a tube": ("wall = 0.9", "wal = 0.9", ["line 17", "wal", 'did you mean "wall"']),
    "unknown key in a joint": ("saw = 37.0", "saws = 37.0", ["line 23", 'did you mean "saw"']),
    "unknown key in the job": ('name = "pair"', 'nam = "pair"', ["line 2", 'mean "name"']),
    "unknown key of no kin": ("saw = 37.0", "colour = 3", ["line 23", "expected one of tube, end"]),
    "unknown table": ("[[joint]]", "[[join]]", ["line 19", 'did you mean "joint"']),
    "misspelt limits": (SAWN, "[limit]\ngap_mm = 0.3\n", ["line 19", 'did you mean "limits"']),
    "unknown limit": (SAWN, "[limits]\ngap = 0.3\n", ["line 20", 'did you mean "gap_mm"']),
    "negative limit": (SAWN, "[limits]\ngap_mm = -0.3\n", ["line 20", "found -0.3"]),
    "limit angle of zero": (SAWN, "[limits]\nleast_angle_deg = 0\n", ["line 20", "from 1 to 89"]),
    "process unknown": ('"fillet-braze"', '"fillet-brase"', ["line 3", 'mean "fillet-braze"']),
    "process a number": ('"fillet-braze"', "3", ["line 3", "found 3", "silver-braze"]),
    "process missing": (PROCESS, "", ["line 1", "process", "is missing"]),
    "name missing": ('name = "rail"\n', "", ["line 12", "name", "is missing"]),
    "od missing": ("od = 28.6\n", "", ["line 12", 'tube "rail", od', "is missing"]),
    "onto missing": ('onto = ["post"]\n', "", ["line 19", 'joint "rail", onto', "is missing"]),
    "name empty": ('name = "rail"', 'name = "  "', ["line 13", "printable"]),
    "name a number": ('name = "rail"', "name = 7", ["line 13", "found 7", "a name in quotes"]),
    "name with a line break": ('name = "rail"', 'name = "ra\\nil"', ["line 13", "printable"]),
    "name turned round": ('name = "rail"', 'name = "ra\u202eil"', ["line 13", "printable"]),
    "name of joiners": ('name = "rail"', 'name = "\u200d\u200c"', ["line 13", "printable"]),
    "name far too long": ('name = "rail"', f'name = "{"r" * 201}"', ["line 13", "1 to 200"]),
    "name twice": ('name = "rail"', 'name = "post"', ["line 13", '"post" a second time']),
    "material unknown": ("wall = 0.9", 'wall = 0.9\nmaterial = "stele"', ["line 18", '"steel"']),
    "joint of no tube": ('tube = "rail"', 'tube = "rial"', ["line 20", 'did you mean "rail"']),
    "joint end unknown": ('end = "start"', 'end = "top"', ["line 21", 'expected "start" or "end"']),
    "onto no tube": ('["post"]', '["pots"]', ["line 22", '"pots"', 'did you mean "post"']),
    "onto itself": ('["post"]', '["rail"]', ["line 22", '"rail" itself']),
    "onto the same twice": ('["post"]', '["post", "post"]', ["line 22", "twice"]),
    "onto nothing": ('["post"]', "[]", ["line 22", "onto", "at least 1"]),
    "onto a text": ('["post"]', '"post"', ["line 22", '"post"', "list in square brackets"]),
    "saw zero": ("saw = 37.0", "saw = 0", ["line 23", "found 0", "saw"]),
    "saw negative": ("saw = 37.0", "saw = -37", ["line 23", "found -37"]),
    "saw nan": ("saw = 37.0", "saw = nan", ["line 23", "found nan"]),
    "saw for a stranger": ("saw = 37.0", "saw = { pst = 37.0 }", ["line 23", 'mean "post"']),
    "same end twice": (JOINT, JOINT + JOINT, ["line 25", "coped a second time"]),
    "onto in a circle": (
        JOINT,
        JOINT + '[[joint]]\ntube = "post"\nend = "end"\nonto = ["rail"]\n',
        ["circle", "post onto rail onto post"],
    ),
    "shop file missing": (
        PROCESS,
        PROCESS + 'shop = "none.toml"\n',
        ["line 4", "job, shop", "none.toml", "expected a shop file"],
    ),
    "shop not a text": (PROCESS, PROCESS + "shop = 3\n", ["line 4", "job, shop", "found 3"]),
    "no tubes": (GOOD[GOOD.index("[[tube]]") :], "", ["tube", "is missing"]),
    "tubes as a table": (RAIL, "", ["no tube has that name"]),
    "tube not a list": (GOOD[GOOD.index("[[tube]]") :], "[tube]\nod = 3\n", ["write [[tube]]"]),
    "key twice": ("od = 28.6", "od = 28.6\nod = 28.7", ["line 17", "not valid TOML"]),
    "bracket left open": ("end = [250, 0, 60]", "end = [250, 0, 60", ["line 15", "closed with ]"]),
    "decimal comma": (
        "od = 28.6",
        "od = 28,6  # by the caliper",
        ["line 16", "; write od = 28.6: a decimal point"],
    ),
    "value missing": ("od = 28.6", "od =", ["line 16", "not valid TOML"]),
    "quote left open": ('name = "rail"', 'name = "rail', ["line 13", 'write name = "rail": the']),
}  # fmt: skip

# Whole files that are no jobs at all.
WHOLE = {
    "empty": (b"", ["is empty"]),
    "blank": (b" \n\n\t\n", ["is empty"]),
    "binary": (bytes(range(256)), ["line", "not text in UTF-8"]),
    "with zero bytes": (b"[job]\0\n", ["is not text"]),
    "latin-1": ("[job]\nname = 'Müller'\n".encode("latin-1"), ["line 2", "UTF-8"]),
    "prose": (b"Dear shop,\nplease make me a frame.\n", ["line 1", "not valid TOML"]),
    "json": (b'{"job": {"name": "x"}}', ["line 1", "not valid TOML"]),
    "only a comment": (b"# nothing here\n", ["job", "is missing"]),
    "deeply nested": (b"a = " + b"[" * 5000 + b"]" * 5000, ["not valid TOML"]),
}


def refused(job: Path, folder: Path) -> str:
    """What `make` and `check` say of a job that both must refuse; nothing may be written."""
    before = sorted(p.name for p in folder.iterdir())
    messages = []
    for arguments in (["make", str(job), "-o", str(folder / "out")], ["check", str(job)]):
        result = CliRunner().invoke(main, arguments)
        assert result.exit_code == 2, result.output
        assert result.stdout == ""
        messages.append(result.stderr)
    assert messages[0] == messages[1]
    assert messages[0].startswith(f"frame3d: {job}")
    assert messages[0].count("\n") == 1, "one message, one line"
    assert sorted(p.name for p in folder.iterdir()) == before
    return messages[0]


def test_the_table_is_long_enough_and_starts_from_a_job_that_passes(tmp_path: Path) -> None:
    assert len(CHANGED) + len(WHOLE) >= 60
    job = tmp_path / "job.toml"
    job.write_text(GOOD)
    assert CliRunner().invoke(main, ["check", str(job)]).exit_code == 0


@pytest.mark.parametrize("case", CHANGED)
def test_a_bad_key_is_named_with_its_line(case: str, tmp_path: Path) -> None:
    old, new, expected = CHANGED[case]
    assert GOOD.count(old) >= 1
    head, _, tail = GOOD.rpartition(old)
    job = tmp_path / "job.toml"
    job.write_text(head + new + tail, encoding="utf-8")
    message = refused(job, tmp_path)
    for part in expected:
        assert part in message


@pytest.mark.parametrize("case", WHOLE)
def test_a_file_that_is_no_job_is_refused(case: str, tmp_path: Path) -> None:
    data, expected = WHOLE[case]
    job = tmp_path / "job.toml"
    job.write_bytes(data)
    message = refused(job, tmp_path)
    for part in expected:
        assert part in message


def test_a_missing_file_and_a_folder_are_refused(tmp_path: Path) -> None:
    assert "no such file" in refused(tmp_path / "none.toml", tmp_path)
    assert "is a folder" in refused(tmp_path, tmp_path)


@pytest.mark.parametrize(
    ("shop", "expected"),
    {
        "": "is empty",
        "[[saw]]\nod = 0\n": 'line 2, saw number 1, od: found 0',
        "[[saw]]\nod = 37\ndept = 8\n": 'line 3, saw number 1, dept: unknown key, did you mean',
        "[[saw]]\ndepth = 38\n": "line 1, saw number 1, od: is missing",
        "[shop]\nname = 3\n": "line 2, shop, name: found 3",
    }.items(),
)  # fmt: skip
def test_a_bad_shop_file_is_named_itself(shop: str, expected: str, tmp_path: Path) -> None:
    (tmp_path / "shop.toml").write_text(shop)
    job = tmp_path / "job.toml"
    job.write_text(GOOD.replace("[[tube]]", 'shop = "shop.toml"\n\n[[tube]]', 1))
    result = CliRunner().invoke(main, ["check", str(job)])
    assert result.exit_code == 2
    assert result.stderr.startswith(f"frame3d: {tmp_path / 'shop.toml'}")
    assert expected in result.stderr
