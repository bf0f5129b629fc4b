"""The preview window on a real X server (Xvfb), its keys and clicks sent by xdotool."""

import os
import shutil
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import pytest
from judges import need
from PIL import ImageGrab

pytestmark = pytest.mark.peer

EXAMPLES = Path(__file__).parents[2] / "examples"
COMMAND = (sys.executable, "-c", "from frame3d_cli.main import main; main()", "preview")
SIZE = (900, 700)
PATIENCE_S = 60.0


@pytest.fixture(scope="module")
def display() -> Iterator[str]:
    need("Xvfb")
    need("xdotool")
    screen = f"{SIZE[0]}x{SIZE[1]}x24"
    # Without -noreset it starts anew whenever its only client leaves, and drops who comes just
    # then: each look for the window would be such a client.
    server = subprocess.Popen(
        ["Xvfb", "-noreset", "-displayfd", "1", "-screen", "0", screen],
        stdout=subprocess.PIPE,
        text=True,
    )
    assert server.stdout is not None
    yield ":" + server.stdout.readline().strip()
    server.terminate()
    server.wait()


def until(what: Callable[[], object]) -> object:
    limit = time.monotonic() + PATIENCE_S
    while not (found := what()):
        assert time.monotonic() < limit
        time.sleep(0.05)
    return found


class Shown:
    """A preview window on a display, as large as the display."""

    def __init__(self, display: str, *arguments: str) -> None:
        self._display = display
        self._room = {**os.environ, "DISPLAY": display}
        self.process = subprocess.Popen(
            [*COMMAND, *arguments, "--size", f"{SIZE[0]}x{SIZE[1]}"],
            env=self._room,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
        )
        until(lambda: self._xdotool("search", "--name", "^frame3d$") or self._ended())
        assert not self._ended(), self.process.communicate()[0]
        self.window = self._xdotool("search", "--name", "^frame3d$").split()[-1]
        self.steady(lambda picture: (picture < 200).any(axis=2).mean() > 0.05)

    def _xdotool(self, *words: str) -> str:
        done = subprocess.run(["xdotool", *words], env=self._room, capture_output=True, text=True)
        return done.stdout

    def _ended(self) -> bool:
        return self.process.poll() is not None

    def picture(self) -> np.ndarray:
        return np.asarray(ImageGrab.grab(xdisplay=self._display).convert("RGB")).astype(int)

    def steady(self, wanted: Callable[[np.ndarray], object] = lambda picture: True) -> np.ndarray:
        """The picture, once it is as wanted and does not change any more."""
        last: list[np.ndarray] = [self.picture()]

        def same() -> bool:
            time.sleep(0.15)
            last.append(self.picture())
            return bool(np.array_equal(last[-2], last[-1]) and wanted(last[-1]))

        until(same)
        return last[-1]

    def press(self, key: str) -> np.ndarray:
        """Press a key, and wait for the picture that it makes."""
        before = self.steady()
        self._xdotool("windowfocus", self.window)
        self._xdotool("mousemove", str(SIZE[0] // 2), str(SIZE[1] - 120), "key", key)
        return self.steady(lambda now: differing(before, now) > 20)

    def click(self, x: int, y: int) -> np.ndarray:
        before = self.steady()
        self._xdotool("mousemove", str(x), str(y), "click", "1")
        return self.steady(lambda now: differing(before, now) > 20)

    def quit(self) -> tuple[int, str]:
        self._xdotool("windowfocus", self.window, "key", "q")
        told, _ = self.process.communicate(timeout=PATIENCE_S)
        return self.process.returncode, told


def differing(one: np.ndarray, other: np.ndarray) -> int:
    """Pixels that differ clearly."""
    return int((np.abs(one - other).max(axis=2) > 60).sum())


def red(picture: np.ndarray) -> int:
    return int(((picture[..., 0] > 150) & (picture[..., 1:].max(axis=2) < 80)).sum())


def test_keys_switch_a_click_picks_and_q_closes(display):
    window = Shown(display, str(EXAMPLES / "two-tubes" / "job.toml"), "--view", "side")
    for key in "gdntxy":
        before = window.steady()
        window.press(key)
        assert differing(before, window.press(key)) < 200, key
    before = window.steady()
    columns = np.nonzero((before < 170).all(axis=2).mean(axis=0) > 0.6)[0]  # of the upright post
    told = window.click(int(columns.mean()), 520)
    assert differing(before[:60], told[:60]) > 100  # the tube's sizes stand above
    assert differing(before[120:], told[120:]) < 200
    code, told = window.quit()
    assert (code, told) == (0, "")


def test_live_redraws_on_save_and_tells_a_bad_edit(display, tmp_path):
    shutil.copytree(EXAMPLES, tmp_path / "examples")
    job = tmp_path / "examples" / "two-tubes" / "job.toml"
    text = job.read_text(encoding="utf-8")
    window = Shown(display, str(job), "--live")
    before = window.steady()
    job.write_text(text.replace("60.0]", "-60.0]"), encoding="utf-8")
    turned = window.steady(lambda now: differing(before, now) > 2000)
    job.write_text(text.replace("wall", "wal"), encoding="utf-8")
    bad = window.steady(lambda now: red(now) > 50)
    assert red(turned) == 0
    assert differing(turned[120:], bad[120:]) < 200  # the last good frame stays
    job.write_text(text, encoding="utf-8")
    window.steady(lambda now: red(now) == 0 and differing(before, now) < 200)
    code, told = window.quit()
    assert code == 0
    assert 'did you mean "wall"' in told.replace("\n", " ") and "127.0.0.1" in told
