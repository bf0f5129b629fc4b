"""The preview window: turn the frame, pick a joint, switch parts on and off, cut it open."""

import textwrap
import time
from collections.abc import Callable
from dataclasses import replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from frame3d.check.report import JointReport
from frame3d.fonts import font_file
from frame3d.model import End
from frame3d.view.labels import INK
from frame3d.view.lettering import printed
from frame3d.view.pictures import CLOSE_MM, EYES, View, frame_points, joint_eye, look_at
from frame3d.view.renderer import renderer_chosen
from frame3d.view.scene import Collar
from frame3d.view.spec_tables import details
from frame3d.view.stage import LEGEND_SHARE, Cast, Shown, set_up
from frame3d.view.version import Version

Array = NDArray[np.float64]

FAULT = "#b3261e"
WITH_GAPS = Shown(gaps=True)
NEAR_MM = 12.0  # a click this near to a joint's strip picks the joint, else the tube
KEYS = (
    "g gaps   o wheels, other parts   d dimensions   n nodes   t tube names   x drawn apart   "
    "y cut open\n"
    "F1 three-quarter  F2 side  F3 front  F4 top   click: pick   Escape: let go   q quit"
)


class Window:
    """One window on a frame. off_screen: for tests, which press its keys without a display."""

    def __init__(
        self,
        version: Version,
        shown: Shown = WITH_GAPS,
        view: View = "three-quarter",
        size: tuple[int, int] = (1280, 860),
        off_screen: bool = False,
    ) -> None:
        import pyvista as pv

        self.version = version
        self.shown = shown
        self.picked: tuple[str, End | None] | None = None  # a tube, or one end of it
        self.fault = ""
        self.open = True
        with renderer_chosen():
            self.plotter = pv.Plotter(
                off_screen=off_screen, window_size=list(size), lighting="none", title="frame3d"
            )
        self.plotter.set_background("white", top="#dfe6ec")
        self.cast = Cast(self.plotter)
        self.plotter.enable_anti_aliasing("msaa", multi_samples=8)
        self._redraw()
        self.look_from(view)
        for key, act in self._keys().items():
            self.plotter.add_key_event(key, act)
        self.plotter.enable_surface_point_picking(
            callback=self.pick, left_clicking=True, show_point=False, show_message=False
        )

    def _keys(self) -> dict[str, Callable[[], None]]:
        def switch(what: str) -> Callable[[], None]:
            return lambda: self.show(replace(self.shown, **{what: not getattr(self.shown, what)}))

        def apart() -> None:
            self.show(replace(self.shown, explode=0.0 if self.shown.explode else 1.0))

        def view(name: View) -> Callable[[], None]:
            return lambda: self.look_from(name)

        return {
            "g": switch("gaps"),
            "o": switch("ghosts"),
            "d": switch("dimensions"),
            "n": switch("nodes"),
            "t": switch("names"),
            "x": apart,
            "y": switch("section"),
            "Escape": self.let_go,
            "q": self.close,
            **{f"F{k}": view(name) for k, name in enumerate(EYES, 1)},
        }

    def show(self, shown: Shown) -> None:
        """Show other things of the same frame, from where the eye is."""
        self.shown = shown
        self._redraw()

    def replace(self, version: Version, fault: str | None) -> None:
        """Show another state of the frame, from where the eye is; fault: what is wrong now. What is
        picked stays so; where only the words are new, nothing is drawn again."""
        same = version.scene is self.version.scene
        self.version, self.fault = version, fault or ""
        if same:
            self._texts()
            self.plotter.render()
        else:
            self._redraw()

    def look_from(self, view: View) -> None:
        """Look at the whole frame."""
        towards, up = (np.asarray(vector) for vector in EYES[view])
        scene = self.version.scene
        points = np.concatenate([body.mesh.vertices for body in scene.bodies(self.shown.ghosts)])
        frame_points(self.plotter, points, towards, up, LEGEND_SHARE)
        self.plotter.render()

    def pick(self, point: Array) -> None:
        """Tell what stands at a point of the scene; a joint is also looked at from near by."""
        point = np.asarray(point, float)
        collar = self._collar_at(point)
        if collar is not None:
            self.pick_joint(collar)
        else:
            self.picked = self._tube_at(point), None
            self._texts()
            self.plotter.render()

    def pick_joint(self, collar: Collar) -> None:
        """Tell a joint's numbers, and look at it from near by."""
        self.picked = collar.tube, collar.end
        towards, up = joint_eye(self.version.scene, collar)
        look_at(self.plotter, self._place(collar).mean(axis=0), towards, up, CLOSE_MM / 2)
        self._texts()
        self.plotter.render()

    def close(self) -> None:
        """End live mode's loop."""
        self.open = False

    def let_go(self) -> None:
        self.picked = None
        self._texts()
        self.look_from("three-quarter")

    @property
    def told(self) -> str:
        """The numbers of what is picked, as they are now; nothing where there is none, or no
        more."""
        frame, report = self.version.frame, self.version.report
        told = [
            joint_told(joint)
            for joint in report.joints
            if (joint.joint.tube, joint.joint.end) == self.picked
        ]
        told += [
            f"{tube.name}: {details(frame.tube(tube.name), tube)}"
            for tube in report.tubes
            if (tube.name, None) == self.picked
        ]
        return "".join(told)

    def _redraw(self) -> None:
        eye = self.plotter.camera_position
        self.plotter.suppress_rendering = True  # one picture at the end, without flicker
        for title in list(self.plotter.scalar_bars.keys()):
            self.plotter.remove_scalar_bar(title, render=False)
        self.plotter.clear_actors()
        set_up(self.plotter, self.version.scene, self.shown, self.cast)
        self._texts()
        self.plotter.camera_position = eye
        self.plotter.reset_camera_clipping_range()
        self.plotter.suppress_rendering = False
        self.plotter.render()

    def _texts(self) -> None:
        above = self.fault or self.told or f"{self.version.frame.name}: {self.version.verdict}"
        self._text("keys", KEYS, 13, (0.008, 0.012), "bottom", INK)
        self._text("told", wrapped(above), 15, (0.008, 0.985), "top", FAULT if self.fault else INK)

    def _text(
        self,
        name: str,
        text: str,
        letters: int,
        at: tuple[float, float],
        edge: Literal["top", "bottom"],
        colour: str,
    ) -> None:
        """Lines on a pale ground that start at a place in the window, from 0 to 1."""
        actor = self.plotter.add_text(
            text,
            position=at,
            viewport=True,
            render=False,
            name=name,
            font_size=letters,
            color=colour,
            font_file=str(font_file(text)),
        )
        how = actor.prop
        how.font_size = letters
        how.justification_vertical = edge
        how.background_color, how.background_opacity = "white", 0.75

    def _place(self, collar: Collar) -> Array:
        return np.asarray(collar.vertices + self.shown.explode * collar.pull)

    def _collar_at(self, point: Array) -> Collar | None:
        def far(collar: Collar) -> float:
            return float(np.linalg.norm(self._place(collar) - point, axis=1).min())

        collars = self.version.scene.collars
        near = min(collars, key=far, default=None)
        return near if near is not None and far(near) <= NEAR_MM else None

    def _tube_at(self, point: Array) -> str:
        """The tube whose drawn surface is nearest."""

        def far(name: str) -> float:
            piece = next(p for p in self.version.scene.pieces if p.name == name)
            corners = (piece.mesh.vertices + self.shown.explode * piece.pull)[piece.mesh.triangles]
            return float(_distances(corners, point).min())

        return min((piece.name for piece in self.version.scene.pieces), key=far)


def joint_told(report: JointReport) -> str:
    """A joint's numbers in a few lines."""
    joint, gap = report.joint, report.gap
    lines = [f"{joint.tube}, {joint.end}, onto {', '.join(joint.onto)}"]
    for mate in report.mates:
        saw = "filed to the mate" if mate.saw is None else f"{mate.saw:g} mm saw"
        lines.append(f"{mate.tube}: {mate.angle:.2f} degrees, offset {mate.offset:.2f} mm, {saw}")
    if gap is not None:
        lines.append(
            f"gap {gap.widest.value:.3f} mm at {report.worst} o'clock, limit {report.limit:.3f} mm"
        )
    lines.append("pass" if report.passes else "FAIL: " + "; ".join(report.reasons))
    return "\n".join(lines)


def wrapped(text: str, width: int = 90) -> str:
    """Lines short enough for the window, each drawn left to right."""
    return "\n".join(
        printed(line) for long in text.splitlines() for line in textwrap.wrap(long, width)
    )


def _distances(corners: Array, point: Array) -> Array:
    """Distance (T,) of a point (3,) to triangles (T, 3, 3): to the plane where it stands over the
    triangle, else to the nearest edge."""
    a, b, c = corners[:, 0], corners[:, 1], corners[:, 2]
    edges = np.stack([b - a, c - b, a - c], axis=1)
    off = point - corners
    length2 = np.maximum((edges**2).sum(axis=2), 1e-300)
    along = np.clip((off * edges).sum(axis=2) / length2, 0.0, 1.0)
    to_edge = np.linalg.norm(off - along[..., None] * edges, axis=2).min(axis=1)
    normal = np.cross(edges[:, 0], edges[:, 1])
    size = np.linalg.norm(normal, axis=1)
    inside = ((np.cross(edges, off) * normal[:, None]).sum(axis=2) >= 0).all(axis=1) & (size > 0)
    height = np.abs((off[:, 0] * normal).sum(axis=1)) / np.maximum(size, 1e-300)
    return np.asarray(np.where(inside, height, to_edge))


def run(window: Window, news: Callable[[], bool] | None = None) -> None:
    """Keep the window open until it is closed; `news` is asked all the time, for live mode."""
    plotter = window.plotter
    if news is None:
        plotter.show()
        return
    plotter.show(interactive_update=True, auto_close=False)
    plotter.iren.add_observer("ExitEvent", lambda *_: window.close())
    while window.open:
        news()
        plotter.iren.process_events()
        time.sleep(0.01)
    plotter.close()
