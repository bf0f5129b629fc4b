"""A slip in a job file's TOML is told with file, line and key, in the builder's words, and with the
line as it should be."""

from pathlib import Path
from time import process_time

import pytest

import frame3d
from frame3d.jobs import JobError
from frame3d.jobs.file_text import LARGEST_BYTES
from frame3d.web.live import Live

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
"""
RAIL = GOOD.rpartition("[[tube]]")[2]

# What is written in place of what, its place, and the line that the message tells to write.
CORRECTED = {
    "a unit without quotes": (
        "wall = 0.9", "wall = 1.5 mm", 'line 17, tube "rail", wall', 'wall = "1.5 mm"'
    ),
    "a fraction without quotes": ("od = 28.6", "od = 1 1/8 in", "line 16", 'od = "1 1/8 in"'),
    "inches by a mark": ("od = 28.6", 'od = 1 1/8"', "line 16", 'od = "1 1/8 in"'),
    "a fraction without unit": ("od = 28.6", "od = 7/8", "line 16", 'od = "7/8 in"'),
    "a name without quotes": ('"rail"', "rail", "line 13, tube number 2, name", 'name = "rail"'),
    "a name with an apostrophe": ('"rail"', "rail's  # x", "line 13", 'name = "rail\'s"'),
    "curly quotes": ('"rail"', "“rail”", "line 13", 'name = "rail"'),
    "low quotes": ('"rail"', "„rail“", "line 13", 'name = "rail"'),
    "a quote left open": ('"rail"', '"rail', "line 13", 'name = "rail"'),
    "a decimal comma": ("od = 28.6", "od = 28,6  # mm", 'line 16, tube "rail", od', "od = 28.6"),
    "a comma and a unit": ("od = 28.6", "od = 28,6 mm", "line 16", 'od = "28.6 mm"'),
    "a comma in quotes": ("od = 28.6", 'od = "28,6 mm"', "line 16", '"28.6 mm"'),
    "a minus that is none": ("[0, 0, 0]", "[0, −5, 0]", "line 14", "start = [0, -5, 0]"),
    "units in a list": (
        "[250, 0, 60]", "[250 mm, 0, 6 cm]", "line 15", 'end = ["250 mm", 0, "6 cm"]'
    ),
    "no equals sign": ("od = 28.6", "od 28.6", "line 16", "od = 28.6"),
    "a colon": ("od = 28.6", "od: 28.6", "line 16", "od = 28.6"),
    "a bare point": ("wall = 0.9", "wall = .9", "line 17", "wall = 0.9"),
    "noughts before": ("od = 28.6", "od = 028.6", "line 16", "od = 28.6"),
    "a capital": ("wall = 0.9", "flipped = True", "line 17", "flipped = true"),
    "a colour": ("wall = 0.9", "wall = #1f5f8b", "line 17", 'wall = "#1f5f8b"'),
    "a list left open": ("[250, 0, 60]", "[250, 0, 60", "line 15", "end = [250, 0, 60]"),
    "a list of lists left open": (
        "wall = 0.9", "wall = [[0, 0.9], [9, 0.5],\n[[joint]]", "line 17",
        "wall = [[0, 0.9], [9, 0.5],]",
    ),
    "a key of two words": ("wall = 0.9", "seat tube = 3", "line 17", '"seat tube" = 3'),
    "a path of backslashes": (
        'name = "pair"', 'shop = "C:\\mill\\my.toml"', "line 2, job, shop",
        "shop = 'C:\\mill\\my.toml'",
    ),
    "a bracket left out": ("[job]", "[job", "line 1", "[job]"),
    "a bracket too few": ("[[tube]]", "[[tube]", "line 12", "[[tube]]"),
    "one bracket for a tube": ("[[tube]]" + RAIL, "[tube]" + RAIL, "line 12, tube", "[[tube]]"),
    "one bracket for all": (GOOD[GOOD.index("[[tube]]"):], "[tube]" + RAIL, "tube", "[[tube]]"),
    "two brackets for the job": ("[job]", "[[job]]", "line 1, job", "[job]"),
}  # fmt: skip


def told(folder: Path, text: str | bytes) -> str:
    """What is said of a job that cannot be used."""
    job = folder / "job.toml"
    job.write_bytes(text if isinstance(text, bytes) else text.encode())
    with pytest.raises(JobError) as found:
        frame3d.open(job)
    message = str(found.value)
    assert message.startswith(str(job))
    assert "\n" not in message
    assert message.isprintable()
    assert len(message) <= 1_100
    return message


def replaced(old: str, new: str) -> str:
    assert old in GOOD
    head, _, tail = GOOD.rpartition(old)
    return head + new + tail


@pytest.mark.parametrize("case", CORRECTED)
def test_a_slip_is_told_with_the_corrected_line(case: str, tmp_path: Path) -> None:
    old, new, place, corrected = CORRECTED[case]
    message = told(tmp_path, replaced(old, new))
    assert place in message
    assert f"write {corrected}" in message


def test_the_live_page_tells_the_same(tmp_path: Path) -> None:
    job = tmp_path / "job.toml"
    job.write_text(GOOD)
    live = Live(job)
    job.write_text(replaced("wall = 0.9", "wall = 1.5 mm"))
    assert live.look()
    assert live.fault == told(tmp_path, replaced("wall = 0.9", "wall = 1.5 mm"))


@pytest.mark.parametrize("digits", [309, 400, 4301, 20_000])
@pytest.mark.parametrize("form", ["{}", "-{}", '"{} mm"', '"1/{} in"', '"{}/1 in"', "0x{}", "{}.0"])
@pytest.mark.parametrize("key", ["od", "wall"])
def test_numbers_of_hundreds_of_digits_are_refused(
    digits: int, form: str, key: str, tmp_path: Path
) -> None:
    value = form.format("9" * digits)
    old = {"od": "od = 28.6", "wall": "wall = 0.9"}[key]
    message = told(tmp_path, replaced(old, f"{key} = {value}"))
    assert f", {key}: found " in message
    assert "expected" in message


@pytest.mark.parametrize("value", ["1e300", "-1e300", "inf", "nan", "123456789012345678", "2e5"])
@pytest.mark.parametrize(
    "line", ["wall = [[{}, 0.9]]", "start = [0, {}, 0]", "raw_length = {}", "bends = [{{ corner = "
             "[0, 0, {}], radius = 100 }}]"],
)  # fmt: skip
def test_lengths_that_no_shop_holds_are_refused(line: str, value: str, tmp_path: Path) -> None:
    old = "start = [0, 0, 0]" if line.startswith("start") else "wall = 0.9"
    kept = "" if "wall" in line or "start" in line else 'wall = 0.9\nstock = "a"\n'
    message = told(tmp_path, replaced(old, kept + line.format(value)))
    assert "found" in message
    assert "expected" in message


HOSTILE = {
    "an escape sequence in a key": '"\\u001b[31mod" = 3',
    "a bell in a key": '"\\u0007" = 3',
    "a turned key": '"\u202ewall" = 3',
    "a turned text": 'material = "\u202eleets"',
    "a one-byte escape": 'material = "\u009b31m"',
    "a new line in a text": 'material = "a\\nb"',
    "a long key": f'"{"k" * 5000}" = 3',
    "a long text": f'material = "{"m" * 5000}"',
    "a long list": f"wall = [{'1, ' * 5000}]",
    "falling stations": f"wall = [{'[5, 1], [4, 1], ' * 2000}]",
    "a deep table": f"a = {'[' * 60}{']' * 60}",
    "a deeper table": f"a = {'[' * 900}{']' * 900}",
    "a key of many parts": f"{'a.' * 100_000}b = 1",
    "a key of many quoted parts": f"{chr(34)}a{chr(34)}{' . a' * 100_000} = 1",
    "spaces": " " * 100_000 + "x",
    "a bracket and spaces": "[" + " " * 100_000 + "x",
    "a long line": "od = " + "x " * 50_000,
}


@pytest.mark.parametrize("case", HOSTILE)
def test_messages_are_short_and_obey_nothing(case: str, tmp_path: Path) -> None:
    line = HOSTILE[case]
    old = "wall = 0.9" if line.startswith("wall") else "od = 28.6"
    told(tmp_path, replaced(old, line if line.startswith("wall") else f"{old}\n{line}"))


def test_a_shop_of_a_long_or_odd_name_is_no_file(tmp_path: Path) -> None:
    for name in ("s" * 300, "s" * 5000, "a\\u0000b", "\\u001b[2J"):
        line = f'name = "pair"\nshop = "{name}"'
        assert "line 3, job, shop" in told(tmp_path, replaced('name = "pair"', line))


def test_a_file_too_large_is_told_its_limit(tmp_path: Path) -> None:
    message = told(tmp_path, GOOD + "#" * LARGEST_BYTES)
    assert "1.0 MB" in message
    assert "expected 1 MB at most" in message


def test_the_time_for_faults_does_not_grow_with_their_square(tmp_path: Path) -> None:
    def spent(count: int) -> float:
        start = process_time()
        told(tmp_path, GOOD + count * '[[tube]]\nname = "a"\nwal = 3\n')
        return process_time() - start

    few, many = (min(spent(count) for _ in range(3)) for count in (200, 1600))
    assert many < 20 * few  # 64 times, when each fault read the text again
