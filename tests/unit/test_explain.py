"""`frame3d explain` tells of every key what it means, in words that fit a narrow terminal."""

import pytest
from click.testing import CliRunner

from frame3d.jobs.reference import reference
from frame3d_cli.main import main


def explained(*arguments: str) -> str:
    result = CliRunner().invoke(main, ["explain", *arguments])
    assert result.exit_code == 0, result.output
    return result.stdout


def test_all_keys_stand_below_their_table_within_80_columns() -> None:
    lines = explained().splitlines()
    assert max(map(len, lines)) <= 80
    for table in reference():
        at = next(n for n, line in enumerate(lines) if line.startswith(f"{table.header}  "))
        end = next((n for n in range(at, len(lines)) if not lines[n]), len(lines))
        names = [line.split()[0] for line in lines[at + 1 : end] if line[2:3].strip()]
        names = [name for name in names if name in {key.name for key in table.keys}]
        assert names == [key.name for key in table.keys]


@pytest.mark.parametrize(
    ("key", "told"),
    {
        "joint.saw": ["joint.saw\n", "1 to 1000 mm", "saw = 37", "[[joint]] of the job file"],
        "feather_mm": ["0.02 counts", "feather_mm = 0.02", "[limits]"],
        "bicycle.rake": ["-80 to 150 mm", "front axle ahead of the steering axis"],
        "rear.stay_gap": ["bicycle.rear.stay_gap"],
        "process": ['"silver-braze", "fillet-braze" or "tig"', "it is needed"],
        "stock": ["[[stock]]", "tube.stock"],
        "[[hole]]": ["[[hole]]", "diameter", "angle_deg"],
        "top_tube_length": ["told, never given"],
    }.items(),
)
def test_a_key_is_told_with_unit_range_and_usual_value(key: str, told: list[str]) -> None:
    said = " ".join(explained(key).split(" "))
    assert all(part in said for part in told), said


def test_a_name_that_stands_in_several_tables_is_told_of_each() -> None:
    said = explained("wall")
    for place in ("tube.wall", "stock.wall", "printer.wall", "saw.proved.wall"):
        assert f"{place}\n" in said


@pytest.mark.parametrize(("wrong", "near"), [("feathr", "feather_mm"), ("tube.wal", "tube.wall")])
def test_an_unknown_key_gives_a_near_one(wrong: str, near: str) -> None:
    result = CliRunner().invoke(main, ["explain", wrong])
    assert result.exit_code == 2
    assert result.stdout == ""
    assert f'did you mean "{near}"?' in result.stderr
