"""Pictures are judged by what they show: outlines against the projected model, gap colours."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from frames import diamond, two_tubes
from PIL import Image

import frame3d
from frame3d.build import Build
from frame3d.model import Show
from frame3d.view.pictures import (
    EYES,
    VIEWS,
    close_up,
    frame_points,
    joint_eye,
    picture,
    share_seen,
)
from frame3d.view.scene import Scene
from frame3d.view.stage import Shown

SIZE = (640, 400)
EXAMPLES = Path(__file__).parents[2] / "examples"


def scene(frame) -> Scene:
    return Build(frame).version().scene


@pytest.fixture(scope="module")
def bicycle() -> Scene:
    return scene(diamond())


class _Eye:
    """Stands in for a plotter: remembers what the camera was told."""

    window_size = SIZE

    def __init__(self) -> None:
        self.camera = self

    def reset_camera_clipping_range(self) -> None:
        pass


def projected(points, view: str, right_free: float = 0.0):
    """Pixels (N, 2), right and down, of points, by plain arithmetic."""
    towards, up = (np.asarray(v, float) for v in EYES[view])
    eye = _Eye()
    everything = points
    frame_points(eye, everything, towards, up, right_free)
    towards /= np.linalg.norm(towards)
    right = np.cross(up, towards)
    right /= np.linalg.norm(right)
    above = np.cross(towards, right)
    scale = SIZE[1] / 2 / eye.parallel_scale
    off = points - eye.focal_point
    return np.stack([SIZE[0] / 2 + off @ right * scale, SIZE[1] / 2 - off @ above * scale], axis=1)


@pytest.mark.parametrize("view", VIEWS)
def test_outline_fills_the_box_of_the_projected_model(bicycle, view, tmp_path: Path):
    picture(bicycle, tmp_path / "p.png", view, size=SIZE)
    pixels = np.asarray(Image.open(tmp_path / "p.png").convert("RGB")).astype(int)
    rows, columns = np.nonzero((pixels < 240).any(axis=2))
    found = np.array([columns.min(), rows.min(), columns.max() + 1, rows.max() + 1])
    at = projected(np.concatenate([p.mesh.vertices for p in bicycle.pieces]), view)
    expected = np.concatenate([at.min(axis=0), at.max(axis=0)])
    assert (
        np.abs(found - expected).max() < 2.0
    )  # the outline is smoothed over a pixel on either side


def test_transparent_picture_has_a_clear_background_and_solid_tubes(bicycle, tmp_path: Path):
    picture(bicycle, tmp_path / "p.png", size=SIZE, transparent=True)
    alpha = np.asarray(Image.open(tmp_path / "p.png"))[..., 3]
    assert alpha[0, 0] == 0 and (alpha == 255).mean() > 0.05


def test_gap_colours_are_the_scale_s_at_known_points(tmp_path: Path):
    """A saw 3 mm too large leaves a gap that runs over most of the scale."""
    one = scene(two_tubes(saw=39.0))
    collar = one.collars[0]
    shown = Shown(gaps=True)
    picture(one, tmp_path / "p.png", "side", shown, size=SIZE)
    pixels = np.asarray(Image.open(tmp_path / "p.png").convert("RGB")).astype(float) / 255
    everything = np.concatenate([p.mesh.vertices for p in one.pieces])
    # The strip on the outside, where it faces the eye.
    count = len(collar.vertices) // 7
    middle = (collar.vertices[5 * count : 6 * count] + collar.vertices[6 * count :]) / 2
    gap = collar.gap[5 * count : 6 * count]
    from frame3d.view.stage import LEGEND_SHARE

    all_at = projected(np.concatenate([everything, middle]), "side", LEGEND_SHARE)[
        len(everything) :
    ]
    toward_eye = np.flatnonzero(middle[:, 1] < -8.0)
    assert len(toward_eye) > 20
    assert np.ptp(gap[toward_eye]) > 0.2
    for k in toward_eye[::3]:
        x, y = np.floor(all_at[k]).astype(int)
        assert np.abs(pixels[y, x] - one.scale.colours(gap[k : k + 1])[0]).max() < 0.04, k


def test_paint_does_not_pass_for_a_gap(tmp_path: Path):
    """Dark blue, the scale's colour of no gap, is a usual paint."""
    painted = replace(two_tubes(saw=39.0), show=Show((("", "#00204d"),)))

    def dark_blue(gaps: bool) -> float:
        picture(scene(painted), tmp_path / "p.png", "side", Shown(gaps=gaps), size=SIZE)
        pixels = np.asarray(Image.open(tmp_path / "p.png").convert("RGB")).astype(int)
        return float(((pixels[..., 2] > 1.8 * pixels[..., 0]) & (pixels[..., 2] < 140)).mean())

    assert dark_blue(gaps=True) < 0.1 * dark_blue(gaps=False)


def test_limit_is_marked_inside_the_scale():
    one = scene(two_tubes())
    assert one.scale.limits == (0.4,)
    assert one.scale.top == pytest.approx(0.8)


def test_no_streaks_run_along_a_coped_tube():
    """The exact outside gives the normals: those of the outside are square to the axis."""
    one = scene(two_tubes())
    rail = one.pieces[1].mesh
    axis = np.array([250.0, 0.0, 60.0]) / np.hypot(250.0, 60.0)
    radial = rail.vertices - np.outer(rail.vertices @ axis, axis)
    radius = np.linalg.norm(radial, axis=1)
    outside = radius > 14.2875 - 1e-3
    turned = (rail.normals * radial).sum(axis=1) / radius
    skin = outside & (turned > np.cos(np.radians(30)))
    assert skin.sum() > 100
    assert turned[skin].min() > np.cos(np.radians(0.05))


def test_close_up_shows_the_joint(tmp_path: Path):
    one = scene(two_tubes())
    close_up(one, one.collars[0], tmp_path / "p.png", size=SIZE)
    pixels = np.asarray(Image.open(tmp_path / "p.png").convert("RGB")).astype(int)
    assert (pixels < 240).any(axis=2).mean() > 0.3


def test_a_section_shows_the_metal_that_it_cuts():
    """The face of a tube across the middle is the ring of its wall; along it, two strips."""
    from frame3d.view.stage import cut_face, mesh_of

    scene = Build(diamond()).version().scene
    pieces = {piece.name: piece for piece in scene.pieces}
    shell = diamond().tube("shell")
    outer, inner = shell.od.value[0] / 2, shell.od.value[0] / 2 - shell.wall.value[0]
    ring = cut_face(mesh_of(pieces["shell"].mesh))
    assert ring.area == pytest.approx(np.pi * (outer**2 - inner**2), rel=2e-3)
    head = diamond().tube("head tube")
    strips = cut_face(mesh_of(pieces["head tube"].mesh))
    assert strips.area == pytest.approx(2 * head.wall.value[0] * head.length, rel=2e-3)
    assert cut_face(mesh_of(pieces["chain stay left"].mesh)).n_cells == 0


def test_every_joint_is_seen_in_its_close_up():
    """Also under a crown, between stays, behind a wheel."""
    scene = frame3d.open(EXAMPLES / "touring" / "job.toml").version().scene
    for collar in scene.collars:
        towards, up = joint_eye(scene, collar)
        assert share_seen(scene, collar, towards) > 0.3, (collar.tube, collar.end)
        assert abs(np.linalg.norm(towards) - 1.0) < 1e-12 and abs(towards @ up) < 0.9
