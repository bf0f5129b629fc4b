"""Tube lists, shaped ends, plates and clearances as a job file says them."""

import json
import re
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from click.testing import CliRunner
from pypdf import PdfReader

import frame3d
from frame3d.build import Build
from frame3d.model import Dome, Frame, Pinch, Plug, Slot, end_frame
from frame3d_cli.main import main

LIST = """\
[[stock]]
name = "S28"
od = 28.6
wall = [[0, 0.9], [100, 0.9], [130, 0.6], [500, 0.6], [530, 0.8]]
length = 620

[[stock]]
name = "S16"
od = [[0, 16], [200, 12]]
wall = 0.8
length = "12 in"
material = "titanium"
"""

JOB = """\
[job]
name = "listed"
process = "tig"
tubes = "tubes.toml"

[[tube]]
name = "rear"
start = [0, 0, -100]
end = [0, 0, 100]
od = 36.0
wall = 1.2
material = "titanium"

[[tube]]
name = "front"
start = [560, 0, -100]
end = [560, 0, 100]
od = 36.0
wall = 1.2
material = "titanium"

[[tube]]
name = "rail"
start = [0, 0, 0]
end = [560, 0, 30]
stock = "S28"
material = "titanium"

[[tube]]
name = "stub"
start = [0, 0, -60]
end = [-250, 30, -70]
stock = "S16"

[[joint]]
tube = "rail"
end = "start"
onto = ["rear"]

[[joint]]
tube = "rail"
end = "end"
onto = ["front"]

[[joint]]
tube = "stub"
end = "start"
onto = ["rear"]
"""

PLATE = """
[[plate]]
name = "tab"
outline = [[-20, -12], [16, -8], [16, 8], [-20, 12]]
thickness = 4
at = [-254, 30.5, -70]
slots = [{ width = 10 }]
"""


def written(folder: Path, more: str = "", tubes: str = LIST, job: str = JOB) -> Path:
    (folder / "tubes.toml").write_text(tubes)
    (folder / "job.toml").write_text(job + more)
    return folder / "job.toml"


def loaded(folder: Path, more: str = "", job: str = JOB) -> Frame:
    return frame3d.open(written(folder, more, job=job)).frame


def test_a_listed_tube_has_its_lists_section_where_it_is_laid(tmp_path: Path) -> None:
    frame = loaded(tmp_path)
    rail, stub = frame.tube("rail"), frame.tube("stub")
    assert rail.raw is not None
    assert stub.raw is not None
    assert rail.raw.stock.length == 620
    for raw_at, wall in ((50, 0.9), (115, 0.75), (300, 0.6), (610, 0.8)):
        assert float(rail.wall(rail.raw.start + raw_at)) == pytest.approx(wall)
    assert stub.raw.stock.length == pytest.approx(304.8)
    assert stub.material == "titanium"
    assert float(stub.od(stub.raw.start + 100)) == pytest.approx(14.0)


def test_measured_values_count_before_the_lists(tmp_path: Path) -> None:
    own = 'stock = "S28"\nod = 28.5\nraw_length = 618.4\ntrim_start = 20\n'
    frame = loaded(tmp_path, job=JOB.replace('stock = "S28"\n', own))
    rail = frame.tube("rail")
    assert rail.raw is not None
    assert rail.raw.stock.length == 618.4
    assert rail.od.greatest == 28.5
    assert float(rail.wall(rail.raw.start + 50)) == pytest.approx(0.9)
    report = Build(frame).report.as_json()
    trim = report["trim"]["tubes"][0]  # type: ignore[index]
    assert trim["start"]["cut_mm"] == pytest.approx(20, abs=1e-4)
    total = trim["start"]["cut_mm"] + trim["finished_mm"] + trim["end"]["cut_mm"]
    assert total == pytest.approx(618.4, abs=1e-5)


def test_a_flipped_tube_lies_the_other_way(tmp_path: Path) -> None:
    frame = loaded(tmp_path, job=JOB.replace('stock = "S28"\n', 'stock = "S28"\nflipped = true\n'))
    rail = frame.tube("rail")
    assert float(rail.wall(10.0)) == pytest.approx(0.8)
    assert float(rail.wall(rail.length - 10)) == pytest.approx(0.9)


def end(kind: str, more: str = "", tube: str = "stub") -> str:
    return f'\n[[end]]\ntube = "{tube}"\nend = "end"\nkind = "{kind}"\n{more}\n'


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        (end("plug", "thickness = 3"), Plug),
        (end("dome"), Dome),
        (end("dome", "height = 4"), Dome),
        (end("pinch", "length = 20\ntransition = 30\nangle = 90"), Pinch),
        (end("slot", "depth = 15\nwidth = 4\nangle = 90"), Slot),
    ],
)
def test_every_kind_of_end_is_read_and_made(text: str, kind: type, tmp_path: Path) -> None:
    frame = loaded(tmp_path, text)
    assert [type(shape) for shape in frame.ends] == [kind]
    plain = Build(loaded(tmp_path)).solids().tubes["stub"].solid.surface_area()
    shaped = Build(frame).solids().tubes["stub"].solid.surface_area()  # a pinch keeps the volume
    assert shaped != pytest.approx(plain, rel=1e-4)


def test_a_square_end_may_be_said_and_changes_nothing(tmp_path: Path) -> None:
    assert loaded(tmp_path, end("square")).ends == ()


def test_a_dome_is_half_a_ball_unless_told(tmp_path: Path) -> None:
    (dome,) = loaded(tmp_path, end("dome")).ends
    assert isinstance(dome, Dome)
    assert dome.height == pytest.approx(float(loaded(tmp_path).tube("stub").od(1e9)) / 2)


def test_a_slots_angle_is_from_the_datum_to_its_plane(tmp_path: Path) -> None:
    frame = loaded(tmp_path, end("slot", "depth = 15\nwidth = 4\nangle = 30"))
    (slot,) = frame.ends
    assert isinstance(slot, Slot)
    stub = end_frame(frame.tube("stub"), "end")
    in_plane = np.cos(np.radians(30)) * stub.datum + np.sin(np.radians(30)) * stub.side
    assert float(in_plane @ slot.normal) == pytest.approx(0.0, abs=1e-12)


def test_a_slot_for_a_plate_holds_it(tmp_path: Path) -> None:
    more = PLATE + end("slot", 'depth = 15\nplate = "tab"')
    report = Build(loaded(tmp_path, more)).report
    assert report.passes
    without = Build(loaded(tmp_path, PLATE)).report
    assert [clash.tubes for clash in without.clashes] == [("stub", "tab")]
    (plate,) = report.as_json()["plates"]  # type: ignore[misc]
    assert plate["volume_mm3"] == pytest.approx(4 * ((24 + 16) / 2 * 36 - np.pi * 25), rel=1e-6)


ROOM = """
[cranks]
centre = [300, 0, 250]
length = 165

[clearances]
crank_mm = 40

[[clearance]]
between = ["stub", "front"]
least = 600
"""


def checked(job: Path) -> tuple[int, dict[str, Any]]:
    result = CliRunner().invoke(main, ["check", str(job), "--json"])
    return result.exit_code, json.loads(result.stdout)


def test_a_clearance_that_fails_makes_the_check_fail(tmp_path: Path) -> None:
    code, report = checked(written(tmp_path, ROOM))
    assert code == 1
    assert report["verdict"] == "fail"
    pair = report["clearances"][-1]
    assert (pair["kind"], pair["limit_mm"], pair["verdict"]) == ("pair", 600, "fail")
    cranks = [line for line in report["clearances"] if line["kind"] == "crank"]
    assert {line["limit_mm"] for line in cranks} == {40}
    code, report = checked(written(tmp_path, ROOM.replace("least = 600", "least = 300")))
    assert (code, report["verdict"]) == (0, "pass")


def test_a_trim_that_fails_makes_the_check_fail_and_says_so(tmp_path: Path) -> None:
    job = written(tmp_path, tubes=LIST.replace("length = 620", "length = 535"))
    result = CliRunner().invoke(main, ["check", str(job)])
    assert result.exit_code == 1
    said = " ".join(result.stdout.split())
    assert "too short" in said
    assert "trim fails" in said
    # 560.8 between the posts' axes, tips 10.93 mm from either; 15 mm of waste at both ends
    assert "1 × S28 (longer: 535 mm is too short, buy at least 569 mm)" in said


def test_pages_of_a_tube_whose_trim_fails_say_not_to_cut_it(tmp_path: Path) -> None:
    """On the cover, in the trim plan, above each of its cuts and its drilling, and nowhere else."""
    saw = 'onto = ["rear"]\nsaw = 37.0\n'
    hole = '\n[[hole]]\ntube = "rail"\nat = 280\nangle_deg = 0\ndiameter = 4\nkind = "stop"\n'
    cut = JOB.replace('onto = ["rear"]\n', saw, 1)
    job = written(tmp_path, hole, LIST.replace("length = 620", "length = 535"), cut)
    out = tmp_path / "out"
    result = CliRunner().invoke(main, ["setup", str(job), "-o", str(out)])
    assert result.exit_code == 1
    assert "do not cut rail: S28 is 535.0 mm long" in " ".join(result.stdout.split())
    pages = [page.extract_text() for page in PdfReader(out / "shop" / "pages.pdf").pages]
    assert "Do not cut rail: S28 is 535.0 mm long" in " ".join(pages[0].split())
    assert sum("rail, start: DO NOT CUT" in page for page in pages) == 1
    forbidden = [page for page in pages if "DO NOT CUT rail: S28 is 535.0 mm long" in page]
    assert len(forbidden) == sum("rail: start" in p or "rail: drilling" in p for p in pages) == 2
    assert not any("DO NOT CUT stub" in page for page in pages)
    papers = out / "shop" / "wraps"
    rail = [page.extract_text() for page in PdfReader(papers / "wraps.pdf").pages]
    assert all(("DO NOT CUT rail" in page) == ("rail, " in page) for page in rail)
    for end in ("start", "end"):
        svg = (papers / f"wrap rail {end}.svg").read_text(encoding="utf-8")
        dxf = (papers / f"wrap rail {end}.dxf").read_text(encoding="utf-8")
        assert "DO NOT CUT rail: S28 is 535.0 mm long" in svg
        assert "DO NOT CUT rail: S28" in dxf and "▲" not in dxf
    assert "DO NOT CUT" not in (papers / "wrap stub start.svg").read_text(encoding="utf-8")
    well = CliRunner().invoke(
        main, ["setup", str(written(tmp_path, hole, LIST, cut)), "-o", str(out)]
    )
    assert "do not cut" not in well.stdout
    assert "DO NOT CUT" not in (papers / "wrap rail start.svg").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("words", "paper"),
    [(["setup"], "shop/pages.pdf"), (["guides", "--no-slice"], "guides/guides.pdf")],
)
def test_pages_and_guides_say_first_what_else_the_check_fails_on(
    tmp_path: Path, words: list[str], paper: str
) -> None:
    out = tmp_path / "out"
    command, *options = words
    result = CliRunner().invoke(
        main, [command, str(written(tmp_path, ROOM)), "-o", str(out), *options]
    )
    assert result.exit_code == 1
    told = "the check of clearances fails: look at frame3d check before you cut"
    assert told in " ".join(result.stdout.split())
    assert told in " ".join(PdfReader(out / paper).pages[0].extract_text().split())
    well = written(tmp_path, ROOM.replace("least = 600", "least = 300"))
    result = CliRunner().invoke(main, [command, str(well), "-o", str(out), *options])
    assert result.exit_code == 0 and "before you cut" not in result.stdout
    assert "before you cut" not in PdfReader(out / paper).pages[0].extract_text()


def test_guides_of_a_tube_whose_trim_fails_say_not_to_cut_it(tmp_path: Path) -> None:
    job = written(tmp_path, tubes=LIST.replace("length = 620", "length = 535"))
    out = tmp_path / "out"
    result = CliRunner().invoke(main, ["guides", str(job), "-o", str(out), "--no-slice"])
    assert result.exit_code == 1
    why = "S28 is 535.0 mm long"
    assert f"do not cut rail: {why}" in " ".join(result.stdout.split())
    (told,) = json.loads((out / "guides" / "guides.json").read_text(encoding="utf-8"))["do_not_cut"]
    assert told["tube"] == "rail" and told["reasons"][0].startswith(why)
    pages = [page.extract_text() for page in PdfReader(out / "guides" / "guides.pdf").pages]
    text = " ".join(" ".join(pages).split())
    assert text.count(f"DO NOT CUT rail: {why}") == 1 + 2  # first of all, and over each guide
    assert f"DO NOT CUT rail: {why}" in " ".join(pages[0].split())
    good = CliRunner().invoke(
        main, ["guides", str(written(tmp_path)), "-o", str(out), "--no-slice", "--no-sheet"]
    )
    assert good.exit_code == 0 and "do not cut" not in good.stdout
    record = json.loads((out / "guides" / "guides.json").read_text(encoding="utf-8"))
    assert record["do_not_cut"] == []


def test_the_tables_fit_100_columns_and_the_order_list_is_told(tmp_path: Path) -> None:
    terminal = {"FORCE_COLOR": "1", "COLUMNS": "100", "TERM": "xterm"}
    result = CliRunner().invoke(main, ["check", str(written(tmp_path, ROOM))], env=terminal)
    text = re.sub(r"\x1b\[[0-9;]*m", "", result.stdout)
    assert max(map(len, text.splitlines())) <= 100
    assert "have at hand: 1 × S28 (620 mm), 1 × S16 (304.8 mm)" in text


def test_a_bicycles_wheels_are_measured_without_being_drawn() -> None:
    touring = Path(__file__).parents[2] / "examples" / "touring" / "job.toml"
    frame = frame3d.open(touring).frame
    assert [part.name for part in frame.show.parts if part.kind == "wheel"] == [
        "rear wheel",
        "front wheel",
    ]
    report = Build(frame).report.as_json()
    kinds = {line["kind"] for line in report["clearances"]}  # type: ignore[attr-defined]
    assert kinds == {"tyre", "chain_ring", "crank", "heel", "toe", "pedal_lean"}


# What is replaced in the job above with its plate and ends, by what, and what must be said.
BAD_JOBS = {
    "no list named": ('tubes = "tubes.toml"\n', "", ["line 25", '"S28"', "names no tube list"]),
    "list missing": ('"tubes.toml"', '"tube.toml"', ["line 4", "job, tubes", "tube list"]),
    "list not a text": ('"tubes.toml"', "3", ["line 4", "job, tubes", "found 3"]),
    "stock unknown": ('"S28"', '"S29"', ["line 26", 'tube "rail", stock', 'did you mean "S28"']),
    "stock a number": ('"S28"', "28", ["line 26", "stock", "found 28"]),
    "raw length negative": ('"S28"', '"S28"\nraw_length = -3', ["line 27", "raw tube's length"]),
    "trim negative": ('"S28"', '"S28"\ntrim_start = -3', ["line 27", "trim_start", "found -3"]),
    "trim without stock": ("od = 36.0", "od = 36.0\ntrim_start = 3", ["trim_start", "a stock"]),
    "flipped without stock": ("od = 36.0", "od = 36.0\nflipped = true", ["flipped", "a stock"]),
    "flipped a word": ('"S28"', '"S28"\nflipped = "no"', ["line 27", "flipped", "true or false"]),
    "measured wall too thick": ('"S28"', '"S28"\nwall = 15', ["line 27", "the radius of 14.3"]),
    "end of no tube": ('tube = "stub"\nend = "end"', 'tube = "stab"\nend = "end"', ['"stab"']),
    "end that is coped": ('end = "end"\nkind', 'end = "start"\nkind', ["coped by a joint"]),
    "end twice": ("[[plate]]", end("plug", "thickness = 3") + "[[plate]]", ["a second time"]),
    "kind unknown": ('"slot"', '"slit"', ["kind", '"slit"']),
    "slot without depth": ("depth = 15\n", "", ["depth is missing"]),
    "slot too deep": ("depth = 15", "depth = 150", ["150 mm of a tube of", "less than half"]),
    "slot with width and plate": ("depth = 15", "depth = 15\nwidth = 4", ["or its width"]),
    "slot with the plug's key": ("depth = 15", "depth = 15\nthickness = 4", ["not expected"]),
    "slot for no plate": ('plate = "tab"', 'plate = "tob"', ['"tob"', 'did you mean "tab"']),
    "slot beside its plate": ("30.5, -70]", "80, -70]", ["whose plane passes", "mm from"]),
    "plate across the tube": ("thickness = 4", "thickness = 4\nu = [0, 1, 0]", ["leans"]),
    "plate of two corners": (", [16, 8], [-20, 12]]", "]", ["outline", "three corners"]),
    "plate without area": ("[16, -8], [16, 8], [-20, 12]", "[0, -12], [9, -12]", ["area"]),
    "plate that crosses itself": ("[16, 8], [-20, 12]", "[-20, 12], [20, 8]", ["crosses itself"]),
    "plate not square": ("thickness = 4", "thickness = 4\nv = [1, 0, 1]", ["45.000 degrees"]),
    "plate's u is zero": ("thickness = 4", "thickness = 4\nu = [0, 0, 0]", ["not zero"]),
    "plate named as a tube": ('name = "tab"', 'name = "rail"', ['"rail" a second time']),
    "plate without thickness": ("thickness = 4\n", "", ["thickness", "is missing"]),
    "plate's hole of no size": ("width = 10", "width = 0", ["width", "found 0"]),
    "cranks misspelt": ("[cranks]", "[crank]", ['did you mean "cranks"']),
    "crank length": ("length = 165", "length = 1650", ["crank's length", "50 to 300"]),
    "crank key unknown": ("length = 165", "lenght = 165", ['did you mean "length"']),
    "limit unknown": ("crank_mm", "cranks_mm", ['did you mean "crank_mm"']),
    "limit negative": ("crank_mm = 40", "crank_mm = -1", ["crank_mm", "found -1"]),
    "lean beyond upright": ("crank_mm = 40", "pedal_lean_deg = 95", ["0 to 90"]),
    "head tube of no name": ("crank_mm = 40", 'head_tube = "fort"', ['did you mean "front"']),
    "mudguard half": ("crank_mm = 40", "front_mudguard = { width = 4 }", ["front_mudguard"]),
    "pair of a stranger": ('["stub", "front"]', '["stub", "frnt"]', ['did you mean "front"']),
    "pair with itself": ('["stub", "front"]', '["stub", "stub"]', ["expected two parts"]),
    "pair of three": ('["stub", "front"]', '["stub", "front", "rail"]', ["between", "at most 2"]),
    "pair without a distance": ("least = 600\n", "", ["least", "is missing"]),
}  # fmt: skip

BAD_LISTS = {
    "empty": (LIST, "", ["is empty"]),
    "not toml": (LIST, "stocks: 3", ["line 1", "write"]),
    "no stock": (LIST, "stock = []\n", ["stock", "at least 1"]),
    "misspelt": ('[[stock]]\nname = "S28"', '[[stok]]\nname = "S28"', ['did you mean "stock"']),
    "name twice": ('"S16"', '"S28"', ["line 8", '"S28" a second time']),
    "no length": ("length = 620\n", "", ["line 1", 'stock "S28", length', "is missing"]),
    "length zero": ("length = 620", "length = 0", ["line 5", "found 0", "raw tube's length"]),
    "station past it": ("length = 620", "length = 520", ["line 4", "530 mm", "0 to 520 mm"]),
    "wall too thick": ("wall = 0.8", "wall = 7", ["line 10", "found 7 mm", "radius"]),
    "bends": ("wall = 0.8", "wall = 0.8\nbends = []", ["line 11", "bends", "unknown key"]),
    "material": ('"titanium"', '"titan"', ["line 12", '"titan"', 'did you mean "titanium"']),
}


def refused(job: Path, named: Path, expected: list[str]) -> None:
    before = sorted(p.name for p in job.parent.iterdir())
    result = CliRunner().invoke(main, ["make", str(job), "-o", str(job.parent / "out")])
    assert result.exit_code == 2, result.output
    assert result.stderr.startswith(f"frame3d: {named}")
    assert result.stderr.count("\n") == 1
    for part in expected:
        assert part in result.stderr
    assert sorted(p.name for p in job.parent.iterdir()) == before


@pytest.mark.parametrize("case", BAD_JOBS)
def test_a_bad_key_is_named_with_its_line(case: str, tmp_path: Path) -> None:
    whole = JOB + end("slot", 'depth = 15\nplate = "tab"') + PLATE + ROOM
    old, new, expected = BAD_JOBS[case]
    assert old in whole
    job = written(tmp_path, job=whole.replace(old, new, 1))
    refused(job, job, expected)


@pytest.mark.parametrize("case", BAD_LISTS)
def test_a_bad_tube_list_is_named_itself(case: str, tmp_path: Path) -> None:
    old, new, expected = BAD_LISTS[case]
    assert old in LIST
    job = written(tmp_path, tubes=LIST.replace(old, new, 1))
    refused(job, tmp_path / "tubes.toml", expected)
