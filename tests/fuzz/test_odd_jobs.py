"""Whatever stands in a job, a shop or a tube list, it is refused in words or gives a report.

More of them by hand: python tests/fuzz/run.py --count 2000 --seed 1
"""

import warnings
from pathlib import Path

import pytest
from fuzz.mutations import mutated
from fuzz.run import tried

SEED, COUNT = 7, 60


@pytest.mark.parametrize("number", range(COUNT))
def test_an_odd_job_is_refused_in_words_or_gives_a_report(number: int, tmp_path: Path) -> None:
    texts = mutated(SEED, number, examples=False)
    with warnings.catch_warnings():
        warnings.simplefilter("error", RuntimeWarning)
        assert tried(texts, tmp_path, pages=number % 30 == 0) in (0, 1, 2)


def test_the_same_seed_gives_the_same_files() -> None:
    assert mutated(1, 2) == mutated(1, 2)
    assert len({str(mutated(1, number)) for number in range(20)}) > 15


def test_odd_jobs_are_not_all_refused(tmp_path: Path) -> None:
    """They reach what lies behind the reading of files."""
    texts = (mutated(SEED, number, examples=False) for number in range(8))
    assert {tried(one, tmp_path, pages=False) for one in texts} >= {1, 2}
