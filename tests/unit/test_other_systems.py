"""What differs on Windows and macOS, as far as Linux can show it: letters of a console, file names,
files that another program holds, line ends, processes that are started anew."""

import json
import os
import subprocess
import sys
import time
from pathlib import Path
from unicodedata import normalize

import pytest
from click.testing import CliRunner

from frame3d.guides import process_pool
from frame3d.mesh.mesh_files import file_stems
from frame3d.view import renderer
from frame3d_cli.main import main

EXAMPLES = Path(__file__).parents[2] / "examples"
PAIR = EXAMPLES / "two-tubes" / "job.toml"
CODE_PAGES = ("cp1252", "cp437", "ascii")


@pytest.fixture
def job(tmp_path: Path) -> Path:
    """The pair of tubes with a name that no code page has."""
    text = PAIR.read_text(encoding="utf-8").replace("../shop.toml", "shop.toml")
    job = tmp_path / "job.toml"
    job.write_text(text.replace('"two tubes"', '"Grüße 🚲 שלום"'), encoding="utf-8")
    (tmp_path / "shop.toml").write_bytes((EXAMPLES / "shop.toml").read_bytes())
    return job


def told(encoding: str, *words: object) -> "subprocess.CompletedProcess[bytes]":
    """A command whose output goes into a pipe of that encoding."""
    return subprocess.run(
        [sys.executable, "-c", "from frame3d_cli.main import main; main()", *map(str, words)],
        env={**os.environ, "PYTHONIOENCODING": encoding, "PYTHONUTF8": "0"},
        capture_output=True,
        check=False,
    )


@pytest.mark.parametrize("encoding", CODE_PAGES)
@pytest.mark.parametrize("command", ["check", "errors", "filler"])
def test_no_letter_that_a_pipe_lacks_ends_a_command(job: Path, encoding: str, command: str) -> None:
    done = told(encoding, command, job)
    assert done.returncode == 0, done.stderr.decode(encoding)
    assert b"Traceback" not in done.stderr
    text = done.stdout.decode(encoding)
    assert "rail" in text
    if command == "check":
        assert ("Gru?e" if encoding == "ascii" else "Grüße") in text and "pass" in text


@pytest.mark.parametrize("encoding", CODE_PAGES)
@pytest.mark.parametrize("command", ["check", "setup", "errors", "filler"])
def test_numbers_for_programs_lose_no_letter_in_any_pipe(
    job: Path, encoding: str, command: str
) -> None:
    done = told(encoding, command, job, "--json")
    assert done.returncode == 0, done.stderr.decode(encoding)
    assert "Grüße 🚲 שלום" in json.dumps(json.loads(done.stdout), ensure_ascii=False)


def test_a_complaint_reaches_a_pipe_of_any_encoding(tmp_path: Path) -> None:
    done = told("ascii", "check", tmp_path / "Grüße 🚲.toml")
    assert done.returncode == 2
    assert done.stderr.startswith(b"frame3d: ") and b"Traceback" not in done.stderr


@pytest.mark.parametrize("name", ["CON", "nul", "Com1", "LPT9", "aux.tube", "COM¹", "con ", "NUL."])
def test_no_file_is_named_like_a_device_of_windows(name: str) -> None:
    stem = file_stems([name])[name]
    assert stem.startswith("_") and stem[1:].casefold() == name.strip(" .").casefold()
    assert file_stems(["CONE", "com", "COM10", "seat tube"]) == {
        name: name for name in ("CONE", "com", "COM10", "seat tube")
    }


def test_names_that_macos_holds_for_the_same_get_files_of_their_own() -> None:
    """Apple's file systems compare names without regard to case and to how accents are put."""
    names = ["é", normalize("NFD", "é"), "É", "straße", "STRASSE"]
    stems = file_stems(names)
    kept = {normalize("NFD", stem).casefold() for stem in stems.values()}
    assert len(kept) == len(names)


def test_on_windows_names_of_files_leave_room_for_their_folders(monkeypatch) -> None:
    """MAX_PATH, 260 letters with all folders, holds unless somebody has changed it."""
    long = "a tube " * 28
    assert len(file_stems([long])[long]) > 190
    monkeypatch.setattr(sys, "platform", "win32")
    assert len(file_stems([long])[long]) <= 100


@pytest.mark.parametrize("platform", ["win32", "darwin"])
def test_windows_and_macos_have_a_display_without_x(monkeypatch, platform: str) -> None:
    monkeypatch.delenv("DISPLAY", raising=False)
    assert not renderer.has_display()
    monkeypatch.setattr(sys, "platform", platform)
    assert renderer.has_display()


def test_where_one_file_cannot_be_replaced_all_stay_as_they_were(job: Path, tmp_path: Path) -> None:
    """As where another program holds it open; here a folder stands in its place. New meshes beside
    an old report would be cut to."""
    out = tmp_path / "out"
    words = ["make", str(job), "-o", str(out)]
    assert CliRunner().invoke(main, words).exit_code == 0
    (out / "report.json").unlink()
    (out / "report.json" / "held").mkdir(parents=True)
    (out / "meshes" / "post.stl").unlink()
    (out / "frame.glb").write_bytes(b"old")
    before = {path: path.is_file() and path.read_bytes() for path in out.rglob("*")}
    job.write_text(job.read_text(encoding="utf-8").replace("36.0", "38.1"), encoding="utf-8")
    result = CliRunner().invoke(main, words)
    assert result.exit_code == 2
    assert f"{out / 'report.json'}: cannot be written" in result.stderr
    assert {path: path.is_file() and path.read_bytes() for path in out.rglob("*")} == before
    assert not [path.name for path in tmp_path.iterdir() if path.name.startswith(".")]
    (out / "report.json" / "held").rmdir()
    (out / "report.json").rmdir()
    assert CliRunner().invoke(main, words).exit_code == 0
    assert (out / "frame.glb").read_bytes() != b"old" and (out / "meshes" / "post.stl").exists()


@pytest.mark.parametrize("ends", ["\r\n", "\n"])
@pytest.mark.parametrize("mark", [b"", b"\xef\xbb\xbf"])
def test_jobs_from_any_editor_say_the_right_line(job: Path, ends: str, mark: bytes) -> None:
    """Windows' line ends, and the byte order mark that some editors put before UTF-8."""
    text = job.read_text(encoding="utf-8").replace("od    = 36.0", "od    = -1")
    job.write_bytes(mark + text.replace("\n", ends).encode())
    result = CliRunner().invoke(main, ["check", str(job)])
    line = text.splitlines().index("od    = -1") + 1
    assert result.exit_code == 2 and f"line {line}," in result.stderr


def test_a_pool_has_no_more_processes_than_windows_takes(monkeypatch) -> None:
    """concurrent.futures: more than 61 raise ValueError on Windows."""
    asked = []

    class Pool:
        map = map

        def __init__(self, cores: int, **_: object) -> None:
            asked.append(cores)

        def shutdown(self, **_: object) -> None:
            pass

    monkeypatch.setattr(process_pool, "ProcessPoolExecutor", Pool)
    monkeypatch.setattr(os, "cpu_count", lambda: 128)
    with process_pool.spread(200) as run:
        assert list(run(abs, [-1])) == [1]
    with process_pool.spread(20):
        pass
    assert asked == [61, 20]


def test_guides_are_made_by_processes_that_start_anew(tmp_path: Path) -> None:
    """As on Windows and macOS, and from a script that is not the installed command."""
    script = tmp_path / "make guides.py"
    script.write_text(
        "import multiprocessing, os\n"
        "from frame3d_cli.main import main\n"
        "if __name__ == '__main__':\n"
        "    multiprocessing.set_start_method('spawn')\n"
        "    os.cpu_count = lambda: 2\n"
        "    main()\n",
        encoding="utf-8",
    )
    out = tmp_path / "out"
    words = ["guides", EXAMPLES / "diamond" / "job.toml", "--no-slice", "-o", out]
    done = subprocess.run([sys.executable, script, *words], capture_output=True, check=False)
    assert done.returncode == 0, done.stderr.decode()
    assert len(list((out / "guides").glob("*.stl"))) > 10


@pytest.mark.skipif(sys.platform == "win32", reason="signals of POSIX")
def test_processes_end_with_a_killed_parent() -> None:
    """A worker that is asleep is told of by a pipe that only the workers write to."""
    code = (
        "import os, sys, time\n"
        "from frame3d.guides.process_pool import spread\n"
        "if __name__ == '__main__':\n"
        "    os.cpu_count = lambda: 2\n"
        "    with spread(9) as run:\n"
        "        list(run(time.sleep, [0.01] * 9))\n"
        "        print('ready', flush=True)\n"
        "        list(run(time.sleep, [60] * 9))\n"
    )
    work = subprocess.Popen([sys.executable, "-c", code], stdout=subprocess.PIPE)
    assert work.stdout is not None and work.stdout.readline() == b"ready\n"
    work.kill()
    work.wait()
    # The workers hold the other end of this pipe: it ends when the last of them has ended.
    began = time.monotonic()
    assert work.stdout.read() == b""
    assert time.monotonic() - began < 20


HIDDEN = ("libEGL.so.1", "libEGL.so", "libGL.so.1", "libGL.so", "libGLX.so.0", "libOpenGL.so.0",
          "libOSMesa.so.8", "libOSMesa.so.6", "libOSMesa.so", "libX11.so.6")  # fmt: skip


@pytest.mark.skipif(sys.platform != "linux", reason="hides libraries as Linux finds them")
@pytest.mark.parametrize(
    ("words", "files"),
    [
        (["make", "--all"], ["report.json", "frame.glb", "shop/pages.pdf", "guides/guides.pdf",
                             "share/frame.html", "share/frame.pdf"]),
        (["share"], ["frame.html", "frame.pdf", "frame.glb", "meshes/rail.stl"]),
        (["guides", "--no-slice"], ["guides/guides.pdf", "guides/guides.json"]),
        (["setup"], ["shop/pages.pdf"]),
    ],
    ids=lambda value: value[0],
)  # fmt: skip
def test_without_graphics_libraries_all_but_pictures_is_written(
    tmp_path: Path, words: list[str], files: list[str]
) -> None:
    """Empty files that are found first stand for libraries that are not there."""
    for name in HIDDEN:
        (tmp_path / name).touch()
    # Nor is there a slicer, which needs them for itself.
    environment = {**os.environ, "LD_LIBRARY_PATH": str(tmp_path), "PATH": str(tmp_path)}
    environment.pop("DISPLAY", None)
    start = [sys.executable, "-c", "from frame3d_cli.main import main; main()"]
    done = subprocess.run(
        [*start, words[0], str(PAIR), *words[1:], "-o", str(tmp_path / "out")],
        env=environment, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    for name in files:
        assert (tmp_path / "out" / name).stat().st_size > 1000, name
    assert not list((tmp_path / "out").rglob("three-quarter.png"))
    if words == ["setup"]:
        assert done.stderr == ""
    else:
        assert done.stderr.count("\n") == 1 and "install Mesa's libEGL" in done.stderr
