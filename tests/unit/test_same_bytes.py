"""The same job gives the same bytes, in another process and at another time."""

import hashlib
import os
import subprocess
import sys
import time
from pathlib import Path

import pytest

PAIR = Path(__file__).parents[2] / "examples" / "two-tubes" / "job.toml"
DAY = 86_400
COMMANDS = (
    ["make", "--all"],
    ["errors", "-n", "100", "--no-care"],
)


def written(out: Path, words: list[str], day: str | None, seed: str) -> dict[str, str]:
    """The sum of every file that a command writes."""
    environment = {**os.environ, "PYTHONHASHSEED": seed}
    environment.pop("SOURCE_DATE_EPOCH", None)
    if day is not None:
        environment["SOURCE_DATE_EPOCH"] = day
    start = [sys.executable, "-c", "from frame3d_cli.main import main; main()"]
    subprocess.run(
        [*start, words[0], str(PAIR), *words[1:], "-o", str(out)],
        env=environment, stdout=subprocess.DEVNULL, check=True,
    )  # fmt: skip
    files = [path for path in out.rglob("*") if path.is_file()]
    return {
        path.relative_to(out).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in files
    }


@pytest.mark.parametrize("words", COMMANDS, ids=lambda words: words[0])
def test_a_job_written_twice_is_the_same_to_the_byte(tmp_path: Path, words: list[str]) -> None:
    one = written(tmp_path / "one", words, None, "1")
    time.sleep(2.1)  # a ZIP file knows every other second
    other = written(tmp_path / "other", words, None, "4")
    assert one.keys() == other.keys()
    assert not [name for name in one if one[name] != other[name]]


def test_on_another_day_only_the_printed_date_differs(tmp_path: Path) -> None:
    one, other = (
        written(tmp_path / day, ["setup"], day, "1")
        for day in (str(20_000 * DAY), str(20_001 * DAY))
    )
    changed = {name for name in one if one[name] != other[name]}
    assert changed == {"shop/pages.pdf", "shop/wraps/wraps.pdf"}
    assert one == written(tmp_path / "again", ["setup"], str(20_000 * DAY), "4")
