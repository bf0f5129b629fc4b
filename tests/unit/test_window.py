"""The preview window, its keys pressed without a display."""

import gc
import os
import subprocess
import sys
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from click.testing import CliRunner
from frames import diamond, two_tubes

from frame3d.build import Build
from frame3d.cache import Cache
from frame3d.model import Profile, Tube
from frame3d.view.renderer import has_display, renderer_chosen
from frame3d.view.stage import Shown, labels_of
from frame3d.view.window import Window, joint_told
from frame3d_cli.main import main


@pytest.fixture
def window():
    made = Window(Build(two_tubes(saw=39.0)).version(gaps=True), off_screen=True)
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


def test_what_is_picked_stays_so_with_the_numbers_of_the_new_state(window):
    frame = window.version.frame
    window.pick(np.array([150.0, 0.0, 36.0 + 14.7]))
    before = window.told
    rail = replace(frame.tube("rail"), wall=Profile.constant(1.1))
    window.replace(Build(frame.with_tube(rail)).version(gaps=True), None)
    assert before.startswith("rail: 28.5") and "1.1 mm wall" in window.told
    window.replace(Build(diamond()).version(gaps=True), None)
    assert window.told == ""


def test_a_new_state_and_a_fault_are_shown_from_the_same_eye(window):
    window.look_from("side")
    eye = window.plotter.camera_position
    window.replace(Build(diamond()).version(gaps=True), "job.toml, line 3: wrong")
    assert window.fault and len(window.version.frame.tubes) > 2
    assert np.allclose(window.plotter.camera_position.position, eye.position)


def test_a_window_that_is_redrawn_again_and_again_keeps_nothing(window):
    versions = [Build(two_tubes(saw=saw)).version(gaps=True) for saw in (38.0, 39.0)]
    window.show(Shown(gaps=True, dimensions=True, nodes=True, section=True))
    held, actors = [], []
    for k in range(60):
        window.replace(versions[k % 2], "wrong" if k % 3 == 0 else None)
        if k in (19, 59):
            gc.collect()
            held.append(sys.getallocatedblocks())
            actors.append(len(window.plotter.renderer.actors))
    assert actors[0] == actors[1]
    assert held[1] - held[0] < 2_000, held  # one version's actors alone are several hundred


def test_an_edit_of_one_tube_makes_the_actors_of_that_tube_only(window):
    one = two_tubes(saw=39.0)
    rail = replace(one.tube("rail"), wall=Profile.constant(1.1))
    build = Build(one)
    window.replace(build.version(gaps=True), None)
    assert window.cast.actors.made == {"body": 2, "gap": 1}
    edited = Build(one.with_tube(rail), cache=Cache(build.cache))
    window.replace(edited.version(gaps=True), None)
    assert window.cast.actors.made == {"body": 1, "gap": 1}
    again = Build(edited.frame, cache=Cache(edited.cache))
    window.replace(again.version(gaps=True), "wrong")
    assert window.cast.actors.made == {}


def test_without_a_display_a_picture_is_offered(tmp_path, monkeypatch):
    monkeypatch.delenv("DISPLAY", raising=False)
    monkeypatch.delenv("WAYLAND_DISPLAY", raising=False)
    monkeypatch.setattr("sys.platform", "linux")
    assert not has_display()
    result = CliRunner().invoke(main, ["preview", "examples/two-tubes/job.toml"])
    assert result.exit_code == 2
    assert "no display" in result.output and "--png" in result.output


def test_a_display_that_does_not_answer_is_none(monkeypatch):
    monkeypatch.setattr("sys.platform", "linux")
    monkeypatch.setenv("DISPLAY", ":977")
    assert not has_display()


def test_no_display_is_looked_for_where_there_is_none(tmp_path):
    """VTK warns on standard error when it looks for a display in vain."""
    room = {key: value for key, value in os.environ.items() if key != "DISPLAY"}
    command = "from frame3d_cli.main import main; main()"
    arguments = ["preview", "examples/two-tubes/job.toml", "--png", str(tmp_path / "p.png")]
    done = subprocess.run(
        [sys.executable, "-c", command, *arguments, "--size", "320x200"],
        env=room, capture_output=True, text=True,
    )  # fmt: skip
    assert (done.returncode, done.stderr) == (0, "")


def test_the_choice_of_a_renderer_does_not_outlive_the_picture(monkeypatch):
    """A window that a child process opens on a display must not inherit it."""
    monkeypatch.setattr("sys.platform", "linux")
    monkeypatch.delenv("DISPLAY", raising=False)
    monkeypatch.delenv("VTK_DEFAULT_OPENGL_WINDOW", raising=False)
    with renderer_chosen():
        assert os.environ["VTK_DEFAULT_OPENGL_WINDOW"].endswith("RenderWindow")
    assert "VTK_DEFAULT_OPENGL_WINDOW" not in os.environ


def test_without_any_renderer_it_says_what_to_install(tmp_path, monkeypatch):
    monkeypatch.setattr("sys.platform", "linux")
    monkeypatch.delenv("DISPLAY", raising=False)
    monkeypatch.delenv("VTK_DEFAULT_OPENGL_WINDOW", raising=False)
    monkeypatch.setattr("frame3d.view.renderer.RENDERERS", (("none", ("libNoSuchThing.so",)),))
    target = str(tmp_path / "p.png")
    result = CliRunner().invoke(main, ["preview", "examples/two-tubes/job.toml", "--png", target])
    assert result.exit_code == 2 and "libEGL" in result.output
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("name", ["p.jpg", "p", "p.png.svg"])
def test_a_picture_is_a_png_and_nothing_else(tmp_path, name):
    target = tmp_path / name
    arguments = ["preview", "examples/two-tubes/job.toml", "--png", str(target)]
    result = CliRunner().invoke(main, arguments)
    assert result.exit_code == 2 and "ends in .png" in result.output.replace("\n", " ")
    assert not target.exists()


@pytest.mark.parametrize("other", [["--transparent"], ["--png", "p.png", "--live"]])
def test_options_that_do_not_go_together_are_refused(other):
    result = CliRunner().invoke(main, ["preview", "examples/two-tubes/job.toml", *other])
    assert result.exit_code == 2 and "expected" in result.output


def test_labels_are_laid_out_anew_where_the_eye_stands(window):
    """As VTK draws them: the boxes of its own texts."""
    window.show(Shown(gaps=True, dimensions=True, nodes=True, names=True))
    seen = []
    for key in ("F1", "F2", "F3"):
        window._keys()[key]()
        picture(window)
        renderer, boxes = window.plotter.renderer, []
        for actor in window.cast.labels._actors:
            if actor.GetVisibility():
                box = [0.0] * 4
                actor.GetBoundingBox(renderer, box)
                at = np.repeat(actor.GetPosition(), 2)
                boxes.append(np.add(box, at))
        low, high = np.array(boxes)[:, ::2], np.array(boxes)[:, 1::2]
        cover = ((low[:, None] < high) & (low < high[:, None])).all(axis=2)
        assert not np.triu(cover, 1).any()
        seen.append(low)
    assert len(seen[0]) >= 4 and not np.array_equal(seen[0], seen[1])


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
    assert CliRunner().invoke(main, [*arguments, "--joint", "rail:start"]).exit_code == 0
    assert target.read_bytes().startswith(b"\x89PNG")
    result = CliRunner().invoke(main, [*arguments, "--joint", "rail:end"])
    assert result.exit_code == 2 and "rail:start" in result.output
    assert [path.name for path in target.parent.iterdir()] == ["rail.png"]


def test_a_dimension_that_runs_towards_the_eye_is_left_out():
    """From the side a cross tube's length is a point; from the front it is a line again."""
    post = Tube("post", (0, 0, -150), (0, 0, 150), Profile.constant(36), Profile.constant(1))
    cross = Tube("cross", (0, -40, 0), (0, 40, 0), Profile.constant(20), Profile.constant(1))
    frame = replace(two_tubes(), tubes=(post, cross), joints=())
    window = Window(
        Build(frame).version(), Shown(dimensions=True), "side", (640, 400), off_screen=True
    )
    drawn = [label.text for label in labels_of(window.version.scene, window.shown)]
    assert drawn == ["300.0", "80.0"]

    def visible(kind: str) -> list[bool]:
        actors = [a for name, a in window.plotter.actors.items() if name.startswith(kind)]
        return [bool(actor.GetVisibility()) for actor in actors]

    for view, wanted in (("side", [True, False]), ("front", [True, True])):
        window.look_from(view)
        picture(window)
        assert visible("dimension line") == wanted
        assert [bool(actor.GetVisibility()) for actor in window.cast.labels._actors] == wanted
    window.plotter.close()
