"""Proof by solids: a guide goes on its tube, sits where it says, and cuts the designed cope."""

from dataclasses import replace

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


TWO = [c for c, (_, joints) in CASES.items() if len(joints) == 2]


@pytest.mark.parametrize("case", TWO)
def test_both_feet_lie_in_one_plane(case: str) -> None:
    """That of the plate, square to the datum; a bent tube lies flat on it."""
    first, second = (printed.guide for printed in made(case))
    tube = first.place.tube
    up = first.place.up
    if not tube.bends:
        assert np.allclose(up, datum(direction(tube)))
    feet = []
    for guide in (first, second):
        vertices, _ = world(guide)
        relative = vertices - np.asarray(tube.start)
        low = (relative @ up).min()
        foot = relative[relative @ up < low + 1e-6]
        axis = guide.place.cope.frame.out
        assert np.ptp(foot @ np.cross(axis, up)) > 15.0 and np.ptp(foot @ axis) > 20.0
        feet.append(low)
    assert feet[0] == pytest.approx(feet[1], abs=0.005)


@pytest.mark.parametrize("case", [case for case in TWO if case not in ("bent", "short")])
def test_setting_edges_stand_the_setting_apart(case: str) -> None:
    first, second = (printed.guide for printed in made(case))
    tube = first.place.tube
    edges = []
    for guide in (first, second):
        along = (world(guide)[0] - np.asarray(tube.start)) @ direction(tube)
        edges.append(along.max() if guide.place.end == "start" else along.min())
    assert edges[1] - edges[0] == pytest.approx(first.setting, abs=0.005)
    assert first.setting == second.setting == round(first.setting)
    assert first.by == second.by == "edges"


def test_setting_on_a_bent_tube_is_the_length_of_the_line_on_top() -> None:
    """Points of the tube over the foot, from edge to edge, as a tape lies."""
    first, second = (printed.guide for printed in made("bent"))
    tube, place = first.place.tube, first.place
    stations = np.linspace(first.sleeve.length, tube.length - second.sleeve.length, 20001)
    theta = np.full(len(stations), np.radians(place.line_deg))
    points, tangents, datums = tube.centreline.at(stations)
    across = np.stack([datums, np.cross(tangents, datums)], axis=1)
    top = points + np.einsum("kj,kji->ki", lateral(tube, stations, theta, 1.0), across)
    assert np.ptp(top @ place.up) < 1e-6  # it lies in one plane, uppermost
    tape = np.linalg.norm(np.diff(top, axis=0), axis=1).sum()
    assert tape == pytest.approx(first.setting, abs=0.005)
    assert np.abs(tape - np.linalg.norm(top[-1] - top[0])) > 1.0


def test_guides_used_in_turn_show_one_line_in_both_windows() -> None:
    """Where their windows' side corners stand, measured on both meshes, is one place on the tube,
    at the told distance from either tip."""
    guides = [printed.guide for printed in made("short")]
    tube, lines = guides[0].place.tube, []
    for guide in guides:
        assert guide.by == "line" and guide.setting < 0
        place, section = guide.place, guide.sleeve.section
        vertices = np.asarray(guide.solid.to_mesh64().vert_properties)[:, :3]
        sides = vertices[np.abs(np.abs(vertices[:, 0]) - 4.0) < 1e-6]
        sides = sides[sides[:, 1] > section.bore / 2]
        heights = np.unique(sides[:, 2].round(4))
        (mark,) = heights[np.abs(heights - guide.sleeve.mark) < 1.0]
        at = place.matrix[:3, 3] + (mark - guide.sleeve.length) * place.matrix[:3, 2]
        lines.append((at - np.asarray(tube.start)) @ direction(tube))
        solid = finished_tube(tube, {place.end: place.cope}).solid
        tips = np.asarray(solid.to_mesh64().vert_properties)[:, :3] - np.asarray(tube.start)
        tip = (tips @ place.cope.frame.out).max()
        line = (at - np.asarray(tube.start)) @ place.cope.frame.out
        assert tip - line == pytest.approx(guide.from_tip, abs=0.005)
        assert f"LINE {guide.from_tip:.1f}" in guide.sleeve.label[1].text
    assert lines[0] == pytest.approx(lines[1], abs=0.005)


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


@pytest.mark.parametrize(
    "case", ["leaning", "crossed", "equal", "corner", "tapered", "oval", "bent", "short"]
)
def test_cutting_along_the_printed_face_gives_the_designed_tube(case: str) -> None:
    """The face is found from the guide's mesh alone, as cylinders through its vertices, one for
    each mate; the raw tube less all beyond it is the tube as designed."""
    guides = [printed.guide for printed in made(case)]
    tube = guides[0].place.tube
    copes = {guide.place.end: guide.place.cope for guide in guides}
    designed = finished_tube(tube, copes).solid
    cut = raw_tube(tube, Extent(-30.0, tube.length + (30.0 if "end" in copes else 0.0)), 0.005)
    for guide in guides:
        place = guide.place
        for true in place.cope.mates:
            nudged = Cylinder(
                true.point + place.matrix[:3, 0] * 0.2,
                true.axis + 0.001 * place.matrix[:3, 1],
                true.radius + 0.2,
            )
            axis = nudged.axis / np.linalg.norm(nudged.axis)
            nudged = Cylinder(nudged.point, axis, nudged.radius)
            found = fitted_cylinder(world(guide)[0], nudged)
            assert found.radius == pytest.approx(true.radius, abs=0.002)
            reach = Reach(place.cope.frame.origin, 200.0, place.cope.frame, 5.0, 30.0)
            if case == "short":
                reach = replace(reach, radius=40.0)
            cut -= tool_solid(found, reach, 0.005)
    cut = max(cut.decompose(), key=lambda piece: piece.volume())
    edge = np.pi * tube.od.greatest * 0.9
    different = (cut - designed).volume() + (designed - cut).volume()
    assert different < len(guides) * edge * 0.005


@pytest.mark.parametrize("case, which", [g for g in GUIDES if g[0] not in ("tapered", "oval")])
def test_the_face_carried_inward_over_the_clearance_meets_the_designed_edge(
    case: str, which: int
) -> None:
    """For mates of any shape: three points of the face's mesh on a line outward from the axis give
    a parabola; where that meets the tube's outside, a file on the face stops at the design. (Tubes
    whose own outside is no cylinder are held by the test above.)"""
    guide = guide_of(case, which)
    place, section = guide.place, guide.sleeve.section
    vertices = np.asarray(guide.solid.to_mesh64().vert_properties)[:, :3]
    triangles = np.asarray(guide.solid.to_mesh64().tri_verts, int)
    turn = np.radians(np.arange(1.0, 361.0, 3.0))
    around = np.stack([np.cos(turn), np.sin(turn)], axis=1)
    radius = place.tube.od.value[0] / 2
    away = section.bore + np.array([0.05, 0.45, 0.85])
    seen = np.stack([face_height(vertices, triangles, r * around) for r in away])
    exact = np.stack([place.height(r * around) + guide.sleeve.length for r in [radius, *away]])
    weight = np.array([np.prod([(radius - q) / (p - q) for q in away if q != p]) for p in away])
    # Left out: the slit, the top that is cut off, and where even the exact shape is no parabola.
    plain = np.abs(seen - exact[1:]).max(axis=0) < 0.05
    plain &= np.abs(weight @ exact[1:] - exact[0]) < 0.002
    assert plain.mean() > 0.5
    assert np.abs(weight @ seen[:, plain] - exact[0, plain]).max() < 0.005


def face_height(vertices: Array, triangles: NDArray[np.int64], points: Array) -> Array:
    """The highest z (N,) of a mesh above x, y (N, 2); -inf beside it."""
    a, b, c = (vertices[triangles[:, k]] for k in range(3))
    u, v = (b - a)[:, :2], (c - a)[:, :2]
    double = u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]
    up = double > 1e-12
    a, b, c, u, v, double = a[up], b[up], c[up], u[up], v[up], double[up]
    off = points[:, None] - a[:, :2]
    s = (off[..., 0] * v[:, 1] - off[..., 1] * v[:, 0]) / double
    t = (u[:, 0] * off[..., 1] - u[:, 1] * off[..., 0]) / double
    z = a[:, 2] + s * (b - a)[:, 2] + t * (c - a)[:, 2]
    return np.where((s >= -1e-9) & (t >= -1e-9) & (s + t <= 1 + 1e-9), z, -np.inf).max(axis=1)


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
