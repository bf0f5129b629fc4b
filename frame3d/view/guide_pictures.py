"""A picture of each guide on its coped tube, as it stands on a plate."""

from collections.abc import Callable, Sequence
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from frame3d.solids.finished_tube import finished_tube
from frame3d.solids.rings import arrays
from frame3d.view.pictures import frame_points
from frame3d.view.renderer import no_renderer, renderer_chosen

if TYPE_CHECKING:
    import pyvista as pv
    from manifold3d import Manifold

    from frame3d.guides.drill import DrillGuide
    from frame3d.guides.plan import Guide
    from frame3d.guides.process_pool import Spread

    AnyGuide = Guide | DrillGuide

SIZE = (1000, 640)
TUBE, GUIDE, LINES = "#9aa7b1", "#e8862c", "#3b2408"
FROM = np.array([1.25, 0.75, 0.85])  # x to the lettered side; from above and before the cope
UP = np.array([0.0, 1.0, 0.0])
BARE_MM = 30.0  # of tube shown behind the setting edge
CREASE_DEG = 25.0


def guide_pictures(
    guides: "Sequence[AnyGuide]",
    folder: Path,
    done: Callable[[str], None] = lambda name: None,
    run: "Spread" = map,
) -> list[Path]:
    """One JPEG a guide, in their order, or none where nothing can draw; `done` hears the name of
    each, `run` spreads them over the machine's cores."""
    if no_renderer():
        return []
    paths = [folder / f"{number}.jpg" for number in range(len(guides))]
    for guide, _ in zip(guides, run(_picture, zip(guides, paths, strict=True)), strict=True):
        done(guide.name)
    return paths


def _picture(task: "tuple[AnyGuide, Path]") -> None:
    guide, path = task
    plotter = _plotter()
    plotter.clear_actors()
    tube, bodies = _mesh(_bare_tube(guide)), [_mesh(body) for body in _bodies(guide)]
    plotter.add_mesh(tube, color=TUBE, ambient=0.25, render=False)
    for body in bodies:
        plotter.add_mesh(body, color=GUIDE, ambient=0.25, render=False)
        edges = body.extract_feature_edges(CREASE_DEG, boundary_edges=False)
        plotter.add_mesh(edges, color=LINES, line_width=1.2, render=False)
    seen_from = FROM * [guide.sleeve.lettered_side, 1, 1]
    points = np.concatenate([mesh.points for mesh in (tube, *bodies)])
    frame_points(plotter, points, seen_from, UP)
    plotter.render()
    plotter.screenshot(path)


@cache
def _plotter() -> "pv.Plotter":
    """One window a process, since opening it takes longer than a picture."""
    import pyvista as pv

    with renderer_chosen():
        plotter = pv.Plotter(off_screen=True, window_size=list(SIZE))
        plotter.set_background("white")
        # Drawn in software, smoothed edges cost four times the rest, and on paper do not show.
        plotter.disable_anti_aliasing()
        plotter.render()  # the first picture would be framed anew
    return plotter


def _bodies(guide: "AnyGuide") -> "list[Manifold]":
    """The guide and the one it is joined to, in its own coordinates."""
    other = _other(guide)
    if other is None:
        return [guide.solid]
    to_own = np.linalg.inv(guide.matrix) @ other.matrix
    return [guide.solid, other.solid.transform(to_own[:3])]


def _other(guide: "AnyGuide") -> "Guide | None":
    from frame3d.guides.plan import Guide

    return guide.joined_to if isinstance(guide, Guide) else None


def _bare_tube(guide: "AnyGuide") -> "Manifold":
    """The tube in the guide's coordinates, coped where a guide is for that, sawn off behind."""
    place, other = guide.sleeve.place, _other(guide)
    copes = {place.end: place.cope} if place.mates else {}
    below = BARE_MM
    if other is not None:
        copes[other.place.end] = other.place.cope
        below += other.sleeve.top
    tube = finished_tube(place.tube, copes, 0.05).solid
    local = tube.transform(np.linalg.inv(guide.matrix)[:3])
    return local.trim_by_plane((0.0, 0.0, 1.0), -below).trim_by_plane(
        (0.0, 0.0, -1.0), -(guide.sleeve.top + BARE_MM)
    )


def _mesh(solid: "Manifold") -> "pv.PolyData":
    import pyvista as pv

    points, triangles = arrays(solid)
    return pv.PolyData.from_regular_faces(points, triangles.astype(int))
