"""Of an edited frame only what the edit touches is made again, and as a fresh start makes it."""

import shutil
from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pytest

from frame3d import load
from frame3d.jobs import JobError
from frame3d.memo import Memo, each_remembered, remembered
from frame3d.share.present import Workbench
from frame3d.share.scene import VIEW_CHORD_MM
from frame3d.shop.all_checks import check_all
from frame3d.solids.frame import frame_solids
from frame3d.surfaces.cope import copes_of

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


@pytest.fixture(scope="module")
def bench(touring: Path) -> Workbench:
    made = Workbench()
    made.read(touring)
    return made


@pytest.mark.parametrize("name", EDITS)
def test_only_what_an_edit_touches_is_made_again(bench, touring, name):
    (old, new), made, checked = EDITS[name]
    text = (EXAMPLES / "touring" / "job.toml").read_text(encoding="utf-8")
    assert old in text
    touring.write_text(text, encoding="utf-8")
    before = bench.read(touring)
    touring.write_text(text.replace(old, new), encoding="utf-8")
    after = bench.read(touring)
    assert bench.memo.made == made
    assert bench.checks.made == checked
    same = [a is b for a, b in zip(before.scene.pieces, after.scene.pieces, strict=True)]
    assert same.count(False) == made.get("piece", 0)


def test_a_number_that_moves_the_front_leaves_the_rear_alone(bench, touring):
    text = (EXAMPLES / "touring" / "job.toml").read_text(encoding="utf-8")
    touring.write_text(text, encoding="utf-8")
    bench.read(touring)
    touring.write_text(text.replace("rake              = 50.0", "rake = 47.0"), encoding="utf-8")
    bench.read(touring)
    assert 0 < bench.memo.made["solid"] < 14
    moved = load(touring)
    before = load(EXAMPLES / "touring" / "job.toml")
    differ = [tube.name for tube in moved.tubes if tube != before.tube(tube.name)]
    assert "left fork blade" in differ and "left rail" not in differ


def test_what_is_made_again_is_what_a_fresh_start_makes(bench, touring):
    text = (EXAMPLES / "touring" / "job.toml").read_text(encoding="utf-8")
    touring.write_text(text, encoding="utf-8")
    bench.read(touring)
    edited = text.replace("head_tube_angle   = 72.0", "head_tube_angle   = 72.4")
    touring.write_text(edited.replace(*EDITS["a saw changes one end"][0]), encoding="utf-8")
    found = bench.read(touring)
    frame = load(touring)
    copes = copes_of(frame)
    fresh = check_all(frame, copes, frame_solids(frame, copes, VIEW_CHORD_MM))
    assert found.report.as_json() == fresh.as_json()  # BLAS rounds by how many are made together
    whole = Workbench().read(touring).scene
    for one, other in zip(found.scene.pieces, whole.pieces, strict=True):
        assert np.array_equal(one.mesh.vertices, other.mesh.vertices)
        assert np.array_equal(one.pull, other.pull)


def test_a_bad_edit_forgets_nothing(bench, touring):
    text = (EXAMPLES / "touring" / "job.toml").read_text(encoding="utf-8")
    touring.write_text(text, encoding="utf-8")
    bench.read(touring)
    touring.write_text(text.replace("rake ", "rak "), encoding="utf-8")
    with pytest.raises(JobError):
        bench.read(touring)
    touring.write_text(text, encoding="utf-8")
    bench.read(touring)
    assert bench.memo.made == {}


def test_what_was_made_for_a_thing_is_kept_as_long_as_the_thing():
    calls = []

    @remembered
    def part(number: int) -> int:
        calls.append(number)
        return number

    @remembered
    def whole(*numbers: int) -> int:
        return sum(part(number) for number in numbers)

    memo = Memo()
    for numbers in ((1, 2), (1, 2), (1, 3), (1, 3), (1, 4)):
        with memo.round():
            assert whole(*numbers) == sum(numbers)
    assert calls == [1, 2, 3, 4]


def test_several_are_made_together_but_only_those_that_are_new():
    calls = []

    def doubled(numbers: Sequence[int]) -> list[int]:
        calls.append(list(numbers))
        return [2 * number for number in numbers]

    memo = Memo()
    for numbers in ([1, 2], [1, 2], [3, 1, 3]):
        with memo.round():
            found = each_remembered("double", numbers, None, doubled)
            assert found == [2 * number for number in numbers]
    assert calls == [[1, 2], [3]]
    assert each_remembered("double", [1, 2], None, doubled) == [2, 4]
    assert calls[2:] == [[1, 2]]


def test_nothing_is_remembered_outside_of_a_round():
    calls = []

    @remembered
    def double(number: int) -> int:
        calls.append(number)
        return 2 * number

    memo = Memo()
    assert [double(3), double(3)] == [6, 6] and calls == [3, 3]
    for _ in range(2):
        with memo.round():
            assert [double(4), double(4)] == [8, 8]
    assert calls == [3, 3, 4]
    with memo.round():
        pass
    with memo.round():
        double(4)
    assert calls == [3, 3, 4, 4]  # the empty round between has let it go
