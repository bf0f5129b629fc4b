"""Drill guides sit on the tube's own foot and point at the holes; split blocks hold the tube."""

import re
from dataclasses import replace

import numpy as np
import pytest
import trimesh
from cases import frame, made
from manifold3d import Manifold

from frame3d.check.vents import vent_places
from frame3d.guides.blocks import GAP_MM, LENGTH_MM, block_side, split_block
from frame3d.guides.drill import DrillGuide, Drilling, bushing, drill_guide
from frame3d.guides.drill_guides import drill_guides
from frame3d.guides.guide_error import GuideError
from frame3d.model import Hole, Pinch, Printer, Tube, datum, direction
from frame3d.solids.raw_tube import Extent, raw_tube
from frame3d.surfaces.cope import copes_of

ANGLES = [0.0, 40.0, 90.0, 135.0, 180.0, 225.0, 270.0, 300.0]
BOSSES = (150.0, 214.0)


def rail() -> Tube:
    return frame("leaning").tube("rail")


def bosses(angle: float, printer: Printer = Printer()) -> DrillGuide:  # noqa: B008
    foot = made("leaning")[0].guide.sleeve.section.foot
    return drill_guide(rail(), Drilling(BOSSES, angle, 5.0), printer, foot, job="two bosses")


def read_as_mesh(solid) -> trimesh.Trimesh:  # type: ignore[no-untyped-def]
    mesh = solid.to_mesh64()
    return trimesh.Trimesh(mesh.vert_properties[:, :3], mesh.tri_verts, process=False)


def vents(angle: float) -> DrillGuide:
    """Near the start, so that the guide is set from the end."""
    foot = made("leaning")[0].guide.sleeve.section.foot
    guide = drill_guide(rail(), Drilling((30.0, 50.0), angle, 5.0), Printer(), foot)
    assert guide.reference == "end"
    return guide


@pytest.mark.parametrize("angle", ANGLES)
@pytest.mark.parametrize("guided", [bosses, vents])
def test_a_drill_down_the_bushing_meets_the_tube_at_the_hole(guided, angle: float) -> None:  # type: ignore[no-untyped-def]
    """The free way through the guide, measured on its mesh about the hole's own line in the job's
    coordinates, has the bushing's radius all round."""
    guide, tube = guided(angle), rail()
    axis = direction(tube)
    up = datum(axis)
    turn = np.radians(angle)
    ray = np.cos(turn) * up + np.sin(turn) * np.cross(axis, up)
    seat, _ = bushing(5.0)
    placed = guide.solid.transform(guide.matrix[:3])
    assert (placed ^ raw_tube(tube, Extent(-50.0, tube.length + 50.0), 0.005)).volume() < 1e-9
    across = np.stack([axis, np.cross(ray, axis), ray])
    for at in guide.drilling.at:
        middle = np.asarray(tube.start) + at * axis
        looked = placed.transform(np.column_stack([across, -across @ middle]))
        sheet = looked.slice(28.575 / 2 + 3.0)
        holes = [p for p in sheet.to_polygons() if np.linalg.norm(p, axis=1).max() < 10.0]
        (hole,) = holes
        assert np.linalg.norm(hole, axis=1).min() == pytest.approx(seat / 2 + 0.1, abs=0.01)
        away = 1.0 if guide.reference == "start" else -1.0
        below = hole[away * hole[:, 0] < 0]  # the roof is on the side away from the reference
        assert np.linalg.norm(below, axis=1).max() == pytest.approx(seat / 2 + 0.1, abs=0.01)


@pytest.mark.parametrize("angle", ANGLES)
def test_drill_guide_prints_without_support_as_one_body(angle: float) -> None:
    guide = bosses(angle)
    read = read_as_mesh(guide.solid)
    assert read.is_watertight and read.body_count == 1
    on_bed = read.triangles[:, :, 2].max(axis=1) < 1e-4
    lean = np.degrees(np.arcsin(np.clip(-read.face_normals[:, 2], 0.0, 1.0)))
    assert lean[~on_bed & (read.area_faces > 1e-4)].max() <= 45.1


@pytest.mark.parametrize("angle", [0.0, 90.0, 180.0])
def test_drill_guide_stands_on_the_foot_of_the_cope_guides(angle: float) -> None:
    guide, tube = bosses(angle), rail()
    up = datum(direction(tube))
    cope_guide = made("leaning")[0].guide
    feet = []
    for solid, matrix in ((guide.solid, guide.matrix), (cope_guide.solid, cope_guide.matrix)):
        vertices = np.asarray(solid.to_mesh64().vert_properties)[:, :3]
        placed = vertices @ matrix[:3, :3].T + matrix[:3, 3]
        feet.append(float(((placed - np.asarray(tube.start)) @ up).min()))
    assert feet[0] == pytest.approx(feet[1], abs=0.005)
    low = guide.matrix @ [0.0, 0.0, 0.0, 1.0]
    along = float((low[:3] - np.asarray(tube.start)) @ direction(tube))
    assert along == pytest.approx(guide.setting, abs=1e-6)
    assert guide.setting == round(guide.setting)  # embossed, and set by a rule


def test_holes_too_near_an_end_and_drills_without_bushing_are_refused() -> None:
    with pytest.raises(GuideError, match="too near an end"):
        taken = {"start": 50.0, "end": 380.0}
        drill_guide(rail(), Drilling((70.0,), 0.0, 5.0), Printer(), None, taken)  # type: ignore[arg-type]
    near = replace(frame("leaning"), holes=(Hole("rail", 8.0, 0.0, 5.0, "vent"),))
    # The place is told once, before the reason.
    (refused,) = drill_guides(near, copes_of(near), [])[1]
    assert refused.end == "holes at 8 mm"
    assert re.fullmatch(r"too near an end for a guide of \d+ mm", refused.reason)
    with pytest.raises(GuideError, match="no bushing"):
        drill_guide(rail(), Drilling((200.0,), 0.0, 25.0), Printer())


@pytest.mark.parametrize("angle", [0.0, 180.0, 225.0])
def test_a_drill_goes_right_through_a_guide_for_both_walls(angle: float) -> None:
    guide = drill_guide(rail(), Drilling((150.0,), angle, 5.0, through=True), Printer())
    tube, axis = rail(), direction(rail())
    up, turn = datum(axis), np.radians(angle)
    ray = np.cos(turn) * up + np.sin(turn) * np.cross(axis, up)
    across = np.stack([axis, np.cross(ray, axis), ray])
    middle = np.asarray(tube.start) + 150.0 * axis
    looked = guide.solid.transform(guide.matrix[:3])
    looked = looked.transform(np.column_stack([across, -across @ middle]))
    drill = Manifold.cylinder(300.0, 2.5, circular_segments=64, center=True)
    assert (looked ^ drill).volume() == 0.0
    beside = drill.translate((4.0, 0.0, 0.0))  # but the far wall is there around the drill
    assert (looked ^ beside).trim_by_plane((0.0, 0.0, -1.0), 0.0).volume() > 1.0


def test_a_through_hole_on_the_slit_and_a_hole_in_a_flat_get_no_guide() -> None:
    with pytest.raises(GuideError, match="slit"):
        drill_guide(rail(), Drilling((150.0,), 90.0, 5.0, through=True), Printer())
    plain = frame("leaning")
    holes = (Hole("rail", rail().length - 12.0, 90.0, 6.0, "bolt", through=True),)
    pressed = replace(plain, ends=(Pinch("rail", "end", 25.0, 40.0),), holes=holes)
    (refused,) = drill_guides(pressed, copes_of(pressed), [])[1]
    assert "pressed flat" in refused.reason


def test_the_sheet_knows_a_vent_that_a_joint_hides() -> None:
    plain = frame("leaning")
    place = next(vent_places(plain, copes_of(plain)))
    hole = Hole(place.mate, place.at, place.angle, 5.0, "vent")
    vented = replace(plain, holes=(hole,))
    made_, refused = drill_guides(vented, copes_of(vented), [])
    assert not refused
    (note,) = made_[0].guide.drilling.notes
    assert note.startswith("opens rail")


def test_block_halves_hold_the_tube_and_stand_square() -> None:
    od, printer = 28.6, Printer()
    halves = split_block(od, printer).decompose()
    assert len(halves) == 2
    side = block_side(od, printer)
    for half in halves:
        read = read_as_mesh(half)
        assert read.is_watertight and read.body_count == 1
        low, high = read.bounds
        assert high[0] - low[0] == pytest.approx(side) and high[2] - low[2] == LENGTH_MM
        assert max(abs(low[1]), abs(high[1])) == pytest.approx(side / 2)
        assert min(abs(low[1]), abs(high[1])) == pytest.approx(GAP_MM / 2)
        on_bed = read.triangles[:, :, 2].max(axis=1) < 1e-4
        assert read.face_normals[~on_bed, 2].min() > -1e-6  # upright walls only
        away = np.linalg.norm(read.vertices[:, :2], axis=1)
        assert away.min() == pytest.approx(od / 2, abs=0.005)


def test_block_counts_its_quarter_turns() -> None:
    """One groove on the first side, two on the next quarter turn, and so on."""
    sheet = split_block(28.6, Printer()).slice(10.0)
    half = block_side(28.6, Printer()) / 2
    from frame3d.guides.guide_section import rectangle

    for quarter in range(4):
        strip = rectangle((-half + 2.0, half - 0.5), (-1.0, half))  # not to the gap
        cut = strip - sheet.rotate(-90.0 * quarter)
        pieces = [piece for piece in cut.decompose() if 0.4 < piece.area() < 0.6]
        assert len(pieces) == quarter + 1


def test_block_larger_than_the_bed_is_refused() -> None:
    with pytest.raises(GuideError, match="does not fit the bed"):
        split_block(80.0, Printer(bed=(90.0, 90.0, 90.0)))
