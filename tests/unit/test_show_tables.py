"""[paint] and [[part]] in a job file: what is understood, and what is refused in plain words."""

import re
from pathlib import Path

import pytest

import frame3d
from frame3d.jobs import JobError
from frame3d.view.spec_tables import summary

JOB = """
[job]
name = "one"
process = "tig"
[[tube]]
name = "post"
start = [0, 0, 0]
end = [0, 0, 100]
od = 30
wall = 1
"""
WHEEL = (
    '[[part]]\nname = "w"\nkind = "wheel"\ncentre = [0, 0, 0]\nradius = 340\nwidth = "1.25 in"\n'
)


def read(tmp_path: Path, more: str):
    path = tmp_path / "job.toml"
    path.write_text(JOB + more, encoding="utf-8")
    return frame3d.open(path).frame


def test_colours_by_name_and_by_code(tmp_path):
    show = read(tmp_path, '[paint]\nframe = "Navy"\ntube = { post = "#abc" }\n').show
    assert show.colour("post", "") == "#aabbcc"
    assert show.colour("other", "") == "#000080"  # CSS Color Module Level 4


def test_without_paint_a_tube_has_its_material_s_colour(tmp_path):
    assert read(tmp_path, "").show.colour("post", "#8f9aa3") == "#8f9aa3"


def test_parts_are_read_with_units(tmp_path):
    rod = '[[part]]\nname = "r"\nkind = "rod"\nstart = [0, 0, 0]\nend = [0, 0, 9]\nod = 5\n'
    wheel, rod = read(tmp_path, WHEEL + rod).show.parts
    assert (wheel.kind, wheel.radius, wheel.width) == ("wheel", 340.0, 31.75)
    assert (rod.kind, rod.end, rod.width) == ("rod", (0.0, 0.0, 9.0), 5.0)


@pytest.mark.parametrize(
    ("more", "line", "words"),
    [
        ('[paint]\nframe = "nvay"\n', 12, 'did you mean "navy"'),
        ('[paint]\nframe = "#12345"\n', 12, "expected a colour"),
        ("[paint]\nframe = 7\n", 12, "expected a colour"),
        ('[paint]\ntube = { pots = "red" }\n', 12, 'did you mean "post"'),
        ('[paint]\ncolour = "red"\n', 12, "unknown key"),
        (WHEEL.replace("radius = 340\n", ""), None, "radius is missing"),
        (WHEEL + "od = 3\n", None, "od is not expected"),
        (WHEEL.replace("340", "20"), None, "no larger than the width"),
        (WHEEL.replace('"wheel"', '"saddle"'), 13, "wheel"),
    ],
)
def test_what_cannot_be_used_is_told(tmp_path, more, line, words):
    with pytest.raises(JobError, match=words) as found:
        read(tmp_path, more)
    if line is not None:
        assert f"line {line}" in str(found.value)


def test_one_of_anything_is_not_told_as_many() -> None:
    build = frame3d.open(Path(__file__).parents[2] / "examples" / "two-tubes" / "job.toml")
    told = summary(build.frame, build.report)
    assert re.fullmatch(r"2 tubes, 1 joint; \d+ g\.", told)
