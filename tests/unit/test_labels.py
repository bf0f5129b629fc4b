"""Labels never cover each other, in any example, from any side, on paper or on screen."""

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

import frame3d
from frame3d.build import Build
from frame3d.view.label_layout import APART, lay_out
from frame3d.view.labels import placed
from frame3d.view.lettering import printed, text_size
from frame3d.view.pictures import EYES, VIEWS, frame_points
from frame3d.view.side_drawing import LETTERS
from frame3d.view.stage import Shown, labels_of
from frame3d.view.version import Version

EXAMPLES = ("two-tubes", "diamond", "trailer", "touring", "step-through", "small-wheels")


@pytest.fixture(scope="module", params=EXAMPLES)
def version(request) -> Version:
    return frame3d.open(
        Path(__file__).parents[2] / "examples" / request.param / "job.toml"
    ).version()


def covering(middles: np.ndarray, sizes: np.ndarray) -> int:
    """How many pairs of boxes overlap."""
    there = np.isfinite(middles[:, 0])
    middles, halves = middles[there], sizes[there] / 2
    apart = np.abs(middles[:, None] - middles) >= halves[:, None] + halves
    return int(np.triu(~apart.any(axis=2), 1).sum())


class _Eye:
    """Stands in for a plotter: remembers what the camera was told."""

    def __init__(self, size: tuple[int, int]) -> None:
        self.window_size = size
        self.camera = self

    def reset_camera_clipping_range(self) -> None:
        pass


@pytest.mark.parametrize("size", [(1600, 1000), (800, 600)])
@pytest.mark.parametrize("view", VIEWS)
def test_no_label_of_a_picture_covers_another(version, view, size):
    scene = version.scene
    eye = _Eye(size)
    points = np.concatenate([body.mesh.vertices for body in scene.bodies()])
    frame_points(eye, points, *(np.asarray(v, float) for v in EYES[view]))
    for shown in (Shown(dimensions=True), Shown(nodes=True), Shown(names=True)):
        labels = labels_of(scene, shown)
        texts = [printed(label.text) for label in labels]
        _, middles, sizes = placed(labels, eye, size, texts)
        assert covering(middles, sizes) == 0
        told = {text for text, middle in zip(texts, middles, strict=True) if middle[0] > 0}
        if size[0] == 1600 and view == "three-quarter":
            assert told == set(texts)  # each text is there, left and right that look alike once


def test_no_text_of_the_drawing_covers_another(version):
    drawing = version.drawing
    wide = float(np.ptp(drawing.box, axis=0)[0])
    for letters in (wide / LETTERS, wide / 70):
        middles, sizes = drawing.texts(letters)
        assert covering(middles, sizes) == 0
        assert np.isfinite(middles).all()


@given(
    anchors=arrays(float, (12, 2), elements=st.floats(0.0, 400.0)),
    sizes=arrays(float, (12, 2), elements=st.floats(5.0, 60.0)),
    dots=arrays(float, (3, 2), elements=st.floats(0.0, 400.0)),
)
def test_laid_out_boxes_keep_apart_and_inside(anchors, sizes, dots):
    box = np.array([[0.0, 0.0], [400.0, 400.0]])
    middles = lay_out(anchors, sizes, box, dots)
    assert covering(middles, sizes) == 0
    there = np.isfinite(middles[:, 0])
    assert np.all(middles[there] - sizes[there] / 2 >= -1e-9)
    assert np.all(middles[there] + sizes[there] / 2 <= 400 + 1e-9)
    for dot in dots:
        assert np.all((np.abs(middles[there] - dot) > sizes[there] / 2).any(axis=1))


def test_a_label_with_room_stands_at_its_place():
    box = np.array([[0.0, 0.0], [400.0, 400.0]])
    anchors = np.array([[100.0, 100.0], [300.0, 300.0]])
    assert np.array_equal(lay_out(anchors, np.full((2, 2), 20.0), box), anchors)
    assert 0 < APART < 1


def test_sizes_of_texts_are_the_font_s():
    """Against Pillow's own rendering of the same font."""
    from PIL import ImageFont

    from frame3d.fonts import font_file

    font = ImageFont.truetype(str(font_file()), 100)
    for text in ("wheelbase 1033.3", "left chain stay × chain stay bridge", "Ω"):
        assert text_size(text, 100)[0] == pytest.approx(font.getlength(text), rel=0.02)


def test_nodes_name_the_tubes_that_meet_where_axes_cross():
    frame = frame3d.open(Path(__file__).parents[2] / "examples" / "diamond" / "job.toml").frame
    nodes = {node.label: np.array(node.at) for node in Build(frame).version().scene.nodes}
    label = next(label for label in nodes if label.startswith("seat tube × top tube"))
    seat, top = frame.tube("seat tube"), frame.tube("top tube")
    for tube in (seat, top):
        along = np.subtract(tube.end, tube.start) / tube.length
        off = nodes[label] - tube.start
        assert np.linalg.norm(off - (off @ along) * along) < 0.01


def test_a_bicycle_s_measures_are_drawn_where_they_are_measured():
    build = frame3d.open(Path(__file__).parents[2] / "examples" / "touring" / "job.toml")
    drawn = {d.label: d for d in build.scene.dimensions if d.label}
    told = build.facts.geometry
    for label, key in (
        ("wheelbase", "wheelbase"), ("stack", "stack"), ("reach", "reach"),
        ("chain stay", "chain_stay_length"), ("BB drop", "bb_drop"),
        ("shell height", "shell_height"),
    ):  # fmt: skip
        span = np.linalg.norm(np.subtract(drawn[label].a, drawn[label].b))
        assert span == pytest.approx(told[key], abs=1e-3)
        assert drawn[label].value == f"{told[key]:.1f}"
