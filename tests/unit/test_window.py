"""The preview window, its keys pressed without a display."""

from itertools import pairwise

import numpy as np
import pytest
from click.testing import CliRunner
from frames import diamond, two_tubes

from frame3d.share.present import presented
from frame3d.share.screen import has_display
from frame3d.share.window import Window, joint_told
from frame3d_cli.main import main


@pytest.fixture
def window():
    made = Window(presented(two_tubes(saw=39.0), gaps=True), off_screen=True)
    yield made
    made.plotter.close()


def picture(window: Window) -> np.ndarray:
    return np.asarray(window.plotter.screenshot(return_img=True)).astype(int)


def test_every_key_changes_what_is_seen_and_changes_it_back(window):
    before = picture(window)
    keys = window._keys()
    for key in "gdntxy":
        keys[key]()
        assert (np.abs(picture(window) - before).max(axis=2) > 40).sum() > 40, key
        keys[key]()
        assert np.abs(picture(window) - before).max() < 12, key


def test_views_differ(window):
    seen = []
    for key in ("F1", "F2", "F3", "F4"):
        window._keys()[key]()
        seen.append(picture(window))
    assert all((a != b).any(axis=2).mean() > 0.02 for a, b in pairwise(seen))


def test_a_joint_that_is_picked_tells_its_numbers_and_comes_near(window):
    collar = window.version.scene.collars[0]
    window.pick(collar.vertices[-1])
    assert window.told == joint_told(window.version.report.joints[0])
    assert "39 mm saw" in window.told and "FAIL" in window.told and "0.512" in window.told
    assert np.linalg.norm(np.subtract(window.plotter.camera.focal_point, collar.centre)) < 15
    window.let_go()
    assert window.told == ""


def test_a_tube_is_picked_by_its_surface_also_far_from_its_vertices(window):
    window.pick(np.array([150.0, 0.0, 36.0 + 14.7]))
    assert window.told.startswith("rail: 28.5")
    window.pick(np.array([18.0, 0.0, -80.0]))
    assert window.told.startswith("post: 36 mm")


def test_a_new_state_and_a_fault_are_shown_from_the_same_eye(window):
    window.look_from("side")
    eye = window.plotter.camera_position
    window.replace(presented(diamond(), gaps=True), "job.toml, line 3: wrong")
    assert window.fault and len(window.version.frame.tubes) > 2
    assert np.allclose(window.plotter.camera_position.position, eye.position)


def test_without_a_display_a_picture_is_offered(tmp_path, monkeypatch):
    monkeypatch.delenv("DISPLAY", raising=False)
    monkeypatch.delenv("WAYLAND_DISPLAY", raising=False)
    monkeypatch.setattr("sys.platform", "linux")
    assert not has_display()
    result = CliRunner().invoke(main, ["preview", "examples/two-tubes/job.toml"])
    assert result.exit_code == 2
    assert "no display" in result.output and "--png" in result.output


def test_png_is_written_whole_or_not_at_all(tmp_path):
    target = tmp_path / "new" / "rail.png"
    arguments = [
        "preview",
        "examples/two-tubes/job.toml",
        "--png",
        str(target),
        "--size",
        "320x200",
    ]
    assert CliRunner().invoke(main, [*arguments, "--joint", "rail, start"]).exit_code == 0
    assert target.read_bytes().startswith(b"\x89PNG")
    result = CliRunner().invoke(main, [*arguments, "--joint", "rail, end"])
    assert result.exit_code == 2 and "rail,start" in result.output
    assert [path.name for path in target.parent.iterdir()] == ["rail.png"]
