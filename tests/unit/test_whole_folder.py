"""A folder of outputs appears whole or not at all, wherever an interrupt or a kill comes."""

import os
import random
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from functools import partial
from pathlib import Path
from types import FrameType
from typing import Any

import pytest
from filelock import FileLock

from frame3d import output_folder
from frame3d.output_folder import whole_folder

PAIR = Path(__file__).parents[2] / "examples" / "two-tubes" / "job.toml"
BEFORE = {"a.txt": "old a", "kept.txt": "mine", "meshes/b.stl": "old b"}
FRESH = {"a.txt": "new a", "meshes/b.stl": "new b", "meshes/c.stl": "new c", "shop/d/e": "new e"}
AFTER = {**BEFORE, **FRESH}
EVENT = "line"  # of a trace; "opcode" interrupts inside lines too, and takes 20 s


def put(place: Path, files: dict[str, str]) -> None:
    for name, text in files.items():
        (place / name).parent.mkdir(parents=True, exist_ok=True)
        (place / name).write_text(text)


def found(place: Path) -> dict[str, str]:
    """All files, hidden leftovers left out."""
    files = {path.relative_to(place).as_posix(): path for path in place.rglob("*")}
    return {
        name: path.read_text()
        for name, path in files.items()
        if path.is_file() and not name.startswith(".out-")
    }


def leftovers(out: Path) -> list[Path]:
    return [*out.parent.glob(".out-*"), *out.glob(".out-*")]


def at_step(number: int, act: Callable[[], None]) -> Callable[..., Any]:
    """A tracer that acts before the so manieth step in folder.py."""
    left = number

    def trace(frame: FrameType, event: str, argument: object) -> Callable[..., Any] | None:
        nonlocal left
        if frame.f_code.co_filename != output_folder.__file__:
            return None
        frame.f_trace_opcodes = True
        if event == EVENT:
            left -= 1
            if left == 0:
                act()
        return trace

    return trace


def write(out: Path) -> None:
    with whole_folder(out) as fresh:
        put(fresh, FRESH)


def traced(out: Path, trace: Callable[..., Any]) -> None:
    sys.settrace(trace)
    try:
        write(out)
    finally:
        sys.settrace(None)


def steps(out: Path) -> int:
    count = 0

    def trace(frame: FrameType, event: str, argument: object) -> Callable[..., Any] | None:
        nonlocal count
        if frame.f_code.co_filename != output_folder.__file__:
            return None
        frame.f_trace_opcodes = True
        count += event == EVENT
        return trace

    traced(out, trace)
    return count


def interrupt() -> None:
    raise KeyboardInterrupt


def test_an_interrupt_at_any_step_leaves_all_files_old_or_all_new(tmp_path: Path) -> None:
    put(tmp_path / "counted" / "out", BEFORE)
    many = steps(tmp_path / "counted" / "out")
    assert many > 100
    seen = set()
    for step in range(1, many + 1):
        out = tmp_path / str(step) / "out"
        put(out, BEFORE)
        with pytest.raises(KeyboardInterrupt):
            traced(out, at_step(step, interrupt))
        state = found(out)
        assert state in (BEFORE, AFTER), step
        seen.add(state == AFTER)
        write(out)
        assert found(out) == AFTER and not leftovers(out), step
    assert seen == {True, False}


@pytest.mark.skipif(not hasattr(os, "fork"), reason="no fork on this system")
def test_a_kill_at_any_step_loses_no_file_and_the_next_run_puts_all_in_order(
    tmp_path: Path,
) -> None:
    put(tmp_path / "counted" / "out", BEFORE)
    many = steps(tmp_path / "counted" / "out")
    left = 0
    for step in range(1, many + 1):
        out = tmp_path / str(step) / "out"
        put(out, BEFORE)
        child = os.fork()
        if child == 0:
            traced(out, at_step(step, lambda: os._exit(9)))
            os._exit(0)
        assert os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) == 9
        for name, text in found(out).items():
            assert text in (BEFORE.get(name), AFTER[name])
        assert found(out).keys() >= BEFORE.keys(), step
        left += bool(leftovers(out))
        with pytest.raises(ValueError), whole_folder(out):
            assert found(out) in (BEFORE, AFTER), step
            raise ValueError("this run fails")
        assert found(out) in (BEFORE, AFTER), step
        assert not leftovers(out), step
    assert left > many / 2


def test_an_interrupted_way_back_is_gone_to_its_end_by_the_next_run(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    replace = os.replace

    def breaks(source: Any, place: Any) -> None:
        if Path(place) == out / "meshes" / "c.stl" or output_folder.OLD in Path(source).parts:
            raise KeyboardInterrupt
        replace(source, place)

    out = tmp_path / "out"
    put(out, BEFORE)
    with monkeypatch.context() as patched:
        patched.setattr(os, "replace", breaks)
        with pytest.raises(KeyboardInterrupt):
            write(out)
    assert found(out)["a.txt"] == "new a" and leftovers(out)
    with pytest.raises(ValueError), whole_folder(out):
        raise ValueError("this run fails")
    assert found(out) == BEFORE and not leftovers(out)


def test_folders_that_somebody_holds_or_that_are_not_ours_stay(tmp_path: Path) -> None:
    out = tmp_path / "out"
    for name in (".out-abcd1234", ".out-settings", ".out-abcd12345", ".other-abcd1234"):
        put(tmp_path / name, {"new/a": "", **({} if "settings" in name else {"lock": ""})})
    (tmp_path / ".out-settings").rename(tmp_path / ".out-my_notes")  # as long as a random name
    with FileLock(tmp_path / ".out-abcd1234" / "lock"):
        write(out)
    assert len(list(tmp_path.glob(".o*"))) == 4
    write(out)
    kept = {path.name for path in tmp_path.glob(".o*")}
    assert kept == {".out-my_notes", ".out-abcd12345", ".other-abcd1234"}


def test_a_file_that_cannot_be_replaced_is_told_by_its_own_name(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def held(*words: Any, **more: Any) -> None:
        raise PermissionError(13, "Permission denied", str(words[0]), None, str(words[1]))

    monkeypatch.chdir(tmp_path)
    put(Path("out"), BEFORE)
    for function in ("link", "replace"):
        monkeypatch.setattr(os, function, held)
    with pytest.raises(PermissionError) as told:
        write(Path("out"))
    # The record is written first; nothing can be moved at all.
    assert told.value.filename == "out"
    monkeypatch.undo()
    monkeypatch.chdir(tmp_path)
    replace = os.replace

    def one_held(source: Any, place: Any) -> None:
        if Path(source) == tmp_path / "out" / "a.txt" or Path(place) == tmp_path / "out" / "a.txt":
            held(source, place)
        replace(source, place)

    monkeypatch.setattr(os, "link", held)
    monkeypatch.setattr(os, "replace", one_held)
    with pytest.raises(PermissionError) as told:
        write(Path("out"))
    assert told.value.filename == str(Path("out") / "a.txt")
    assert found(Path("out")) == BEFORE


def test_a_file_that_cannot_be_written_is_told_by_its_place_to_be(tmp_path: Path) -> None:
    for _ in range(2):
        with (
            pytest.raises(FileNotFoundError) as told,
            whole_folder(tmp_path / "out") as fresh,
        ):
            (fresh / "shop" / "x").write_text("")
        assert told.value.filename == str(tmp_path / "out" / "shop" / "x")
        (tmp_path / "out").mkdir(exist_ok=True)


@pytest.mark.skipif(sys.platform == "win32", reason="Windows has no such signals")
@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
def test_a_signal_ends_a_command_and_leaves_nothing_behind(tmp_path: Path, number: int) -> None:
    out = tmp_path / "out"
    put(out, BEFORE)
    words = [sys.executable, "-c", "from frame3d_cli.main import main; main()"]
    words += ["make", str(PAIR), "--all", "-o", str(out)]
    heard = partial(signal.signal, number, signal.SIG_DFL)  # what runs in the background ignores it
    work = subprocess.Popen(words, stderr=subprocess.PIPE, text=True, preexec_fn=heard)
    limit = time.monotonic() + 30
    while not leftovers(out) and time.monotonic() < limit:
        time.sleep(0.01)
    time.sleep(random.uniform(0.1, 0.3))
    work.send_signal(number)
    told = work.communicate(timeout=30)[1]
    assert work.returncode not in (0, -number) and "Traceback" not in told
    assert found(out) == BEFORE and not leftovers(out)
