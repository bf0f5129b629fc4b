"""What the commands promise: their outputs, their exit status, and that nothing is lost."""

import json
import math
import os
import subprocess
import sys
import warnings
from errno import EXDEV
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from click.testing import CliRunner, Result

from frame3d.mesh.mesh_files import file_stems
from frame3d_cli.common import plain
from frame3d_cli.main import COMMANDS, main

EXAMPLES = Path(__file__).parents[2] / "examples"
PAIR = EXAMPLES / "two-tubes" / "job.toml"


def run(*arguments: str | Path) -> Result:
    return CliRunner().invoke(main, [str(a) for a in arguments])


def failing(folder: Path) -> Path:
    job = folder / "job.toml"
    job.write_text(PAIR.read_text().replace("saw  = 37.0", "saw  = 44.0").replace("../", "./"))
    (folder / "shop.toml").write_text("[[saw]]\nod = 37.0\n")
    return job


def test_check_prints_the_contract_as_json() -> None:
    result = run("check", PAIR, "--json")
    assert result.exit_code == 0
    report = json.loads(result.stdout)
    assert report["format"] == "frame3d-report/1"
    assert (report["job"], report["process"]) == ("two tubes", "fillet-braze")
    rail = next(tube for tube in report["tubes"] if tube["name"] == "rail")
    assert set(rail) >= {"name", "od_mm", "length_mm", "volume_mm3", "mass_g"}
    assert rail["od_mm"] == 28.575
    assert rail["mass_g"] == pytest.approx(rail["volume_mm3"] * 7.85e-3, abs=1e-4)
    (joint,) = report["joints"]
    assert (joint["tube"], joint["end"], joint["verdict"]) == ("rail", "start", "pass")
    (mate,) = joint["onto"]
    assert mate["tube"] == "post"
    assert mate["saw_mm"] == 37.0
    assert mate["angle_deg"] == pytest.approx(76.5043, abs=1e-4)  # atan(250 / 60)
    assert (mate["offset_mm"], mate["phase_deg"]) == (0, 0)
    assert set(joint["gap_mm"]) == {"max", "mean", "outer_max", "inner_max"}
    assert joint["limit_mm"] == 0.4
    assert joint["reasons"] == []


def test_length_is_tip_to_tip_along_the_axis() -> None:
    rail = json.loads(run("check", PAIR, "--json").stdout)["tubes"][1]
    # A line of the outside at the angle phi from the plane of the axes enters the saw's cylinder at
    # sqrt(R^2 - r^2 sin^2 phi) / sin b - r cos phi / tan b from the post's axis; the tip is
    # nearest, and the seat moves it (R - 18) / sin b nearer still.
    angle = math.atan2(250, 60)
    phi = np.linspace(0, 2 * np.pi, 100_001)
    entry = np.sqrt(18.5**2 - (14.2875 * np.sin(phi)) ** 2) / math.sin(angle)
    entry -= 14.2875 * np.cos(phi) / math.tan(angle)
    tip = entry.min() - 0.5 / math.sin(angle)
    assert rail["length_mm"] == pytest.approx(math.hypot(250, 60) - tip, abs=1e-5)


def test_check_fails_with_status_1_and_says_why(tmp_path: Path) -> None:
    result = run("check", failing(tmp_path))
    assert result.exit_code == 1
    said = " ".join(result.stdout.split())
    assert "over the limit of 0.400 mm; this shop's 37 mm saw would leave 0.186 mm" in said


def test_make_writes_the_whole_folder(tmp_path: Path) -> None:
    result = run("make", PAIR, "-o", tmp_path / "out")
    assert result.exit_code == 0, result.output
    written = {str(p.relative_to(tmp_path / "out")) for p in (tmp_path / "out").rglob("*")}
    assert written >= {
        "report.json",
        "frame.3mf",
        "frame.glb",
        "meshes/post.stl",
        "meshes/rail.stl",
    }
    report = json.loads((tmp_path / "out" / "report.json").read_text())
    assert report == json.loads(run("check", PAIR, "--json").stdout)
    assert [p.name for p in tmp_path.iterdir()] == ["out"], "no temporary folder stays"


def test_make_writes_to_the_root_of_another_disk(tmp_path: Path, monkeypatch) -> None:
    """To which nothing can be moved from outside."""
    out, replace = tmp_path / "stick", os.replace
    out.mkdir()

    def on_one_disk(source: str, place: str) -> None:
        if Path(source).is_relative_to(out) != Path(place).is_relative_to(out):
            raise OSError(EXDEV, os.strerror(EXDEV), str(source), None, str(place))
        replace(source, place)

    monkeypatch.setattr(os, "replace", on_one_disk)
    for _ in range(2):
        result = run("make", PAIR, "-o", out)
        assert result.exit_code == 0, result.output
    names = sorted(path.name for path in out.iterdir())
    assert names == ["frame.3mf", "frame.glb", "meshes", "report.json"]


def test_a_place_that_is_a_file_or_cannot_be_written_is_named_as_it_was_asked_for(tmp_path) -> None:
    (tmp_path / "notes").write_text("keep")
    result = run("make", PAIR, "-o", tmp_path / "notes" / "out")
    assert result.exit_code == 2
    assert f"{tmp_path / 'notes'} is a file, expected a folder" in result.stderr
    result = run("make", PAIR, "-o", "/proc/out")
    assert result.exit_code == 2 and result.stderr.startswith("frame3d: /proc/out: cannot be")


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no /dev/full on this system")
def test_a_full_disk_behind_the_output_is_told_in_a_line() -> None:
    words = [sys.executable, "-c", "from frame3d_cli.main import main; main()", "check", str(PAIR)]
    with open("/dev/full", "w") as full:
        done = subprocess.run(words, stdout=full, stderr=subprocess.PIPE, text=True, check=False)
    assert done.returncode == 2
    assert done.stderr.count("\n") == 1 and "No space left on device" in done.stderr


def test_a_picture_larger_than_can_be_drawn_is_refused(tmp_path: Path) -> None:
    png = tmp_path / "x.png"
    result = run("preview", PAIR, "--png", png, "--size", "99999x99999")
    assert result.exit_code == 2 and "6000 at most" in result.output and not png.exists()


def test_make_all_writes_what_setup_guides_and_share_write(tmp_path: Path) -> None:
    assert run("make", PAIR, "--all", "-o", tmp_path / "out").exit_code == 0
    written = {str(p.relative_to(tmp_path / "out")) for p in (tmp_path / "out").rglob("*")}
    assert written >= {"report.json", "shop/pages.pdf", "guides/guides.json", "share/frame.html"}


def test_make_writes_all_the_same_when_a_joint_fails(tmp_path: Path) -> None:
    result = run("make", failing(tmp_path), "-o", tmp_path / "out")
    assert result.exit_code == 1
    assert (tmp_path / "out" / "meshes" / "rail.stl").stat().st_size > 1000


def test_make_leaves_other_files_and_keeps_the_old_ones_after_bad_input(tmp_path: Path) -> None:
    out = tmp_path / "out"
    run("make", PAIR, "-o", out)
    (out / "my notes.txt").write_text("keep")
    before = {p: p.read_bytes() for p in out.rglob("*") if p.is_file()}
    bad = tmp_path / "bad.toml"
    bad.write_text("[job]\n")
    assert run("make", bad, "-o", out).exit_code == 2
    assert {p: p.read_bytes() for p in out.rglob("*") if p.is_file()} == before
    assert run("make", PAIR, "-o", out).exit_code == 0
    assert (out / "my notes.txt").read_text() == "keep"


def test_make_changes_nothing_when_writing_breaks_off(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    import frame3d.mesh.mesh_files as meshes

    def breaks(*_: object) -> None:
        raise OSError(28, "No space left on device", "frame.glb")

    out = tmp_path / "out"
    run("make", PAIR, "-o", out)
    before = {p: p.read_bytes() for p in out.rglob("*") if p.is_file()}
    monkeypatch.setattr(meshes, "write_glb", breaks)
    result = run("make", PAIR, "-o", out)
    assert result.exit_code == 2
    assert "frame.glb: cannot be written: No space left on device" in result.stderr
    assert {p: p.read_bytes() for p in out.rglob("*") if p.is_file()} == before
    assert [p.name for p in tmp_path.iterdir()] == ["out"]


def test_make_refuses_a_file_in_the_place_of_its_folder(tmp_path: Path) -> None:
    (tmp_path / "out").write_text("a file")
    assert run("make", PAIR, "-o", tmp_path / "out").exit_code == 2
    assert (tmp_path / "out").read_text() == "a file"


def test_new_writes_a_job_that_passes_as_it_is(tmp_path: Path) -> None:
    name = tmp_path / 'Kim\'s "best" frame'
    assert run("new", name).exit_code == 0
    result = run("check", name / "job.toml")
    assert result.exit_code == 0, result.output
    assert "1 of 1 joints pass" in result.stdout


def test_new_writes_a_bicycle_that_passes_as_it_is(tmp_path: Path) -> None:
    job = tmp_path / "mine" / "job.toml"
    assert run("new", tmp_path / "mine", "--bicycle").exit_code == 0
    assert run("check", job).exit_code == 0


def test_new_overwrites_nothing(tmp_path: Path) -> None:
    assert run("new", tmp_path).exit_code == 2
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("job", sorted(EXAMPLES.glob("*/job.toml")), ids=lambda p: p.parent.name)
def test_every_example_passes(job: Path) -> None:
    result = run("check", job)
    assert result.exit_code == 0, result.output
    assert "\x1b" not in result.stdout, "plain text into a pipe"


def test_one_example_has_30_tubes_and_one_a_cope_of_two_tubes_at_the_shell() -> None:
    import frame3d

    frames = [frame3d.open(job).frame for job in EXAMPLES.glob("*/job.toml")]
    assert max(len(frame.tubes) for frame in frames) >= 30
    assert any(len(j.onto) == 2 and "shell" in j.onto for f in frames for j in f.joints)


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_explains_itself(command: str) -> None:
    for flag in ("-h", "--help"):
        result = run(command, flag)
        assert result.exit_code == 0
        assert "Usage:" in result.stdout
        assert max(map(len, result.stdout.splitlines())) <= 100


def test_version_and_unknown_words() -> None:
    assert run("--version").stdout.startswith("frame3d, version ")
    assert run("chek").exit_code == 2
    assert run("check").exit_code == 2
    assert run("check", PAIR, "--jsn").exit_code == 2


def test_help_starts_without_numpy_trimesh_or_pyvista() -> None:
    code = (
        "import sys; from frame3d_cli.main import main\n"
        "try: main(['--help'])\n"
        "except SystemExit: pass\n"
        "heavy = {'numpy', 'trimesh', 'pyvista', 'manifold3d', 'pydantic', 'rich'}\n"
        "print('heavy:', sorted(heavy & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.endswith("heavy: []\n")


def test_a_name_in_square_brackets_does_not_break_the_progress_bar(tmp_path: Path) -> None:
    pty = pytest.importorskip("pty", reason="no terminals of this kind here")
    job = tmp_path / "job.toml"
    text = PAIR.read_text(encoding="utf-8").replace('"rail"', '"[/] [red]rail"')
    job.write_text(text.replace('shop    = "../shop.toml"', ""), encoding="utf-8")
    master, terminal = pty.openpty()  # the bar is drawn on a terminal only
    code = f"from frame3d_cli.main import main; main(['check', {str(job)!r}])"
    with open(master, "rb"), open(terminal, "wb") as screen:
        done = subprocess.run(
            [sys.executable, "-c", code], stdout=subprocess.PIPE, stderr=screen, timeout=120
        )
    assert done.returncode == 0
    assert b"1 of 1 joints pass" in done.stdout


@pytest.mark.parametrize(
    ("value", "digits", "text"),
    [
        (-0.3, 0, "0"),
        (-1e-7, 1, "0.0"),
        (-0.06, 1, "-0.1"),
        (12.345, 2, "12.35"),
        (-13.2, 0, "-13"),
    ],
)
def test_what_rounds_to_zero_is_told_without_a_sign(value: float, digits: int, text: str) -> None:
    assert plain(value, digits) == text


def test_how_an_end_is_cut_is_told_with_what_says_so(tmp_path: Path) -> None:
    job = failing(tmp_path)
    said = job.read_text()

    def cut(own: str = "", of_job: str = "", shop: str = '[shop]\nname = "bare"\n') -> dict:
        (tmp_path / "shop.toml").write_text(shop)
        text = said.replace("saw  = 44.0", own).replace("[job]\n", f"[job]\n{of_job}\n")
        job.write_text(text)
        return json.loads(run("check", job, "--json").stdout)["joints"][0]["cut"]

    saws = '[shop]\nname = "sawyer"\ncut = "saw"\n[[saw]]\nod = 37.0\n'
    assert cut() == {"by": "hand", "source": "default"}
    assert "saw none: cut along the mate itself" in run("check", job).stdout
    assert cut(shop=saws) == {"by": "saw", "source": "shop"}
    assert cut(of_job='cut = "laser"', shop=saws) == {"by": "laser", "source": "job"}
    assert cut('cut = "hand"', 'cut = "laser"', saws) == {"by": "hand", "source": "joint"}
    assert cut("saw = 37.0", 'cut = "laser"', saws) == {"by": "saw", "source": "joint"}
    assert cut('cut = "saw"') == {
        "by": "hand",
        "source": "joint",
        "note": "this shop has no saw near its size",
    }
    assert "by hand, though a saw is wanted: rail, start: this shop has no saw" in " ".join(
        run("check", job).stdout.split()
    )
    cut(of_job='cut = "saw"')
    job.write_text(
        job.read_text().replace('end  = "start"', 'end = "start"\nsaw = 37\ncut = "hand"')
    )
    assert "line 28, joint" in run("check", job).stderr
    assert 'found "hand" beside a saw' in run("check", job).stderr


def alone(*words: str | Path, **more: Any) -> "subprocess.CompletedProcess[str]":
    """A command in a process of its own."""
    start = [sys.executable, "-c", "from frame3d_cli.main import main; main()"]
    return subprocess.run(
        [*start, *map(str, words)], stderr=subprocess.PIPE, text=True, check=False, **more
    )


@pytest.mark.skipif(sys.platform == "win32", reason="Windows has no such streams")
@pytest.mark.parametrize("stream", [1, 2])
def test_a_closed_stream_prints_no_traceback_and_changes_no_exit_status(stream: int) -> None:
    for words, status in (("check", PAIR), 0), (("check", "none.toml"), 2), (("--help",), 0):
        done = alone(*words, preexec_fn=lambda: os.close(stream), stdout=subprocess.DEVNULL)
        assert done.returncode == status
        assert "Traceback" not in done.stderr


@pytest.mark.parametrize(
    "words",
    [["make", PAIR], ["setup", PAIR], ["guides", PAIR], ["share", PAIR], ["errors", PAIR]],
    ids=lambda words: words[0],
)
def test_a_folder_without_a_name_is_refused(
    words: list[Any], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    result = run(*words, "-o", "")
    assert result.exit_code == 2 and "expected the name of a folder" in result.output
    assert not list(tmp_path.iterdir())


def test_warnings_of_libraries_are_for_developers_only(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from frame3d_cli import check

    def warns(job: object) -> None:
        np.log(np.zeros(1))

    monkeypatch.setattr(check, "open_or_refuse", warns)
    monkeypatch.setattr(sys, "warnoptions", [])
    with warnings.catch_warnings(record=True) as told:
        warnings.simplefilter("always")
        run("check", PAIR)
    assert not told


def test_no_file_name_starts_with_a_dash() -> None:
    """`rm *` would read it as an option."""
    assert file_stems(["-rf", "--", "a-b"]) == {"-rf": "_-rf", "--": "_--", "a-b": "a-b"}
