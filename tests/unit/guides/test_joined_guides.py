"""A short tube's two guides are one: what is printed sets length and phase between its copes."""

from dataclasses import replace

import numpy as np
import pytest
import trimesh
from cases import LIMITS, POST, frame, made, tube
from manifold3d import JoinType, Manifold
from numpy.typing import NDArray
from test_fit_of_guides import fitted_cylinder
from test_printing import overhang_deg

from frame3d.guides.joined import DOWEL_LONG_MM, DOWEL_MM, dowel_holes
from frame3d.guides.lettering import line
from frame3d.guides.plan import Guide, Printed, printed_guides
from frame3d.guides.sleeve import RELIEF_MM, sleeve_solid
from frame3d.model import Frame, Hole, Joint, Printer, Profile, Shop
from frame3d.surfaces.cylinder import Cylinder

Array = NDArray[np.float64]
LENGTH = 150.0
LEAST = {"screws": 98.86, "zip-ties": 147.87}  # of both sleeves, mm
FLIPPED = np.diag([-1.0, 1.0, -1.0])  # stood on the first guide's setting edge, foot below foot


def spacer(phase: float, printer: Printer = Printer(), **more: object) -> Frame:  # noqa: B008
    """A tube between a post and a mast that leans and stands turned about it by `phase`."""
    lean, turn = np.radians(80.0), np.radians(phase)
    along = np.array([np.cos(lean), np.sin(lean) * np.sin(turn), np.sin(lean) * np.cos(turn)])
    middle = np.array([LENGTH, 0.0, 0.0])
    mast = tube("mast", tuple(middle - 200 * along), tuple(middle + 200 * along), 31.8, 1.2)
    rod = tube("spacer", (0.0, 0.0, 0.0), (LENGTH, 0.0, 0.0), 25.4)
    rod = replace(rod, **more)  # type: ignore[arg-type]
    joints = (
        Joint("spacer", "start", ("post",), (37.0,)),
        Joint("spacer", "end", ("mast",), (None,)),
    )
    return Frame("spaced", "tig", (POST, mast, rod), joints, LIMITS, Shop(printer=printer))


def pair(job: Frame) -> tuple[Printed, Printed]:
    printed, refused = printed_guides(job)
    assert not refused, refused
    first, second = printed
    return first, second


def hole_middles(solid: Manifold) -> Array:
    """Of both dowel holes, from the printed mesh, the one at -x first: (2, 2)."""
    small = [c for c in solid.slice(4.0).to_polygons() if -12.0 < signed_area(c) < -6.0]
    assert len(small) == 2
    middles = np.array([(np.min(c, axis=0) + np.max(c, axis=0)) / 2 for c in small])
    return middles[np.argsort(middles[:, 0])]


def signed_area(polygon: Array) -> float:
    x, y = np.asarray(polygon).T
    return float(np.sum(x * np.roll(y, -1) - y * np.roll(x, -1)) / 2)


def onto_first(first: Manifold, second: Manifold) -> Array:
    """The turn (3, 3) that brings the second sleeve's edge and holes to the first's; the bore
    centres both. Only from their meshes."""
    own, other = hole_middles(first), hole_middles(second) @ FLIPPED[:2, :2]
    ways = own[1] - own[0], other[0] - other[1]
    angle = np.subtract(*(np.arctan2(way[1], way[0]) for way in ways))
    cos, sin = np.cos(angle), np.sin(angle)
    return np.array([[cos, -sin, 0.0], [sin, cos, 0.0], [0.0, 0.0, 1.0]]) @ FLIPPED


def found(guide: Guide) -> Cylinder:
    """What the tightened guide's face lies on, from its mesh, in the file's coordinates."""
    local = np.array(guide.solid.to_mesh64().vert_properties)[:, :3]
    away = np.linalg.norm(local[:, :2], axis=1, keepdims=True)
    local[:, :2] *= 1.0 - guide.sleeve.clearance / away
    place, (tool,) = guide.place, guide.place.cope.tools
    point = place.axes @ (tool.point - place.cope.frame.origin)
    point = point + np.array([0.2, 0.0, guide.sleeve.length + place.cope.seat])
    axis = place.axes @ tool.axis + [0.0, 0.001, 0.0]
    start = Cylinder(point, axis / np.linalg.norm(axis), tool.radius + 0.2)
    return fitted_cylinder(local, start)


def nearest_to_tube(point: Array, axis: Array) -> Array:
    """The place on a line next to the axis along z: (3,)."""
    return point - (point[:2] @ axis[:2]) / (axis[:2] @ axis[:2]) * axis


@pytest.mark.parametrize("phase", [0.0, 37.0, 90.0, 143.0])
def test_joined_by_edges_and_dowels_the_faces_stand_as_the_finished_tubes_copes(
    phase: float,
) -> None:
    """Both faces' cylinders, fitted to the meshes: apart along the tube and turned to each other
    as what shapes the copes, whose places are the job's own."""
    first, second = (printed.guide for printed in pair(spacer(phase)))
    assert first.by == second.by == "joined"
    turn = onto_first(first.solid, second.solid)
    one, two = found(first), found(second)
    near = nearest_to_tube(one.point, one.axis), nearest_to_tube(turn @ two.point, turn @ two.axis)
    # By the job: the saw, seated, stands before the post's axis; the mast's axis at LENGTH.
    seat = first.place.cope.seat
    assert near[0][2] - near[1][2] == pytest.approx(LENGTH + seat, abs=0.004)
    assert all(np.linalg.norm(at[:2]) < 0.004 for at in near)
    directions = one.axis, turn @ two.axis
    # About the tube's start-to-end, of lines: modulo half a turn.
    angles = [np.degrees(np.arctan2(-axis[0], axis[1])) for axis in directions]
    apart = (angles[1] - angles[0] + phase * turning(first)) % 180.0
    assert min(apart, 180.0 - apart) < 0.01
    lean = np.degrees(np.arccos(abs(directions[1][2])))
    assert lean == pytest.approx(80.0, abs=0.01)


def turning(guide: Guide) -> float:
    """+1 where the file's angles about z run as the job's about x, from its z to its y."""
    to_y = guide.place.axes @ [0.0, 1.0, 0.0]
    to_z = guide.place.axes @ [0.0, 0.0, 1.0]
    return float(np.sign(np.cross(to_y, to_z)[2]))


def test_the_two_sleeves_fill_the_tube_between_both_ends() -> None:
    for printed in (pair(spacer(37.0)), made("spaced")):
        first, second = (own.guide for own in printed)
        placed = [guide.solid.transform(guide.matrix[:3]) for guide in (first, second)]
        assert (placed[0] ^ placed[1]).volume() < 1e-6
        assert placed[0].min_gap(placed[1], 1.0) < 1e-6
        assert first.joined_to is not None and first.joined_to.name == second.name
        for guide in (first, second):
            assert guide.setting == 0.0 and guide.sleeve.label[1].text in ("JOIN →", "← JOIN")


@pytest.mark.parametrize("clamp", ["screws", "zip-ties", "hose-clamp"])
@pytest.mark.parametrize("opening", ["slit", "halves"])
def test_dowels_leave_no_turn_but_room_to_close_and_stay_inside(clamp: str, opening: str) -> None:
    printer = Printer(clamp=clamp, opening=opening)  # type: ignore[arg-type]
    first, second = pair(spacer(37.0, printer))
    one = first.guide.solid
    two = second.guide.solid.rotate((0.0, 180.0, 0.0))
    both, half = one + two, DOWEL_LONG_MM / 2
    rod = Manifold.cylinder(DOWEL_LONG_MM, DOWEL_MM / 2 - 0.001, -1.0, 96, True)
    middles = hole_middles(one)
    for x, y in middles:
        inward = -np.array([x, y]) / np.hypot(x, y)
        for by in (0.0, 0.15, -0.15):
            at = (*(np.array([x, y]) + by * inward), 0.0)
            assert (rod.translate(at) ^ both).volume() < 1e-3, by
        placed = rod.translate((x, y, 0.0))
        for angle in (0.1, -0.1):
            assert (placed ^ two.rotate((0.0, 0.0, angle))).volume() > 0.01
        assert (placed.translate((0.0, 0.0, 0.4)) ^ both).volume() < 1e-3  # loose lengthwise
        # Two printed lines of wall are left all around, over the dowel's whole depth.
        for z in np.linspace(-half, half, 15):
            section = both.slice(float(z) + 1e-4)
            (around,) = [
                c for c in section.to_polygons()
                if signed_area(c) < 0 and np.hypot(*(np.mean(c, axis=0) - [x, y])) < 0.3
            ]  # fmt: skip
            hole = type(section)([around[::-1]])
            wall = hole.offset(printer.thinnest, JoinType.Round) - hole
            assert (wall - section).area() < 0.01
    for printed in (first, second):
        assert len(printed.parts) == (2 if opening == "halves" else 1)
        for part in printed.parts:
            assert len(part.solid.decompose()) == 1 and overhang_deg(part.solid) <= 45.1
            mesh = part.solid.to_mesh64()
            read = trimesh.Trimesh(mesh.vert_properties[:, :3], mesh.tri_verts)
            assert read.is_watertight
        assert printed.guide.sleeve.grip.height < printed.guide.sleeve.top


def test_a_clamp_stands_as_near_the_face_as_on_a_guide_of_its_own() -> None:
    """However much longer a joined sleeve is, its face is made for a bore closed there."""
    long = spacer(37.0, Printer(bed=(120.0, 120.0, 120.0)))
    for alone, one in zip(pair(long), pair(spacer(37.0)), strict=True):
        below = [g.guide.sleeve.length - g.guide.sleeve.grip.height for g in (alone, one)]
        assert alone.guide.by == "edges" and one.guide.by == "joined"
        assert below[0] - 1.0 < below[1] <= below[0] + 1e-9
        assert one.guide.sleeve.length > alone.guide.sleeve.length + 5.0


@pytest.mark.parametrize("clamp", ["screws", "zip-ties"])
def test_a_long_name_is_shortened_before_a_short_tube_loses_its_one_guide(clamp: str) -> None:
    """At the least length every letter still stands on the wall, whole."""
    job = spacer(37.0, Printer(clamp=clamp))  # type: ignore[arg-type]
    long = "the spacer that runs between both of them"
    rod = replace(job.tube("spacer"), name=long)
    joints = tuple(replace(joint, tube=long) for joint in job.joints)
    job = replace(job, joints=joints)
    for length, by in ((LEAST[clamp] + 1.0, "joined"), (LEAST[clamp] - 1.0, "line")):
        near = np.array([length - LENGTH, 0.0, 0.0])
        mast = job.tube("mast")
        mast = replace(mast, start=tuple(mast.start + near), end=tuple(mast.end + near))
        short = replace(rod, end=(length, 0.0, 0.0))
        for printed in pair(replace(job, tubes=(POST, mast, short))):
            guide, sleeve = printed.guide, printed.guide.sleeve
            assert guide.by == by
            if by == "joined":
                assert sleeve.label[0].text.endswith(f"… {guide.place.end}")
                bare = sleeve_solid(
                    replace(sleeve, label=(line("", 3.0),)), holes=dowel_holes(sleeve)
                )
                area = sum(words.outline.area() for words in sleeve.label)
                raised = guide.solid.volume() - bare.volume()
                assert raised == pytest.approx(area * RELIEF_MM, rel=0.01)
                assert len(guide.solid.decompose()) == 1


def test_two_guides_are_kept_with_the_reason_where_one_cannot_be() -> None:
    taper = Profile((0.0, LENGTH), (25.4, 22.0))
    drilled = replace(spacer(37.0), holes=(Hole("spacer", 75.0, 0.0, 4.0, "vent"),))
    for job, words in (
        (frame("leaning"), "more than the bed's 220 mm"),
        (frame("short"), "take at least"),
        (spacer(37.0, Printer(bed=(120.0, 120.0, 120.0))), "more than the bed's 120 mm"),
        (spacer(37.0, Printer(bed=(220.0, 220.0, 50.0))), "does not fit the bed"),
        (spacer(37.0, od=taper), "spacer is tapered"),
        (drilled, "no room for the guides of the tube's holes"),
    ):
        for printed in pair(job):
            guide = printed.guide
            assert guide.by in ("edges", "line") and guide.joined_to is None
            assert guide.not_joined is not None and words in guide.not_joined
    assert all(printed.guide.not_joined is None for printed in pair(spacer(37.0)))
