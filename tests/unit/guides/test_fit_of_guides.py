"""Proof by solids: a guide goes on its tube, sits where it says, and cuts the designed cope."""

import numpy as np
import pytest
from cases import CASES, frame, made
from numpy.typing import NDArray
from scipy.optimize import least_squares

from frame3d.guides.plan import Guide
from frame3d.model import Printer, Tube, datum, direction
from frame3d.model.section import lateral
from frame3d.solids.raw import Extent, raw_tube
from frame3d.solids.tools import Reach, tool_solid
from frame3d.solids.tube import finished_tube
from frame3d.surfaces.cylinder import Cylinder

Array = NDArray[np.float64]
GUIDES = [(case, k) for case, (_, joints) in CASES.items() for k in range(len(joints))]
each_guide = pytest.mark.parametrize("case, which", GUIDES)


def guide_of(case: str, which: int) -> Guide:
    return made(case)[which].guide


def world(guide: Guide) -> tuple[Array, NDArray[np.int64]]:
    """Vertices (V, 3) of the guide in its place, and triangles (T, 3)."""
    mesh = guide.solid.to_mesh64()
    local = np.asarray(mesh.vert_properties)[:, :3]
    return local @ guide.matrix[:3, :3].T + guide.matrix[:3, 3], np.asarray(mesh.tri_verts, int)


def far_tube(tube: Tube):  # type: ignore[no-untyped-def]
    return raw_tube(tube, Extent(-150.0, tube.length + 150.0), 0.005)


@each_guide
def test_guide_and_raw_tube_share_no_metal(case: str, which: int) -> None:
    guide = guide_of(case, which)
    placed = guide.solid.transform(guide.matrix[:3])
    assert (placed ^ far_tube(guide.place.tube)).volume() < 1e-9


@each_guide
def test_clearance_is_the_same_all_round_and_all_along(case: str, which: int) -> None:
    """Lines straight out from the tube's outside meet the bore after the clearance."""
    guide = guide_of(case, which)
    place, length = guide.place, guide.sleeve.length
    placed = guide.solid
    found = []
    for z in np.linspace(1.0, 24.0, 5):
        section = placed.slice(float(z))
        edges = np.concatenate([_edges(p) for p in section.to_polygons()])
        theta = np.linspace(0.0, 2 * np.pi, 97)[:-1]
        station = np.full(len(theta), place.station(z - length))
        own = lateral(place.tube, station, theta, 1.0)
        frame = place.cope.frame
        points = own @ np.stack([frame.datum, frame.side]) @ place.axes[:2].T
        found.append(_nearest(points, edges))
    nearest = np.concatenate(found)
    # The slit (2 mm), the datum line's window and their corners are the only other openings.
    assert nearest.min() == pytest.approx(0.15, abs=0.005)
    assert np.mean(np.abs(nearest - 0.15) < 0.005) > 0.9


def _edges(polygon: Array) -> Array:
    return np.stack([polygon, np.roll(polygon, -1, axis=0)], axis=1)


def _nearest(points: Array, edges: Array) -> Array:
    a, b = edges[None, :, 0], edges[None, :, 1]
    along = b - a
    t = np.einsum("ijk,ijk->ij", points[:, None] - a, along) / np.einsum(
        "ijk,ijk->ij", along, along
    )
    foot = a + np.clip(t, 0.0, 1.0)[..., None] * along
    return np.asarray(np.linalg.norm(points[:, None] - foot, axis=2).min(axis=1))


@each_guide
def test_face_lies_on_the_outside_of_the_mates_through_the_whole_wall(
    case: str, which: int
) -> None:
    """Seen from the cope's side, down all over the wall: mate's outside, shoulder or flat top."""
    guide = guide_of(case, which)
    place, section, sleeve = guide.place, guide.sleeve.section, guide.sleeve
    vertices, triangles = world(guide)
    by_mate = np.array([mate.distance(vertices) for mate in place.cope.mates])
    assert by_mate.min() > -0.001  # nothing of the guide stands in a mate
    corners = by_mate[:, triangles]
    flat = np.ptp(vertices[triangles] @ place.cope.frame.out, axis=1) < 1e-6  # the top, cut off
    on_each = (np.abs(corners) < 0.001).all(axis=2) & ~flat
    on_mate = on_each.any(axis=0)
    centres = vertices[triangles].mean(axis=1)
    middle = np.array([mate.distance(centres) for mate in place.cope.mates])
    assert np.abs(middle[on_each]).max() < 0.005
    # As much of the wall's cross-section as the exact shape says is covered by such triangles.
    local = np.asarray(guide.solid.to_mesh64().vert_properties)[:, :2]
    a, b, c = (local[triangles[on_mate, k]] for k in range(3))
    (ux, uy), (vx, vy) = (b - a).T, (c - a).T
    covered = np.abs(ux * vy - uy * vx).sum() / 2
    turn = np.radians(np.arange(0.0, 360.0, 0.5))
    away = np.linspace(section.bore + 0.02, section.radius - 0.02, 41)
    grid = (away[:, None, None] * np.stack([np.cos(turn), np.sin(turn)], -1)).reshape(-1, 2)
    height = place.height(grid)
    above = _world(place, grid, height)
    exact = np.min([mate.distance(above) for mate in place.cope.mates], axis=0)
    shaped = (np.abs(exact) < 1e-6) & (height < sleeve.top - sleeve.length - 0.01)
    ring = np.repeat(away, len(turn)) * (away[1] - away[0]) * np.radians(0.5)
    assert shaped.any()
    slit = 2.0 * (section.radius - section.bore) * len(sleeve.grip.sides)
    assert covered > 0.97 * (ring[shaped].sum() - slit) - 3.0


def _world(place, across: Array, height: Array) -> Array:  # type: ignore[no-untyped-def]
    points = np.column_stack([across, height])
    return points @ place.matrix[:3, :3].T + place.matrix[:3, 3]


@pytest.mark.parametrize("case", [c for c, (_, joints) in CASES.items() if len(joints) == 2])
def test_both_feet_lie_in_one_plane_and_the_edges_stand_the_setting_apart(case: str) -> None:
    first, second = (printed.guide for printed in made(case))
    tube = first.place.tube
    axis, up = direction(tube), datum(direction(tube))
    feet, edges = [], []
    for guide in (first, second):
        vertices, _ = world(guide)
        relative = vertices - np.asarray(tube.start)
        low = (relative @ up).min()
        foot = relative[relative @ up < low + 1e-6]
        assert np.ptp(foot @ np.cross(axis, up)) > 20.0 and np.ptp(foot @ axis) > 20.0
        feet.append(low)
        along = relative @ axis
        edges.append(along.max() if guide.place.end == "start" else along.min())
    assert feet[0] == pytest.approx(feet[1], abs=0.005)
    assert edges[1] - edges[0] == pytest.approx(first.setting, abs=0.005)
    assert first.setting == second.setting == round(first.setting)


def fitted_cylinder(points: Array, start: Cylinder) -> Cylinder:
    """Least squares through points; what lies more than 0.1 mm off at last is left out."""
    side = np.linalg.svd(start.axis[None])[2][1:]

    def cylinder(x: Array) -> Cylinder:
        axis = start.axis + x[2] * side[0] + x[3] * side[1]
        point = start.point + x[0] * side[0] + x[1] * side[1]
        return Cylinder(point, axis / np.linalg.norm(axis), x[4])

    x = np.array([0.0, 0.0, 0.0, 0.0, start.radius])
    for reach in (1.0, 0.1, 0.01):
        near = points[np.abs(cylinder(x).distance(points)) < reach]
        x = least_squares(lambda x, n=near: cylinder(x).distance(n), x, xtol=1e-15).x
    return cylinder(x)


@pytest.mark.parametrize("case", ["leaning", "crossed", "equal", "tapered", "oval"])
def test_cutting_along_the_printed_face_gives_the_designed_tube(case: str) -> None:
    """The face is found from the guide's mesh alone, as a cylinder through its vertices; the raw
    tube less all beyond it is the tube as designed."""
    guides = [printed.guide for printed in made(case)]
    tube = guides[0].place.tube
    copes = {guide.place.end: guide.place.cope for guide in guides}
    designed = finished_tube(tube, copes).solid
    cut = raw_tube(tube, Extent(-30.0, tube.length + 30.0), 0.005)
    lone_end = [end for end in ("start", "end") if end not in copes]
    if lone_end:
        cut = raw_tube(tube, Extent(-30.0, tube.length), 0.005)
    for guide in guides:
        place = guide.place
        true = place.cope.mates[0]
        nudged = Cylinder(
            true.point + place.matrix[:3, 0] * 0.2,
            true.axis + 0.001 * place.matrix[:3, 1],
            true.radius + 0.2,
        )
        nudged = Cylinder(nudged.point, nudged.axis / np.linalg.norm(nudged.axis), nudged.radius)
        found = fitted_cylinder(world(guide)[0], nudged)
        assert found.radius == pytest.approx(true.radius, abs=0.002)
        reach = Reach(place.cope.frame.origin, 200.0, place.cope.frame, 5.0, 30.0)
        cut -= tool_solid(found, reach, 0.005)
    cut = max(cut.decompose(), key=lambda piece: piece.volume())
    edge = np.pi * tube.od.greatest * 0.9
    different = (cut - designed).volume() + (designed - cut).volume()
    assert different < len(guides) * edge * 0.005


def test_other_clearance_and_wall_are_made_as_asked() -> None:
    printer = Printer(clearance=0.3, wall=4.0)
    guide = made("leaning", printer)[0].guide
    placed = guide.solid.transform(guide.matrix[:3])
    assert placed.min_gap(far_tube(guide.place.tube), 2.0) == pytest.approx(0.3, abs=0.005)
    assert guide.sleeve.section.radius == pytest.approx(28.575 / 2 + 0.3 + 4.0)


def test_saws_named_by_the_job_do_not_change_the_guide() -> None:
    """A hand cuts along the mate itself."""
    guide = guide_of("leaning", 0)
    assert frame("leaning").joint_at("rail", "start").saws == (37.0,)  # type: ignore[union-attr]
    assert guide.place.cope.seat == 0.0
    assert guide.place.cope.tools == guide.place.cope.mates
