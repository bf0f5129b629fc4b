"""Proof by solids: a guide goes on its tube, sits where it says, and cuts the designed cope."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from cases import CASES, frame, made, tube
from numpy.typing import NDArray
from scipy.optimize import least_squares
from scipy.spatial import KDTree

import frame3d
from frame3d.guides.place import place_of
from frame3d.guides.plan import Guide, guides_of_tube, printed_guides
from frame3d.guides.sleeve import sleeve_solid
from frame3d.model import Joint, Printer, Profile, Tube, datum, direction
from frame3d.model.tube_section import lateral
from frame3d.solids.finished_tube import finished_tube
from frame3d.solids.raw_tube import Extent, raw_tube
from frame3d.solids.tools import Reach, tool_solid
from frame3d.surfaces.cope import Cope, cope_of
from frame3d.surfaces.cylinder import Cylinder

Array = NDArray[np.float64]
EXAMPLES = Path(__file__).parents[3] / "examples"
GUIDES = [(case, k) for case, (_, joints) in CASES.items() for k in range(len(joints))]
each_guide = pytest.mark.parametrize("case, which", GUIDES)


def guide_of(case: str, which: int) -> Guide:
    return made(case)[which].guide


def world(guide: Guide) -> tuple[Array, NDArray[np.int64]]:
    """Vertices (V, 3) of the guide in its place, and triangles (T, 3)."""
    mesh = guide.solid.to_mesh64()
    local = np.asarray(mesh.vert_properties)[:, :3]
    return local @ guide.matrix[:3, :3].T + guide.matrix[:3, 3], np.asarray(mesh.tri_verts, int)


def tightened(guide: Guide) -> tuple[Array, NDArray[np.int64]]:
    """As `world`, with the bore closed onto the tube: all goes inward by the clearance."""
    place, clearance = guide.place, guide.sleeve.clearance
    mesh = guide.solid.to_mesh64()
    local = np.array(mesh.vert_properties)[:, :3]
    if place.tube.oval is None:
        away = np.linalg.norm(local[:, :2], axis=1, keepdims=True)
        local[:, :2] *= 1.0 - clearance / away
    else:  # square to the nearest of many points of the outside
        theta = np.linspace(0.0, 2 * np.pi, 40001)
        ring = lateral(place.tube, np.full(len(theta), place.station(0.0)), theta, 1.0)
        frame = place.cope.frame
        ring = ring @ np.stack([frame.datum, frame.side]) @ place.axes[:2].T
        off = local[:, :2] - ring[KDTree(ring).query(local[:, :2])[1]]
        local[:, :2] -= clearance * off / np.linalg.norm(off, axis=1, keepdims=True)
    placed = local @ guide.matrix[:3, :3].T + guide.matrix[:3, 3]
    return placed, np.asarray(mesh.tri_verts, int)


def by_tool(guide: Guide, points: Array) -> Array:
    """Distances (tools, N) of points to what shapes the cope, where the seated end has it."""
    cope = guide.place.cope
    return np.array([tool.distance(points - cope.seat * cope.frame.out) for tool in cope.tools])


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


def test_the_bore_widens_at_the_bed() -> None:
    """Where the first layer spreads inward, and where the tube is put in."""
    guide = guide_of("leaning", 0)
    radius = guide.place.tube.od.value[0] / 2
    for z, room in ((0.01, 0.15 + 0.39), (0.8, 0.15)):
        polygons = guide.solid.slice(z).to_polygons()
        away = min(np.linalg.norm(polygon, axis=1).min() for polygon in polygons)
        assert away == pytest.approx(radius + room, abs=0.02)


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
def test_face_of_the_tightened_guide_lies_on_what_shapes_the_cope_through_its_whole_wall(
    case: str, which: int
) -> None:
    """Seen from the cope's side, down all over the wall: tool, shoulder or flat top."""
    guide = guide_of(case, which)
    place, section, sleeve = guide.place, guide.sleeve.section, guide.sleeve
    vertices, triangles = tightened(guide)
    distance = by_tool(guide, vertices)
    assert distance.min() > -0.0015  # nothing of the guide stands in a tool
    corners = distance[:, triangles]
    flat = np.ptp(vertices[triangles] @ place.cope.frame.out, axis=1) < 1e-6  # the top, cut off
    on_each = (np.abs(corners) < 0.0015).all(axis=2) & ~flat
    on_tool = on_each.any(axis=0)
    middle = by_tool(guide, vertices[triangles].mean(axis=1))
    assert np.abs(middle[on_each]).max() < 0.005
    # As much of the wall's cross-section as the exact shape says is covered by such triangles.
    local = np.asarray(guide.solid.to_mesh64().vert_properties)[:, :2]
    a, b, c = (local[triangles[on_tool, k]] for k in range(3))
    (ux, uy), (vx, vy) = (b - a).T, (c - a).T
    covered = np.abs(ux * vy - uy * vx).sum() / 2
    turn = np.radians(np.arange(0.0, 360.0, 0.5))
    away = np.linspace(section.bore + 0.02, section.radius - 0.02, 41)
    grid = (away[:, None, None] * np.stack([np.cos(turn), np.sin(turn)], -1)).reshape(-1, 2)
    height = place.height(grid)
    above = _world(place, place.tightening.closed(grid), height)
    exact = np.min(by_tool(guide, above), axis=0)
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


@pytest.mark.parametrize("case", [case for case in TWO if case not in ("bent", "short", "spaced")])
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


def touring_guides(name: str) -> list[Guide]:
    job = frame3d.open(EXAMPLES / "touring" / "job.toml").frame
    joints = [joint for joint in job.joints if joint.tube == name]
    return guides_of_tube(job, job.tube(name), joints, job.shop.printer)


def test_the_pair_sits_where_the_trim_plan_lays_the_tube_in_its_raw_one() -> None:
    """The mark in each window, found through the guide's own matrix, from the raw tube's ends; so
    the butts come under the copes. Both distances, the setting and the marks fill the raw tube."""
    guides = touring_guides("top tube")
    tube = guides[0].place.tube
    assert tube.raw is not None
    low = tube.raw.start
    high = low + tube.raw.stock.length
    for guide in guides:
        mark = guide.matrix @ [0.0, 0.0, guide.sleeve.mark, 1.0]
        station = (mark[:3] - np.asarray(tube.start)) @ direction(tube)
        own = station - low if guide.place.end == "start" else high - station
        assert guide.from_raw == pytest.approx(own, abs=1e-3)
        assert guide.sleeve.label[2].text.startswith(f"RAW {own:.1f}")
        assert guide.raw.listed and guide.raw.off_first == ()
    marks = sum(guide.from_raw + guide.sleeve.mark for guide in guides)
    assert marks + guides[0].setting == pytest.approx(tube.raw.stock.length, abs=2e-3)
    assert guides[0].raw.finished == pytest.approx(528.28, abs=0.01)  # as `check` tells


def test_what_comes_off_a_square_end_first_is_told() -> None:
    """A chain stay of a listed raw tube: its setting is measured from the square end."""
    (guide,) = touring_guides("left chain stay")
    tube, raw = guide.place.tube, guide.raw
    assert tube.raw is not None and guide.by == "square end"
    over = tube.raw.start + tube.raw.stock.length - tube.length
    assert raw.off_first == (("end", pytest.approx(over, abs=1e-3)),) and over > 5.0
    assert guide.from_raw + guide.mark + over == pytest.approx(raw.length, abs=2e-3)


def test_the_shoulder_beside_a_bent_mate_goes_through_its_axis_next_to_the_end() -> None:
    """The nearest of very many points of the axis of small-wheels' top tube, which was taken for
    one up to half a millimetre further on."""
    job = frame3d.open(EXAMPLES / "small-wheels" / "job.toml").frame
    bent = job.tube("top tube")
    line = bent.centreline
    station = np.linspace(0.0, line.length, 400001)
    points, tangents, _ = line.at(station)
    probe = points[123457] + np.array([0.0, 40.0, 0.0])
    rail = tube("rail", tuple(probe), tuple(np.add(probe, (0.0, 300.0, 0.0))), 14.0)
    joint = Joint("rail", "start", ("top tube",), (None,))
    place = place_of(replace(job, tubes=(*job.tubes, rail), joints=(joint,)), joint)
    ((normal, distance),) = place.shoulders
    nearest = np.linalg.norm(points - probe, axis=1).argmin()
    axis = place.axes @ tangents[nearest]
    assert abs(normal @ axis) < 1e-6
    assert distance == pytest.approx(normal @ place.axes @ (points[nearest] - probe), abs=1e-4)


def test_a_bent_tubes_guides_are_set_from_the_bend() -> None:
    for guide in (printed.guide for printed in made("bent")):
        line = guide.place.tube.centreline
        bend = np.flatnonzero(line.curvature > 0)
        starts = guide.place.end == "start"
        begins = line.stations[bend[0]] if starts else line.stations[bend[-1] + 1]
        away = abs(begins - guide.station)
        assert guide.from_bend == pytest.approx(away, abs=1e-6)
        assert guide.sleeve.label[2].text.startswith(f"BEND {away:.1f}")


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
    "case", ["leaning", "crossed", "equal", "corner", "tapered", "oval", "bent", "short", "spaced"]
)
def test_cutting_along_the_printed_face_gives_the_designed_tube(case: str) -> None:
    """The face is found from the tightened guide's mesh alone, as cylinders through its vertices,
    one for each saw or mate; the raw tube less all beyond it is the tube as designed."""
    guides = [printed.guide for printed in made(case)]
    tube = guides[0].place.tube
    copes = {guide.place.end: guide.place.cope for guide in guides}
    designed = finished_tube(tube, copes).solid
    cut = raw_tube(tube, Extent(-30.0, tube.length + (30.0 if "end" in copes else 0.0)), 0.005)
    for guide in guides:
        place = guide.place
        seat = place.cope.seat * place.cope.frame.out
        for tool in place.cope.tools:
            true = Cylinder(tool.point + seat, tool.axis, tool.radius)
            nudged = Cylinder(
                true.point + place.matrix[:3, 0] * 0.2,
                true.axis + 0.001 * place.matrix[:3, 1],
                true.radius + 0.2,
            )
            axis = nudged.axis / np.linalg.norm(nudged.axis)
            nudged = Cylinder(nudged.point, axis, nudged.radius)
            found = fitted_cylinder(tightened(guide)[0], nudged)
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
def test_a_tube_sawn_along_the_tightened_guide_has_the_gap_that_the_check_tells(
    case: str, which: int
) -> None:
    """For tools of any shape: heights of the tightened guide's mesh on four circles give a
    polynomial in the distance from the axis; carried on through the tube's wall it is what a file
    on the face leaves. (Tubes whose own outside is no cylinder are held by the test above.)"""
    guide = guide_of(case, which)
    cope = guide.place.cope
    stop, theta, depth = sawn(guide)
    told = np.max(cope.gap(theta, depth)[np.isfinite(stop)])
    room = stop - met(cope, theta, depth)
    gap = gap_at(cope, stop - np.nanmax(room), theta, depth)
    assert np.isfinite(stop).mean() > 0.5
    assert np.nanmax(gap) == pytest.approx(told, abs=0.01)
    exact = cope.position(theta, depth)
    assert np.nanmax(np.abs(stop - exact)) < 0.01


def test_a_tube_sawn_along_a_loose_guides_face_would_not_have_it() -> None:
    """So that the test above means something: the same guide, as if it had been made for a bore
    that stays open, leaves a fifth of a millimetre at 28.6 mm onto 36 mm."""
    whole = frame("crossed")
    post, beam = whole.tube("post"), replace(whole.tube("beam"), od=Profile.constant(28.6))
    beam = replace(beam, start=(0.0, 0.0, 20.0), end=(400.0, 0.0, 20.0))
    joint = whole.joint_at("beam", "start")
    whole = replace(whole, tubes=(post, beam), joints=(joint,))
    guide = printed_guides(whole)[0][0].guide
    place = replace(guide.place, clearance=1e-6)
    sleeve = replace(guide.sleeve, place=place)
    loose = replace(guide, sleeve=sleeve, solid=sleeve_solid(sleeve))
    for one, gap in ((guide, 0.0), (loose, 0.15)):
        stop, theta, depth = sawn(one)
        seated = stop - np.nanmax(stop - met(one.place.cope, theta, depth))
        widest = np.nanmax(gap_at(one.place.cope, seated, theta, depth))
        assert widest < 0.01 if gap == 0.0 else widest > gap


def sawn(guide: Guide) -> tuple[Array, Array, Array]:
    """Where a file on the tightened guide's face stops at angles and depths of the tube's wall:
    heights, mm along the axis; nan over the slit and where the guide's top is cut off."""
    place, sleeve = guide.place, guide.sleeve
    placed, triangles = tightened(guide)
    local = (placed - place.matrix[:3, 3]) @ place.matrix[:3, :3]
    radius, wall = place.tube.od.value[0] / 2, place.tube.wall.value[0]
    turn = np.radians(np.arange(0.5, 360.0, 3.0))
    around = np.stack([np.cos(turn), np.sin(turn)], axis=1)
    away = radius + np.array([0.02, 1.0, 2.0, 3.0])
    seen = np.stack([face_height(local, triangles, r * around) for r in away])
    frame = place.cope.frame
    offsets = around @ place.axes[:2] @ np.stack([frame.datum, frame.side]).T
    theta = np.arctan2(offsets[:, 1], offsets[:, 0])
    stops, thetas, depths = [], [], []
    exact = np.stack([place.cope.position_across(r * offsets) for r in away])
    for depth in (0.0, 0.5, 1.0):
        r = radius - (1.0 - depth) * wall
        weight = np.array([np.prod([(r - q) / (p - q) for q in away if q != p]) for p in away])
        with np.errstate(invalid="ignore"):
            true = place.cope.position_across(r * offsets)
            plain = (
                np.abs(weight @ exact - true) < 0.002
            )  # else even the exact shape is no parabola
            plain &= seen.max(axis=0) < sleeve.top - sleeve.length - 0.001
            plain &= np.ptp(seen - exact, axis=0) < 0.5  # not the slit
            stops.append(np.where(plain, weight @ seen, np.nan))
        thetas.append(theta)
        depths.append(np.full(len(theta), depth))
    return np.concatenate(stops), np.concatenate(thetas), np.concatenate(depths)


def met(cope: Cope, theta: Array, depth: Array) -> Array:
    """Where the lines of the tube first touch a mate, mm along the axis."""
    return replace(cope, tools=cope.mates, seat=0.0).position(theta, depth)


def gap_at(cope: Cope, stop: Array, theta: Array, depth: Array) -> Array:
    """Distance to the nearest mate of points at heights `stop`."""
    shaped = np.isfinite(stop)
    radius = cope.tube.od.value[0] / 2 - (1.0 - depth) * cope.tube.wall.value[0]
    frame = cope.frame
    points = frame.origin + radius[:, None] * frame.around(theta)
    points = points[shaped] + stop[shaped, None] * frame.out
    gap = np.full(len(stop), np.nan)
    gap[shaped] = np.min([mate.distance(points) for mate in cope.mates], axis=0)
    return gap


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


def test_a_saw_named_by_the_job_shapes_the_guide_too() -> None:
    """The guide leads along the cope of the checked frame; without a saw, along the mate."""
    whole = frame("leaning")
    sawn_joint, plain = whole.joints
    assert sawn_joint.saws == (37.0,) and plain.saws == (None,)
    first, second = (guide_of("leaning", k).place.cope for k in (0, 1))
    assert first.tools[0].radius == 18.5 and first.seat == cope_of(whole, sawn_joint).seat > 0.4
    assert second.tools == second.mates and second.seat == 0.0
    placed, _ = tightened(guide_of("leaning", 0))
    assert (np.abs(by_tool(guide_of("leaning", 0), placed)) < 1e-3).sum() > 500
