"""Odd jobs by hand, for a long time: python tests/fuzz/run.py --count 2000 --seed 1

Each file must be refused in words, or give a report; what does neither is printed with its number,
and kept in a folder.
"""

import argparse
import shutil
import signal
import sys
import tempfile
import traceback
import warnings
from collections import Counter
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parents[1]))

from click.testing import CliRunner
from fuzz.mutations import mutated

import frame3d
from frame3d.jobs import JobError
from frame3d.json_text import json_text
from frame3d.letters import JOINERS
from frame3d_cli.main import main as cli

SMALL = 6  # tubes: the pages of larger frames take long
REFUSED, FAILS, PASSES = 2, 1, 0


def outcome(job: Path, pages: bool) -> int:
    """The exit status that check and setup have on a job; raises what no command expects."""
    try:
        build = frame3d.open(job)
    except JobError as error:
        told = str(error)
        assert told.startswith(str(job.parent)), told
        assert all(letter.isprintable() or letter in JOINERS for letter in told), told
        assert len(told) <= 1_200, told
        return REFUSED
    json_text(build.report.as_json())
    if pages and len(build.frame.tubes) <= SMALL:
        json_text(build.pages().as_json())
    return PASSES if build.report.passes else FAILS


def tried(texts: dict[str, str], folder: Path, pages: bool = True) -> int:
    for name, text in texts.items():
        (folder / name).write_text(text, encoding="utf-8", errors="surrogatepass")
    return outcome(folder / "job.toml", pages)


COMMANDS = (
    ["check", "--json"],
    ["geometry"],
    ["filler"],
    ["measured"],
    ["errors", "-n", "50", "--no-care"],
    ["setup", "-o", "out"],
    ["make", "-o", "out"],
    ["guides", "--no-slice", "-o", "out"],
    ["share", "-o", "out"],
)


def command(texts: dict[str, str], folder: Path, number: int) -> int:
    """The exit status of one command on a job; raises what no command may let through."""
    for name, text in texts.items():
        (folder / name).write_text(text, encoding="utf-8", errors="surrogatepass")
    first, *more = COMMANDS[number % len(COMMANDS)]
    words = [str(folder / word) if word == "out" else word for word in more]
    result = CliRunner().invoke(cli, [first, str(folder / "job.toml"), *words])
    shutil.rmtree(folder / "out", ignore_errors=True)
    if not isinstance(result.exception, SystemExit | None):
        raise result.exception
    assert result.exit_code in (PASSES, FAILS, REFUSED), result.output
    return result.exit_code


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=2000)
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument(
        "--seconds", type=int, default=60, help="longest for a file, of the processor"
    )
    parser.add_argument(
        "--commands", type=int, default=25, help="one file in so many goes through a command"
    )
    parser.add_argument("--keep", type=Path, default=Path(tempfile.gettempdir()) / "odd-jobs")
    asked = parser.parse_args()
    warnings.simplefilter("error", RuntimeWarning)

    def too_long(*_: Any) -> None:
        raise TimeoutError(f"more than {asked.seconds} s")

    signal.signal(signal.SIGPROF, too_long)
    asked.keep.mkdir(exist_ok=True)
    counts: Counter[Any] = Counter()
    with tempfile.TemporaryDirectory() as folder:
        for number in range(asked.first, asked.first + asked.count):
            texts = mutated(asked.seed, number)
            signal.setitimer(signal.ITIMER_PROF, asked.seconds)
            try:
                if number % asked.commands:
                    counts[tried(texts, Path(folder))] += 1
                else:
                    counts[command(texts, Path(folder), number // asked.commands)] += 1
            except Exception as error:
                counts["findings"] += 1
                last = traceback.extract_tb(error.__traceback__)[-1]
                place = f"{Path(last.filename).name}:{last.lineno}"
                print(
                    f"{asked.seed} {number}: {type(error).__name__} {place}: {error}"[:300],
                    flush=True,
                )
                kept = asked.keep / f"{asked.seed}-{number}"
                kept.mkdir(exist_ok=True)
                for name, text in {**texts, "traceback.txt": traceback.format_exc()}.items():
                    (kept / name).write_text(text, encoding="utf-8", errors="surrogatepass")
            finally:
                signal.setitimer(signal.ITIMER_PROF, 0)
            if number % 500 == 499:
                print(number + 1, dict(counts), flush=True)
    print(dict(counts))


if __name__ == "__main__":
    main()
