"""Shapes that no tube can have are refused with their line: tapers, ovals and bends."""

from pathlib import Path

import pytest

from tests.unit.test_bad_jobs import GOOD, SAWN, refused

# What is replaced in the good job, by what, and what the message must say.
SHAPES = {
    "od of an empty list": ("od = 28.6", "od = []", ["line 16", "empty list", "pairs"]),
    "od station of zero": (
        "od = 28.6",
        "od = [[0, 28.6], [90, 0]]",
        ["line 16", "found 0", "from 1 to"],
    ),
    "od station in furlongs": (
        "od = 28.6",
        'od = [[0, "1 fur"]]',
        ["line 16", '"fur"', "mm, cm, m or in"],
    ),
    "od stations fall": (
        "od = 28.6",
        "od = [[50, 28], [20, 26]]",
        ["line 16", "[50.0, 20.0]", "to rise"],
    ),
    "od three at one place": (
        "od = 28.6",
        "od = [[50, 28], [50, 27], [50, 26]]",
        ["line 16", "twice for a step"],
    ),
    "od station before the tube": (
        "od = 28.6",
        "od = [[-9, 28], [9, 26]]",
        ["line 16", "station at -9"],
    ),
    "od station past the tube": (
        "od = 28.6",
        "od = [[0, 28], [300, 26]]",
        ["line 16", "at 300", "257.099"],
    ),
    "wall at the radius of the thin end": (
        "od = 28.6\nwall = 0.9",
        "od = [[0, 28.6], [250, 12]]\nwall = [[0, 0.9], [250, 7]]",
        ["line 17", 'tube "rail", wall', "found 7 mm at 250 mm from start", "the radius of 6 mm"],
    ),
    "wall too thick just past a step": (
        "od = 28.6\nwall = 0.9",
        "od = [[0, 28.6], [90, 28.6], [90, 8]]\nwall = 5",
        ["line 17", "found 5 mm at 90 mm", "the radius of 4 mm"],
    ),
    "oval a number": (
        "wall = 0.9",
        "wall = 0.9\noval = 3",
        ["line 18", 'tube "rail", oval', "a table"],
    ),
    "oval without across": (
        "wall = 0.9",
        "wall = 0.9\noval = { angle = 9 }",
        ["line 18", "oval, across: is missing"],
    ),
    "oval key unknown": (
        "wall = 0.9",
        "wall = 0.9\noval = { acros = 9 }",
        ["line 18", 'mean "across"'],
    ),
    "oval angle a text": (
        "wall = 0.9",
        'wall = 0.9\noval = { across = 20, angle = "up" }',
        ["line 18", "oval, angle", '"up"', "an angle in degrees"],
    ),
    "oval station past the tube": (
        "wall = 0.9",
        "wall = 0.9\noval = { across = [[0, 20], [300, 28]] }",
        ["line 18", "oval, across", "station at 300 mm"],
    ),
    "oval wall too thick for its bore": (
        "wall = 0.9",
        "wall = 2.0\noval = { across = 10 }",  # 5^2 / 14.3
        ["line 17", "found 2 mm", "1.748 mm, the least radius of the oval there"],
    ),
    "oval wall too thick between stations": (
        "wall = 0.9",  # at 125 mm the room is 11.15^2 / 14.3, and the wall 9.2
        "wall = [[0, 14], [250, 4.4]]\noval = { across = [[0, 28.6], [250, 16]] }",
        ["line 17", "the least radius of the oval there"],
    ),
    "oval in a table of its own": (
        SAWN,
        "[tube.oval]\nacross = 0\n",
        ["line 20", 'tube "rail", oval, across', "found 0"],
    ),
    "bends a table": (
        "wall = 0.9",
        "wall = 0.9\nbends = { radius = 9 }",
        ["line 18", "list in square"],
    ),
    "bend without radius": (
        "wall = 0.9",
        "wall = 0.9\nbends = [{ corner = [9, 0, 9] }]",
        ["line 18", "bends number 1, radius", "is missing"],
    ),
    "bend corner of two numbers": (
        "wall = 0.9",
        "wall = 0.9\nbends = [{ corner = [9, 0], radius = 90 }]",
        ["line 18", "bends number 1, corner", "three lengths"],
    ),
    "bend of no radius": (
        "wall = 0.9",
        "wall = 0.9\nbends = [{ corner = [90, 0, 60], radius = 0 }]",
        ["line 18", "a bend's radius from 1"],
    ),
    "bend tighter than the tube": (
        "wall = 0.9",
        "wall = 0.9\nbends = [{ corner = [90, 0, 60], radius = 14 }]",
        ["line 18", "bends number 1, radius", "found 14 mm", "14.3 mm"],
    ),
    "bend that does not fit": (
        "wall = 0.9",
        "wall = 0.9\nbends = [{ corner = [90, 0, 60], radius = 900 }]",
        ["line 18", 'tube "rail", bends', "straight 1 is 108.17 mm", "need"],
    ),
    "bend at the tube's end": (
        "wall = 0.9",
        "wall = 0.9\nbends = [{ corner = [250, 0, 60], radius = 90 }]",
        ["line 18", "bends", "are the same"],
    ),
    "bend that turns back": (
        "wall = 0.9",
        "wall = 0.9\nbends = [{ corner = [500, 0, 120], radius = 90 }]",
        ["line 18", "bends", "turns back on itself"],
    ),
    "second bend on its own line": (
        SAWN,
        "[[tube.bends]]\ncorner = [90, 0, 60]\nradius = 50\n"
        "[[tube.bends]]\ncorner = [160, 0, 60]\nradius = 0\n",
        ["line 24", "bends number 2, radius", "found 0"],
    ),
    "station past a bent axis": (
        "wall = 0.9",
        "wall = [[0, 0.9], [270, 0.7]]\nbends = [{ corner = [100, 0, 60], radius = 50 }]",
        ["line 17", "station at 270 mm", "the axis's length"],
    ),
}


@pytest.mark.parametrize("case", SHAPES)
def test_a_bad_shape_is_named_with_its_line(case: str, tmp_path: Path) -> None:
    old, new, expected = SHAPES[case]
    assert GOOD.count(old) >= 1
    head, _, tail = GOOD.rpartition(old)
    job = tmp_path / "job.toml"
    job.write_text(head + new + tail, encoding="utf-8")
    message = refused(job, tmp_path)
    for part in expected:
        assert part in message
