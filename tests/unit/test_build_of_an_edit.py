"""Of an edited frame only what the edit touches is made again, and as a fresh start makes it."""

import shutil
from collections import Counter
from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pytest

from frame3d.build import Build
from frame3d.cache import Cache, cached, each_cached
from frame3d.view.scene import VIEW_CHORD_MM

EXAMPLES = Path(__file__).parents[2] / "examples"
STRUT = 'name  = "right strut"\nstart = [-378.6, -58.2, 180.0]\nend   = [-440.0, -44.9, 480.0]\n'
STRUT += "od    = 9.0\nwall  = 1.0"
LAST_JOINT = '[[joint]]\ntube = "right strut"\nend  = "end"\nonto = ["right rail"]'
ONE_TUBE = {"solid": 1, "tube": 1, "mesh": 1, "piece": 1, "outline": 1, "dimension": 1}
# edit: what is replaced by what, what has to be made again for the picture, and for the check
EDITS = {
    "the wall of a strut changes both its copes": (
        (STRUT, STRUT.replace("wall  = 1.0", "wall  = 0.8")),
        {"_cope": 2, "joint": 2, "collar": 2, **ONE_TUBE},
        {"clashes": 1, "_least_possible": 7, "nearest": 1, "sections": 1},
    ),
    "a saw changes one end": (
        (LAST_JOINT, LAST_JOINT + "\nsaw = 10.0"),
        {"_cope": 1, "joint": 2, "collar": 1, **ONE_TUBE},
        {"clashes": 1, "_least_possible": 7, "nearest": 1, "sections": 1},
    ),
    "paint cuts nothing": (
        (STRUT, STRUT + '\n[paint.tube]\n"right strut" = "navy"'),
        {"piece": 1, "outline": 1, "plate body": 2},
        {},
    ),
    "the name of the job changes nothing": (("Sandpiper", "Plover"), {}, {}),
}


@pytest.fixture(scope="module")
def touring(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("live") / "examples"
    shutil.copytree(EXAMPLES, folder)
    return folder / "touring" / "job.toml"


def opened(job: Path, after: Build | None = None) -> Build:
    """Shown and wholly checked, as live mode does it."""
    build = Build.of_job(job, after, VIEW_CHORD_MM)
    build.version(gaps=True, judged=False)
    shown = dict(build.cache.made)
    build.version(gaps=True)
    build.shown, build.judged = shown, dict(build.cache.made - Counter(shown))
    return build


@pytest.fixture(scope="module")
def first(touring: Path) -> Build:
    return opened(touring)


@pytest.mark.parametrize("name", EDITS)
def test_only_what_an_edit_touches_is_made_again(first, touring, name):
    (old, new), made, checked = EDITS[name]
    text = (EXAMPLES / "touring" / "job.toml").read_text(encoding="utf-8")
    assert old in text
    touring.write_text(text.replace(old, new), encoding="utf-8")
    after = opened(touring, first)
    assert after.shown == made
    assert after.judged == checked
    same = [a is b for a, b in zip(first.scene.pieces, after.scene.pieces, strict=True)]
    assert same.count(False) == made.get("piece", 0)


def test_a_number_that_moves_the_front_leaves_the_rear_alone(first, touring):
    text = (EXAMPLES / "touring" / "job.toml").read_text(encoding="utf-8")
    touring.write_text(text.replace("rake              = 50.0", "rake = 47.0"), encoding="utf-8")
    moved = opened(touring, first)
    assert 0 < moved.cache.made["solid"] < 14
    differ = [t.name for t in moved.frame.tubes if t != first.frame.tube(t.name)]
    assert "left fork blade" in differ and "left rail" not in differ


def test_what_is_made_again_is_what_a_fresh_start_makes(first, touring):
    text = (EXAMPLES / "touring" / "job.toml").read_text(encoding="utf-8")
    edited = text.replace("head_tube_angle   = 72.0", "head_tube_angle   = 72.4")
    touring.write_text(edited.replace(*EDITS["a saw changes one end"][0]), encoding="utf-8")
    found, fresh = opened(touring, first), opened(touring)
    # BLAS rounds by how many are made together.
    assert found.report.as_json() == fresh.report.as_json()
    for one, other in zip(found.scene.pieces, fresh.scene.pieces, strict=True):
        assert np.array_equal(one.mesh.vertices, other.mesh.vertices)
        assert np.array_equal(one.pull, other.pull)


def test_an_edit_that_is_not_checked_yet_forgets_nothing(first, touring):
    text = (EXAMPLES / "touring" / "job.toml").read_text(encoding="utf-8")
    touring.write_text(text.replace(*EDITS["a saw changes one end"][0]), encoding="utf-8")
    between = Build.of_job(touring, first)
    between.version(gaps=True, judged=False)
    touring.write_text(text, encoding="utf-8")
    assert opened(touring, between).cache.made == {}


def test_what_was_made_for_a_thing_is_kept_as_long_as_the_thing():
    calls = []

    @cached
    def part(number: int) -> int:
        calls.append(number)
        return number

    @cached
    def whole(*numbers: int) -> int:
        return sum(part(number) for number in numbers)

    cache = None
    for numbers in ((1, 2), (1, 2), (1, 3), (1, 3), (1, 4)):
        cache = Cache(cache)
        with cache.active():
            assert whole(*numbers) == sum(numbers)
        cache.finish()
    assert calls == [1, 2, 3, 4]


def test_several_are_made_together_but_only_those_that_are_new():
    calls = []

    def doubled(numbers: Sequence[int]) -> list[int]:
        calls.append(list(numbers))
        return [2 * number for number in numbers]

    cache = None
    for numbers in ([1, 2], [1, 2], [3, 1, 3]):
        cache = Cache(cache)
        with cache.active():
            found = each_cached("double", numbers, None, doubled)
            assert found == [2 * number for number in numbers]
    assert calls == [[1, 2], [3]]
    assert each_cached("double", [1, 2], None, doubled) == [2, 4]
    assert calls[2:] == [[1, 2]]


def test_nothing_is_cached_while_no_cache_is_active():
    calls = []

    @cached
    def double(number: int) -> int:
        calls.append(number)
        return 2 * number

    assert [double(3), double(3)] == [6, 6] and calls == [3, 3]
    first = Cache()
    with first.active():
        assert [double(4), double(4)] == [8, 8]
    assert calls == [3, 3, 4]
    first.finish()
    second = Cache(first)
    second.finish()
    with Cache(second).active():
        double(4)
    assert calls == [3, 3, 4, 4]  # the build between did not ask for it, and let it go
