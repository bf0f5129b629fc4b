"""Labels in a picture or a window, laid out whenever it is drawn so that none covers another."""

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from frame3d.fonts import font_file
from frame3d.view.colours import rgb
from frame3d.view.label_layout import lay_out
from frame3d.view.lettering import printed, text_size

if TYPE_CHECKING:
    import pyvista as pv

Array = NDArray[np.float64]

INK = "#1b2530"
MARGIN_PX = 4.0
DOT_PX = 5.0
SAME_PX = 4.0
LEAST_SHOWN = 1 / 20  # of a dimension line's length that has to be seen
FONT_FROM_FILE = 4  # VTK_FONT_FILE


@dataclass(frozen=True, eq=False)
class Label:
    """A text and the point (3,) that it belongs to, world mm. marked: the point gets a dot, and no
    label stands on it. span: the dimension line (2, 3) that it tells, and name of the actor that
    draws it: neither is shown where the line runs towards the eye."""

    text: str
    at: Array
    marked: bool = False
    span: Array | None = None
    line: str = ""


def letters(size: tuple[int, int]) -> int:
    """Height of the letters, pixels, in a picture of this size."""
    return max(size[1] // 55, 11)


def projected(camera: Any, size: tuple[int, int], points: Array) -> Array:
    """Pixels (N, 2), right and up from the lower left corner, of points (N, 3), as a camera
    without perspective sees them."""
    towards = np.subtract(camera.position, camera.focal_point)
    towards /= np.linalg.norm(towards)
    right = np.cross(camera.up, towards)
    right /= np.linalg.norm(right)
    axes = np.stack([right, np.cross(towards, right)])
    scale = size[1] / 2 / camera.parallel_scale
    off = np.reshape(points, (-1, 3)) - camera.focal_point
    return np.asarray(np.divide(size, 2) + scale * off @ axes.T)


def foreshortened(label: Label, camera: Any) -> bool:
    """Whether what a label measures runs towards the eye."""
    if label.span is None:
        return False
    towards = np.subtract(camera.position, camera.focal_point)
    along = label.span[1] - label.span[0]
    seen = np.linalg.norm(np.cross(along, towards / np.linalg.norm(towards)))
    return bool(seen < LEAST_SHOWN * np.linalg.norm(along))


def placed(
    labels: list[Label],
    camera: Any,
    size: tuple[int, int],
    texts: list[str],
    right_free: float = 0.0,
) -> tuple[Array, Array, Array]:
    """Anchors, middles and sizes (N, 2) of labels in a picture, pixels; see `lay_out`.

    right_free: share of the picture's width at its right where no label stands.
    """
    anchors = projected(camera, size, np.array([label.at for label in labels]))
    anchors[[foreshortened(label, camera) for label in labels]] = np.nan
    room = np.array([[0.0, 0.0], [size[0] * (1 - right_free), size[1]]])
    seen: set[tuple[str, int, int]] = set()
    for text, anchor in zip(texts, anchors, strict=True):  # left and right seen as one
        if np.isnan(anchor[0]):
            continue
        where = (text, *np.rint(anchor / SAME_PX).astype(int).tolist())
        if where in seen:
            anchor[:] = np.nan
        seen.add(where)
    sizes = np.array([text_size(text, letters(size)) for text in texts]) + 2 * MARGIN_PX
    dots = anchors[[label.marked for label in labels] & np.isfinite(anchors[:, 0])]
    return anchors, lay_out(anchors, sizes, room, dots), sizes


class Labels:
    """The labels of one plotter, each with a fine line to its point where it stands off it."""

    def __init__(self, plotter: "pv.Plotter") -> None:
        self._plotter = plotter
        self._labels: list[Label] = []
        self._right_free = 0.0
        self._texts: list[str] = []
        self._actors: list[Any] = []
        self._leaders: Any = None
        plotter.renderer.AddObserver("StartEvent", self._place)

    def show(self, labels: list[Label], right_free: float = 0.0) -> None:
        """Put these into the plotter, from which all others have been cleared; see `placed`."""
        from vtkmodules.vtkRenderingCore import vtkActor2D, vtkPolyDataMapper2D

        self._labels, self._right_free = labels, right_free
        self._texts = [printed(label.text) for label in labels]
        self._actors = [self._text(text) for text in self._texts]
        if not labels:
            return
        mapper = vtkPolyDataMapper2D()
        self._leaders = vtkActor2D()
        self._leaders.SetMapper(mapper)
        self._leaders.GetProperty().SetColor(*rgb(INK))
        self._leaders.GetProperty().SetPointSize(DOT_PX)
        for k, actor in enumerate([self._leaders, *self._actors]):
            self._plotter.add_actor(actor, name=f"label {k}", reset_camera=False, render=False)

    def _text(self, text: str) -> Any:
        from vtkmodules.vtkRenderingCore import vtkTextActor

        actor = vtkTextActor()
        actor.SetInput(text)
        how = actor.GetTextProperty()
        how.SetFontFamily(FONT_FROM_FILE)
        how.SetFontFile(str(font_file(text)))
        how.SetFontSize(letters(self._size))
        how.SetColor(*rgb(INK))
        how.SetBackgroundColor(1.0, 1.0, 1.0)
        how.SetBackgroundOpacity(0.85)
        how.SetJustificationToCentered()
        how.SetVerticalJustificationToCentered()
        return actor

    @property
    def _size(self) -> tuple[int, int]:
        width, height = self._plotter.window_size
        return int(width), int(height)

    def _place(self, *_: object) -> None:
        import pyvista as pv

        if not self._labels:
            return
        camera = self._plotter.camera
        anchors, middles, sizes = placed(
            self._labels, camera, self._size, self._texts, self._right_free
        )
        for actor, middle in zip(self._actors, middles, strict=True):
            actor.SetVisibility(bool(np.isfinite(middle[0])))
            if np.isfinite(middle[0]):
                actor.SetPosition(*middle.tolist())
                actor.GetTextProperty().SetFontSize(letters(self._size))
        for label in self._labels:
            if label.line:
                drawn = self._plotter.actors[label.line]
                drawn.SetVisibility(not foreshortened(label, camera))
        ends = np.clip(anchors, middles - sizes / 2, middles + sizes / 2)
        away = np.isfinite(middles[:, 0]) & (np.abs(ends - anchors).max(axis=1) > 1.0)
        lines = np.stack([anchors[away], ends[away]], axis=1).reshape(-1, 2)
        dots = anchors[[label.marked for label in self._labels] & np.isfinite(anchors[:, 0])]
        points = np.concatenate([lines, dots])
        data = pv.PolyData()
        data.points = np.column_stack([points, np.zeros(len(points))])
        data.lines = _cells(np.arange(len(lines)).reshape(-1, 2))
        data.verts = _cells(np.arange(len(lines), len(points)).reshape(-1, 1))
        self._leaders.GetMapper().SetInputData(data)


def _cells(corners: NDArray[np.int64]) -> NDArray[np.int64]:
    """Point numbers (N, K) as VTK lists cells."""
    return np.column_stack([np.full(len(corners), corners.shape[1]), corners]).ravel()
