"""A scene set up in a pyvista plotter: light, tubes, gap colours with their legend, labels."""

from collections.abc import Callable, Hashable
from dataclasses import dataclass
from functools import cache, partial
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from frame3d.cache import Cache
from frame3d.fonts import font_file
from frame3d.mesh.normals import Shaded
from frame3d.view.colours import SCALE_STEPS, GapScale, cividis, rgb
from frame3d.view.labels import FONT_FROM_FILE, INK, Label, Labels
from frame3d.view.scene import Body, Collar, Dimension, Piece, Scene

if TYPE_CHECKING:
    import pyvista as pv

Array = NDArray[np.float64]

LEGEND_SHARE = 0.21  # of the picture's width, at its right
# Towards the eye (x right, y up, z to the eye) and how bright: key, front, fill, and from behind.
LIGHTS = (
    ((-0.6, 0.9, 0.9), 0.66),
    ((0.15, 0.2, 1.0), 0.42),
    ((0.9, -0.2, 0.6), 0.22),
    ((0.3, 0.9, -0.8), 0.35),
)
BESIDE_MM = 0.01  # cut this far beside the middle: edges of a mesh often lie in it
UNDER_GAPS = "#d3d9de"
CUT_FACE = 0.55  # of a tube's colour in the face where it is cut through, on white
LOOK = {"ambient": 0.2, "diffuse": 0.9, "specular": 0.35, "specular_power": 32.0}


@dataclass(frozen=True)
class Shown:
    """What a view shows. explode: 0 assembled, 1 fully drawn apart; section: the near half is cut
    away along the middle of the bicycle, y = 0."""

    gaps: bool = False
    ghosts: bool = True
    dimensions: bool = False
    nodes: bool = False
    names: bool = False
    explode: float = 0.0
    section: bool = False


def mesh_of(mesh: Shaded, moved: Array | float = 0.0) -> "pv.PolyData":
    """A pyvista mesh with the normals of `mesh`, its vertices moved by `moved`."""
    import pyvista as pv

    data = pv.PolyData.from_regular_faces(mesh.vertices + moved, mesh.triangles)
    data.point_data.active_normals = mesh.normals
    return data


def moved_by(body: Piece | Body, explode: float) -> Array | float:
    return explode * body.pull if isinstance(body, Piece) else 0.0


def collar_mesh(collar: Collar, explode: float) -> "pv.PolyData":
    import pyvista as pv

    moved = collar.vertices + explode * collar.pull
    data = pv.PolyData.from_regular_faces(moved, collar.triangles)
    data["gap"] = collar.gap
    return data


def light(plotter: "pv.Plotter") -> None:
    """Lights that go with the camera, so that every view is lit the same."""
    import pyvista as pv

    plotter.remove_all_lights()
    for towards, brightness in LIGHTS:
        lamp = pv.Light(position=towards, focal_point=(0, 0, 0), light_type="camera light")
        lamp.intensity = brightness
        plotter.add_light(lamp)


def shade_of(body: Piece | Body, shown: Shown) -> str:
    """Its own colour; where gaps are told by colour, a pale one that is none of theirs."""
    return UNDER_GAPS if shown.gaps and isinstance(body, Piece) else body.colour


def add_body(plotter: "pv.Plotter", body: Piece | Body, shown: Shown) -> "pv.Actor":
    return plotter.add_mesh(
        mesh_of(body.mesh, moved_by(body, shown.explode)),
        color=shade_of(body, shown),
        smooth_shading=True,
        name=f"body {body.name}",
        **LOOK,
    )


def add_collar(
    plotter: "pv.Plotter", collar: Collar, scale: GapScale, explode: float
) -> "pv.Actor":
    """Unlit, so that its colours are the legend's."""
    return plotter.add_mesh(
        collar_mesh(collar, explode),
        scalars="gap",
        cmap=colour_map(),
        clim=(0.0, scale.top),
        lighting=False,
        show_scalar_bar=False,
        annotations={limit: f"limit {limit:.2f}" for limit in scale.limits},
        name=f"gap {collar.tube} {collar.end}",
    )


@cache
def colour_map() -> object:
    from matplotlib.colors import ListedColormap

    return ListedColormap(cividis())


def add_legend(plotter: "pv.Plotter", scale: GapScale, actor: "pv.Actor") -> None:
    """The scale in mm; each limit is marked beside it."""
    size = max(plotter.window_size[1] // 48, 10)
    bar = plotter.add_scalar_bar(
        title="gap, mm\n ",
        mapper=actor.mapper,
        vertical=True,
        n_labels=5,
        fmt="{:.2f}",
        color=INK,
        title_font_size=size,
        label_font_size=size,
        position_x=0.87,
        position_y=0.2,
        height=0.6,
        width=0.12,
        n_colors=SCALE_STEPS,
    )
    bar.SetBarRatio(0.2)
    bar.SetTextPositionToSucceedScalarBar()
    bar.SetAnnotationTextScaling(False)
    bar.GetAnnotationTextProperty().SetFontSize(size)
    bar.GetAnnotationTextProperty().SetColor(*rgb(INK))
    for words in (
        bar.GetTitleTextProperty(),
        bar.GetLabelTextProperty(),
        bar.GetAnnotationTextProperty(),
    ):
        words.SetFontFamily(FONT_FROM_FILE)
        words.SetFontFile(str(font_file()))
    bar.SetLayerNumber(1)


def add_panel(plotter: "pv.Plotter") -> None:
    """A white ground for the legend, which a tube may pass behind."""
    import pyvista as pv
    from vtkmodules.vtkRenderingCore import vtkActor2D, vtkCoordinate, vtkPolyDataMapper2D

    left, low, high = 1.0 - LEGEND_SHARE, 0.16, 0.84
    corners = [[left, low, 0], [1.0, low, 0], [1.0, high, 0], [left, high, 0]]
    shares = vtkCoordinate()
    shares.SetCoordinateSystemToNormalizedViewport()
    mapper = vtkPolyDataMapper2D()
    mapper.SetInputData(pv.PolyData(np.array(corners), faces=[4, 0, 1, 2, 3]))
    mapper.SetTransformCoordinate(shares)
    panel = vtkActor2D()
    panel.SetMapper(mapper)
    panel.GetProperty().SetColor(1.0, 1.0, 1.0)
    panel.GetProperty().SetOpacity(0.9)
    plotter.add_actor(panel, name="legend ground", reset_camera=False, render=False)


def add_dimension_lines(plotter: "pv.Plotter", dimensions: tuple[Dimension, ...]) -> None:
    import pyvista as pv

    for number, dimension in enumerate(dimensions):
        a, b, aside = (np.asarray(v) for v in (dimension.a, dimension.b, dimension.aside))
        lines = pv.line_segments_from_points(
            np.array([a, a + aside, a + aside, b + aside, b, b + aside])
        )
        plotter.add_mesh(
            lines, color=INK, line_width=1.5, lighting=False, name=dimension_line(number)
        )


def dimension_line(number: int) -> str:
    """The name of the actor that draws a dimension."""
    return f"dimension line {number}"


def labels_of(scene: Scene, shown: Shown) -> list[Label]:
    """What is written into the picture; what comes first finds room first."""
    found = []
    if shown.dimensions and not shown.explode:
        found += [
            Label(d.text, d.middle, span=np.array([d.a, d.b]), line=dimension_line(number))
            for number, d in enumerate(scene.dimensions)
        ]
    if shown.nodes and not shown.explode:
        found += [Label(node.label, np.asarray(node.at), marked=True) for node in scene.nodes]
    if shown.names:
        found += [Label(piece.name, piece.mesh.vertices.mean(axis=0)) for piece in scene.pieces]
    return found


class Cast:
    """What a plotter keeps from one scene to the next."""

    def __init__(self, plotter: "pv.Plotter") -> None:
        self.actors = Cache()
        self.labels = Labels(plotter)


def set_up(plotter: "pv.Plotter", scene: Scene, shown: Shown, cast: Cast | None = None) -> None:
    """Put all that is `shown` of the scene into an empty plotter; cast: from its last scene."""
    cast = cast or Cast(plotter)
    light(plotter)
    known = Cache(cast.actors)
    for body in scene.bodies(shown.ghosts):
        make = partial(add_body, plotter, body, shown)
        _put(plotter, known, ("body", body, shown.explode, shade_of(body, shown)), make)
    collars = scene.collars if shown.gaps else ()
    for collar in collars:
        key = ("gap", collar, scene.scale, shown.explode)
        make = partial(add_collar, plotter, collar, scene.scale, shown.explode)
        strip = _put(plotter, known, key, make)
    known.finish()
    cast.actors = known
    if collars:
        add_panel(plotter)
        add_legend(plotter, scene.scale, strip)
    if shown.dimensions and scene.dimensions and not shown.explode:
        add_dimension_lines(plotter, scene.dimensions)
    if shown.section:
        cut_open(plotter)
        for body in scene.bodies(ghosts=False):
            add_cut_face(plotter, body, shown)
    cast.labels.show(labels_of(scene, shown), LEGEND_SHARE if collars else 0.0)


def _put(
    plotter: "pv.Plotter", actors: Cache, key: tuple[Hashable, ...], make: "Callable[[], pv.Actor]"
) -> "pv.Actor":
    """Put an actor in, which `make` makes and puts in where it is not known yet."""
    actor = actors(key, make)
    actor.mapper.RemoveAllClippingPlanes()
    if actor.name not in plotter.renderer.actors:
        plotter.add_actor(actor, name=actor.name, reset_camera=False, render=False)
    return actor


def cut_open(plotter: "pv.Plotter") -> None:
    """Draw of every mesh only what lies beyond the middle of the bicycle, seen from its right."""
    from vtkmodules.vtkCommonDataModel import vtkPlane

    plane = vtkPlane()
    plane.SetNormal(0.0, 1.0, 0.0)
    for actor in plotter.actors.values():
        if hasattr(actor, "mapper") and hasattr(actor.mapper, "AddClippingPlane"):
            actor.mapper.AddClippingPlane(plane)


def cut_face(mesh: "pv.PolyData") -> "pv.PolyData":
    """The flat face, of triangles, where the middle of the bicycle cuts a closed mesh."""
    import pyvista as pv
    from vtkmodules.vtkFiltersGeneral import vtkContourTriangulator

    fill = vtkContourTriangulator()
    fill.SetInputData(mesh.clean().slice(normal="y", origin=(0.0, BESIDE_MM, 0.0)))
    fill.Update()
    return pv.wrap(fill.GetOutput())


def add_cut_face(plotter: "pv.Plotter", body: Piece | Body, shown: Shown) -> None:
    """Show the metal that was cut through: without it a wall would look like two thin skins."""
    face = cut_face(mesh_of(body.mesh, moved_by(body, shown.explode)))
    if face.n_cells:
        pale = [1.0 - (1.0 - share) * CUT_FACE for share in rgb(shade_of(body, shown))]
        plotter.add_mesh(face, color=pale, lighting=False, name=f"cut face {body.name}")
