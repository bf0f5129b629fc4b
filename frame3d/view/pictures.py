"""Pictures drawn off-screen: the whole frame from four sides, and any joint close up."""

from pathlib import Path
from typing import TYPE_CHECKING, Literal, get_args

import numpy as np
from numpy.typing import NDArray

from frame3d.view.renderer import renderer_chosen
from frame3d.view.scene import PROUD_MM, Collar, Scene
from frame3d.view.stage import LEGEND_SHARE, Shown, set_up

if TYPE_CHECKING:
    import pyvista as pv

Array = NDArray[np.float64]
View = Literal["three-quarter", "side", "front", "top"]
VIEWS: tuple[View, ...] = get_args(View)

# From the scene towards the eye, and what is up in the picture. The side view is the drive side's,
# where the bicycle heads to the right.
EYES: dict[View, tuple[tuple[float, float, float], tuple[float, float, float]]] = {
    "three-quarter": ((0.55, -0.75, 0.36), (0.0, 0.0, 1.0)),
    "side": ((0.0, -1.0, 0.0), (0.0, 0.0, 1.0)),
    "front": ((1.0, 0.0, 0.0), (0.0, 0.0, 1.0)),
    "top": ((0.0, 0.0, 1.0), (0.0, 1.0, 0.0)),
}
WHOLE, CLOSE = Shown(), Shown(gaps=True)
MARGIN = 1.06  # room around the frame
EVERY, CLEARLY_MORE = 3, 0.1  # of a joint's rim, where it is asked from where it is seen best
CLOSE_MM = 95.0  # what a close-up of a joint shows, from top to bottom


def picture(
    scene: Scene,
    path: Path,
    view: View = "three-quarter",
    shown: Shown = WHOLE,
    size: tuple[int, int] = (1600, 1000),
    transparent: bool = False,
) -> None:
    """Draw the whole frame to a PNG file, `size` in pixels."""
    towards, up = EYES[view]
    plotter = _plotter(scene, shown, size)
    points = np.concatenate([body.mesh.vertices for body in scene.bodies(shown.ghosts)])
    if shown.dimensions and not shown.explode:
        corners = [[d.a, d.b, np.add(d.a, d.aside), np.add(d.b, d.aside)] for d in scene.dimensions]
        points = np.concatenate([points, *corners])
    legend = LEGEND_SHARE if shown.gaps and scene.collars else 0.0
    frame_points(plotter, points, np.asarray(towards), np.asarray(up), legend)
    _save(plotter, path, transparent)


def close_up(
    scene: Scene,
    collar: Collar,
    path: Path,
    shown: Shown = CLOSE,
    size: tuple[int, int] = (1200, 1000),
    transparent: bool = False,
) -> None:
    """Draw one joint to a PNG file, seen from beside its tube, a little towards the cope."""
    plotter = _plotter(scene, shown, size)
    towards, up = joint_eye(scene, collar)
    centre = collar.centre + shown.explode * collar.pull
    centre = centre + LEGEND_SHARE * CLOSE_MM / 2 * np.cross(up, towards)
    look_at(plotter, centre, towards, up, CLOSE_MM / 2)
    _save(plotter, path, transparent)


def joint_eye(scene: Scene, collar: Collar) -> tuple[Array, Array]:
    """Direction to the eye and up (3,) that show a joint's cope well.

    From beside its tube, a little from above and from the mate's side; from the other side, from
    below or from the tube's side where clearly more of the joint is to be seen.
    """
    back = collar.pull / np.linalg.norm(collar.pull)
    up = np.array([0.0, 0.0, 1.0])
    across = np.cross(back, up)
    if np.linalg.norm(across) < 0.2:  # a tube that stands up is seen from the side of the bicycle
        across = np.array([0.0, -1.0, 0.0])
    across /= np.linalg.norm(across)
    across = across if across[1] <= 0 else -across
    ways = [
        side * across + along * back + height * up
        for along in (-0.45, 0.45)
        for height in (0.35, -0.35)
        for side in (1.0, -1.0)
    ]
    ways = [way / np.linalg.norm(way) for way in ways]
    seen = [share_seen(scene, collar, way) for way in ways]
    best = next(k for k, share in enumerate(seen) if share > max(seen) - CLEARLY_MORE)
    return ways[best], up


def share_seen(scene: Scene, collar: Collar, towards: Array) -> float:
    """Share of a joint's rim on the outside that nothing hides from an eye far away."""
    right = np.cross(towards, np.eye(3)[np.argmin(abs(towards))])
    right /= np.linalg.norm(right)
    axes = np.stack([right, np.cross(towards, right), towards])
    places = (collar.rim[::EVERY] + PROUD_MM * towards) @ axes.T
    hidden = np.zeros(len(places), bool)
    for body in scene.bodies():
        corners = (body.mesh.vertices @ axes.T)[body.mesh.triangles]  # (T, 3, 3)
        low, high = places[:, :2].min(axis=0), places[:, :2].max(axis=0)
        near = (corners[..., :2].max(axis=1) > low) & (corners[..., :2].min(axis=1) < high)
        a, b, c = corners[near.all(axis=1)].transpose(1, 2, 0)[:, :, None]  # each (3, 1, T)
        x, y, z = places.T[:, :, None]
        with np.errstate(divide="ignore", invalid="ignore"):
            area = (b[0] - a[0]) * (c[1] - a[1]) - (c[0] - a[0]) * (b[1] - a[1])
            v = ((x - a[0]) * (c[1] - a[1]) - (c[0] - a[0]) * (y - a[1])) / area
            w = ((b[0] - a[0]) * (y - a[1]) - (x - a[0]) * (b[1] - a[1])) / area
            depth = a[2] + v * (b[2] - a[2]) + w * (c[2] - a[2])
            over = (v >= 0) & (w >= 0) & (v + w <= 1) & (depth > z + PROUD_MM)
        hidden |= over.any(axis=1)
    return float(1.0 - hidden.mean())


def look_at(plotter: "pv.Plotter", focus: Array, towards: Array, up: Array, half: float) -> None:
    """Look without perspective at `focus`, with `half` mm above and below it in the picture."""
    camera = plotter.camera
    camera.parallel_projection = True
    camera.focal_point = focus
    camera.position = focus + 3000.0 * towards
    camera.up = up
    camera.parallel_scale = half
    plotter.reset_camera_clipping_range()


def frame_points(
    plotter: "pv.Plotter", points: Array, towards: Array, up: Array, right_free: float = 0.0
) -> None:
    """Look at all `points` (N, 3), as large as the window lets them be.

    right_free: share of the window's width at its right to leave free.
    """
    towards = towards / np.linalg.norm(towards)
    right = np.cross(up, towards)
    right /= np.linalg.norm(right)
    axes = np.stack([right, np.cross(towards, right), towards])
    flat = points @ axes.T
    low, high = flat.min(axis=0), flat.max(axis=0)
    width, height = plotter.window_size
    wide, tall = MARGIN * (high - low)[:2]
    half = max(tall, wide * height / (width * (1 - right_free))) / 2
    middle = (low + high) / 2 + [right_free * half * width / height, 0.0, 0.0]
    look_at(plotter, middle @ axes, towards, up, half)


def _plotter(scene: Scene, shown: Shown, size: tuple[int, int]) -> "pv.Plotter":
    import pyvista as pv

    with renderer_chosen():
        plotter = pv.Plotter(off_screen=True, window_size=list(size), lighting="none")
    plotter.set_background("white")
    plotter.enable_anti_aliasing("ssaa")
    set_up(plotter, scene, shown)
    return plotter


def _save(plotter: "pv.Plotter", path: Path, transparent: bool) -> None:
    try:
        plotter.screenshot(str(path), transparent_background=transparent)
    finally:
        plotter.close()
