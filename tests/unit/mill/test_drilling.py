"""Holes: where they are, what they take, what they run into, where a joint can be vented."""

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner
from joints import LIMITS
from scipy.integrate import quad

import frame3d
from frame3d.bicycle.handling import standover
from frame3d.check.hole_conflicts import hole_conflicts
from frame3d.check.vents import vent_advice, vent_places
from frame3d.jobs import JobError
from frame3d.mill.drilling import drilling
from frame3d.model import EndShape, Frame, Hole, Joint, Oval, Pinch, Plug, Profile, Slot, Tube
from frame3d.solids.frame_solids import frame_solids
from frame3d.surfaces.cope import copes_of
from frame3d_cli.main import main

BUTTS = Profile.through([(0, 0.9), (150, 0.9), (180, 0.6), (320, 0.6), (350, 0.9)])


def two_tubes(*holes: Hole) -> Frame:
    post = Tube("post", (0, 0, -200), (0, 0, 300), Profile.constant(36), BUTTS)
    rail = Tube("rail", (0, 0, 0), (250, 0, 60), Profile.constant(28.6), Profile.constant(0.9))
    joints = (Joint("rail", "start", ("post",), (37.0,)),)
    return Frame("holes", "tig", (post, rail), joints, LIMITS, holes=holes)


def conflicts(*holes: Hole) -> list[str]:
    frame = two_tubes(*holes)
    return list(drilling(frame, frame.tube(holes[0].tube), copes_of(frame), 0.0).conflicts)


@pytest.mark.parametrize("angle", [0.0, 90.0, 200.0])
@pytest.mark.parametrize("diameter", [3.0, 6.5, 12.0])
def test_a_hole_takes_its_volume_from_one_wall(angle: float, diameter: float) -> None:
    """Between two cylinders of radius b and r a drill of radius q takes the integral of
    2 sqrt(q^2 - y^2) (sqrt(r^2 - y^2) - sqrt(b^2 - y^2)) over y."""
    hole = Hole("post", 250.0, angle, diameter, "guide")
    frame = two_tubes(hole)
    copes = copes_of(frame)
    drilled = frame_solids(frame, copes).tubes["post"].volume
    whole = frame_solids(replace(frame, holes=()), copes).tubes["post"].volume
    q, r, b = diameter / 2, 18.0, 17.4

    def slice_of(y: float) -> float:
        return 2 * np.sqrt(q**2 - y**2) * (np.sqrt(r**2 - y**2) - np.sqrt(b**2 - y**2))

    expected = quad(slice_of, -q, q)[0]
    assert whole - drilled == pytest.approx(expected, rel=2e-3)


def test_a_hole_is_where_the_numbers_say() -> None:
    """At 90 degrees clockwise from the datum as seen from the start: +x up the post, so +y."""
    hole = Hole("post", 250.0, 90.0, 6.0, "guide")
    frame = two_tubes(hole)
    solid = frame_solids(frame, copes_of(frame)).tubes["post"].solid

    def probe(y: float) -> float:
        from manifold3d import Manifold

        needle = Manifold.cube((1.0, 2.0, 1.0), True).translate((0.0, y, 50.0))
        return float((solid ^ needle).volume())

    assert probe(17.7) == 0.0
    assert probe(-17.7) > 0.5
    assert solid.status().name == "NoError"


def test_the_page_tells_both_distances_and_the_way_around() -> None:
    frame = two_tubes(Hole("post", 250.0, 270.0, 6.5, "bottle boss"))
    (hole,) = drilling(frame, frame.tube("post"), copes_of(frame), 4.0).holes
    assert (hole.at, hole.from_end, hole.angle, hole.diameter) == (250.0, 254.0, 270.0, 6.5)
    assert hole.around == pytest.approx(0.75 * np.pi * 36, abs=1e-3)


def test_a_hole_in_the_open_is_no_conflict() -> None:
    assert conflicts(Hole("post", 250.0, 180.0, 6.5, "bottle boss")) == []


def test_a_hole_on_a_butt_transition_is_reported() -> None:
    (words,) = conflicts(Hole("post", 178.0, 180.0, 6.5, "bottle boss"))
    assert "150 to 180 mm" in words
    assert conflicts(Hole("post", 184.0, 180.0, 6.5, "stop")) == []  # 180.75 up: just beyond it


def test_holes_too_near_each_other_are_reported() -> None:
    near = Hole("post", 256.0, 180.0, 6.0, "guide")
    (words,) = conflicts(Hole("post", 250.0, 180.0, 6.0, "guide"), near)
    assert "0.0 mm between" in words
    around = replace(near, at=250.0, angle=230.0)  # 15.7 mm around the outside
    assert conflicts(Hole("post", 250.0, 180.0, 6.0, "guide"), around) == []


def test_a_hole_under_the_wall_of_a_joint_is_reported() -> None:
    (words,) = conflicts(Hole("post", 219.0, 0.0, 5.0, "vent"))
    assert "cuts into the joint of rail" in words


def test_inside_a_footprint_a_vent_is_right_and_a_stop_is_not() -> None:
    assert conflicts(Hole("post", 203.0, 0.0, 8.0, "vent")) == []
    (words,) = conflicts(Hole("post", 203.0, 0.0, 8.0, "stop"))
    assert "covered by rail" in words


def test_a_hole_at_the_end_of_its_tube_is_reported() -> None:
    assert any("start of post" in w for w in conflicts(Hole("post", 4.0, 0.0, 5.0, "vent")))
    assert any("start of rail" in w for w in conflicts(Hole("rail", 22.0, 0.0, 5.0, "vent")))
    assert conflicts(Hole("rail", 60.0, 0.0, 5.0, "vent")) == []


def test_the_place_told_for_a_vent_is_inside_the_footprint_up_to_the_largest_drill() -> None:
    frame = two_tubes()
    (vent,) = drilling(frame, frame.tube("post"), copes_of(frame), 0.0).vents
    assert (vent.vented, vent.end) == ("rail", "start")
    assert vent.at == pytest.approx(204.0, abs=3.0)  # the rail rises 6 mm in the post's radius
    assert vent.angle == pytest.approx(0.0, abs=1e-3)
    assert conflicts(Hole("post", vent.at, vent.angle, vent.largest - 0.01, "vent")) == []
    assert conflicts(Hole("post", vent.at, vent.angle, vent.largest + 0.5, "vent"))


EXAMPLES = sorted((Path(__file__).parents[3] / "examples").glob("*/job.toml"))


@pytest.mark.parametrize("job", EXAMPLES, ids=lambda path: path.parent.name)
def test_the_words_about_closed_tubes_tell_the_places_of_the_shop_pages(job: Path) -> None:
    frame = frame3d.open(job).frame
    copes = copes_of(frame)
    advice = vent_advice(frame, copes)
    pages = {
        (mate.name, vent.vented, vent.at): vent
        for mate in frame.tubes
        for vent in drilling(frame, mate, copes, 0.0).vents
    }
    for one in advice:
        for place in one.places:
            vent = pages[place.mate, one.tube, round(place.at, 3)]
            where = f"into {place.mate} {vent.at:.1f} mm along its axis as drawn, "
            assert where + f"{round(vent.angle, 1) % 360:.1f}°" in one.words
            assert f"3 to {vent.largest:.1f} mm wide" in one.words


@pytest.mark.parametrize("job", EXAMPLES, ids=lambda path: path.parent.name)
def test_the_offered_holes_vent_every_tube_and_run_into_nothing(job: Path) -> None:
    frame = frame3d.open(job).frame
    copes = copes_of(frame)
    advice = vent_advice(frame, copes)
    offered = tuple(one.hole for one in advice if one.hole)
    assert len(offered) == len(advice)
    drilled = replace(frame, holes=(*frame.holes, *offered))
    assert vent_advice(drilled, copes) == []
    assert hole_conflicts(drilled, copes).conflicts == hole_conflicts(frame, copes).conflicts
    if advice:  # all but one leave a tube closed
        without = replace(frame, holes=(*frame.holes, *offered[1:]))
        assert vent_advice(without, copes)


def advised(frame: Frame) -> list[str]:
    return [one.tube for one in vent_advice(frame, copes_of(frame))]


def between_posts(*holes: Hole, ends: tuple[EndShape, ...] = ()) -> Frame:
    """A rail, coped at both ends, between two posts that stand open at both ends."""
    one, two = (
        Tube(name, (x, 0, -100), (x, 0, 100), Profile.constant(36), Profile.constant(0.9))
        for name, x in (("one", 0.0), ("two", 300.0))
    )
    rail = Tube("rail", (0, 0, 0), (300, 0, 0), Profile.constant(28.6), Profile.constant(0.9))
    joints = (Joint("rail", "start", ("one",), (36.0,)), Joint("rail", "end", ("two",), (36.0,)))
    return Frame("between", "tig", (one, two, rail), joints, LIMITS, holes=holes, ends=ends)


def plugged(tube: str) -> tuple[EndShape, ...]:
    return Plug(tube, "start", 2.0), Plug(tube, "end", 2.0)


HIDDEN = Hole("one", 100.0, 0.0, 6.0, "vent")  # in the mate's wall, inside the rail's bore


def test_a_closed_tube_is_vented_through_any_open_way() -> None:
    assert advised(between_posts()) == ["rail"]
    assert advised(between_posts(Hole("rail", 60.0, 180.0, 3.0, "vent"))) == []
    assert advised(between_posts(HIDDEN)) == []
    assert advised(between_posts(replace(HIDDEN, angle=180.0))) == ["rail"]  # on the other side
    through = Hole("one", 100.0, 180.0, 6.0, "vent", through=True)
    assert advised(between_posts(through)) == []


def test_what_is_brazed_shut_or_covered_vents_nothing() -> None:
    assert advised(between_posts(Hole("rail", 60.0, 180.0, 3.0, "bottle boss"))) == ["rail"]
    under_the_wall = replace(HIDDEN, angle=float(np.degrees(np.arcsin(13.9 / 18))), diameter=3.0)
    assert advised(between_posts(under_the_wall)) == ["rail"]


def test_vents_count_in_chains_only_as_far_as_the_air() -> None:
    closed = plugged("one")
    assert advised(between_posts(HIDDEN, ends=closed)) == ["rail"]  # into two, which one shares
    away = Hole("one", 40.0, 180.0, 4.0, "vent")
    assert advised(between_posts(HIDDEN, away, ends=closed)) == []
    assert advised(between_posts(away, ends=closed)) == ["rail"]
    in_the_plug = Hole("one", 1.0, 180.0, 1.0, "vent")
    assert advised(between_posts(HIDDEN, in_the_plug, ends=closed)) == ["rail"]


def test_a_bolt_hole_in_a_flat_opens_no_tube() -> None:
    post = between_posts().tube("one")
    ends = (Pinch("one", "start", 20.0, 30.0), Plug("one", "end", 2.0))
    bolt = Hole("one", 10.0, 90.0, 6.0, "bolt", through=True)
    frame = Frame("flat", "tig", (post,), (), LIMITS, holes=(bolt,), ends=ends)
    assert advised(frame) == ["one"]
    assert advised(replace(frame, holes=(replace(bolt, at=100.0),))) == []


def test_a_slot_is_an_open_way_but_where_a_plate_is_brazed_in() -> None:
    post = between_posts().tube("one")
    slot = Slot("one", "start", 20.0, 2.0, (0, 0, -100), (0, 1, 0))
    frame = Frame("slot", "tig", (post,), (), LIMITS, ends=(slot, Plug("one", "end", 2.0)))
    assert advised(frame) == []
    assert advised(replace(frame, ends=(replace(slot, plate="tab"), frame.ends[1]))) == ["one"]


def test_a_hole_opposite_to_a_joint_is_not_under_it() -> None:
    """Its line laid flat from there passes where the outside was cut open."""
    assert conflicts(Hole("post", 203.0, 180.0, 6.0, "stop")) == []


def test_the_web_between_holes_of_an_oval_is_along_its_outside() -> None:
    """An ellipse of 45 and 20 mm: between 65 and 115 degrees from its long axis its arc, by
    quadrature, is much shorter than that of the circle of 45."""
    oval = Oval(Profile.constant(20.0))
    tube = Tube(
        "oval", (0, 0, 0), (300, 0, 0), Profile.constant(45), Profile.constant(1), oval=oval
    )

    def arc(theta: float) -> float:
        r = 1 / np.hypot(np.cos(theta) / 22.5, np.sin(theta) / 10)
        slope = -(r**3) * np.sin(theta) * np.cos(theta) * (1 / 10**2 - 1 / 22.5**2)
        return float(np.hypot(r, slope))

    web = quad(arc, np.radians(65), np.radians(115))[0] - 8.0
    assert 0.1 < web < 2.0
    holes = tuple(Hole("oval", 150.0, angle, 8.0, "guide") for angle in (65.0, 115.0))
    frame = Frame("oval", "tig", (tube,), (), LIMITS, holes=holes)
    ((_, words),) = hole_conflicts(frame, {}).conflicts
    assert f"leave {web:.1f} mm" in words


@pytest.mark.parametrize(("angle", "wide"), [(0.0, 20.0), (90.0, 45.0)])
def test_a_hole_in_an_oval_is_narrower_than_the_side_it_stands_on(
    angle: float, wide: float, tmp_path: Path
) -> None:
    job = tmp_path / "job.toml"
    text = JOB.replace("od = 36\n", "od = 45\noval = { across = 20 }\n")
    hole = f'[[hole]]\ntube = "post"\nat = 400\nangle_deg = {angle}\ndiameter = '
    job.write_text(f"{text}{hole}{wide - 1}\n")
    frame3d.open(job)
    job.write_text(f"{text}{hole}{wide + 1}\n")
    with pytest.raises(JobError, match=f"less than the tube's {wide:g} mm"):
        frame3d.open(job)


def test_standover_is_over_the_upper_side_of_an_oval_top_tube() -> None:
    flat = Tube("t", (0, 0, 500), (300, 0, 500), Profile.constant(28), Profile.constant(1))
    assert standover(flat, 0.0) == pytest.approx(514.0)
    oval = replace(flat, oval=Oval(Profile.constant(40.0), 90.0))  # 40 mm upright
    assert standover(oval, 0.0) == pytest.approx(520.0)


def test_the_page_tells_both_walls_hidden_vents_and_one_walled_slots() -> None:
    slot = Slot("two", "end", 30.0, 3.0, (300, 0, 100), (0, 1, 0), wall=(-1, 0, 0))
    bolt = Hole("two", 40.0, 90.0, 6.0, "bolt", through=True)
    frame = between_posts(HIDDEN, bolt, ends=(slot,))
    copes = copes_of(frame)
    (vent,) = drilling(frame, frame.tube("one"), copes, 0.0).holes
    assert vent.notes == ("opens rail, whose joint hides it: drill before joining",)
    page = drilling(frame, frame.tube("two"), copes, 0.0)
    assert page.holes[0].through
    assert "both walls" in page.holes[0].notes[0]
    assert (page.slots[0].walls, page.slots[0].angle) == (1, 180.0)
    both = replace(frame, ends=(replace(slot, wall=None),))
    (told,) = drilling(both, frame.tube("two"), copes, 0.0).slots
    assert (told.walls, told.angle % 180.0) == (2, 0.0)


def test_a_through_hole_is_kept_clear_on_both_sides() -> None:
    (words,) = conflicts(Hole("post", 203.0, 180.0, 6.0, "bolt", through=True))
    assert "covered by rail" in words
    other = Hole("post", 250.0, 10.0, 6.0, "guide")
    assert "leave" in conflicts(Hole("post", 250.0, 200.0, 6.0, "bolt", through=True), other)[0]


def test_a_tube_on_two_mates_is_vented_where_its_bore_is_free() -> None:
    """A chord from the bottom of a post across a shell stands on both: the middle of what is left
    on the shell is farther from the post than the chord's axis is."""
    shell = Tube("shell", (0, -34, 0), (0, 34, 0), Profile.constant(40), Profile.constant(2))
    post = Tube("post", (0, 0, 0), (0, 0, 300), Profile.constant(28.6), Profile.constant(0.9))
    down = Tube("down", (0, 0, 0), (200, 0, 200), Profile.constant(31.8), Profile.constant(0.9))
    joints = (
        Joint("post", "start", ("shell",), (40.0,)),
        Joint("down", "start", ("shell", "post"), (40.0, 28.6)),
    )
    frame = Frame("two mates", "tig", (shell, post, down), joints, LIMITS)
    place = next(p for p in vent_places(frame, copes_of(frame)) if p.joint.tube == "down")
    assert place.mate == "shell"
    assert place.at == pytest.approx(34.0, abs=0.05)
    axis = next(p.angle for p in vent_places(frame, copes_of(frame)) if p.joint.tube == "post")
    assert abs((place.angle - axis + 180) % 360 - 180) > 50.0  # the down tube's own axis is at 45
    assert 3.0 < place.largest < 31.8 - 1.8 - 2.0


def test_drilled_tubes_stay_closed_meshes() -> None:
    import trimesh

    holes = [Hole("post", 250.0, a, 6.5, "bottle boss") for a in (0.0, 90.0, 180.0, 275.0)]
    frame = two_tubes(*holes)
    mesh = frame_solids(frame, copes_of(frame)).tubes["post"].solid.to_mesh64()
    body = trimesh.Trimesh(mesh.vert_properties[:, :3], mesh.tri_verts, process=True)
    assert body.is_watertight
    assert body.euler_number == 0 - 2 * len(holes)  # each hole through one wall is a handle
    assert json.dumps([h.kind for h in holes])


JOB = """\
[job]
name = "drilled"
process = "tig"

[[tube]]
name = "post"
start = [0, 0, -200]
end = [0, 0, 300]
od = 36
wall = [[0, 0.9], [150, 0.9], [180, 0.6]]

[[tube]]
name = "rail"
start = [0, 0, 0]
end = [250, 0, 60]
od = 28.6
wall = 0.9

[[joint]]
tube = "rail"
end = "start"
onto = ["post"]
"""


@pytest.mark.parametrize(
    ("at", "angle", "words"),
    [
        (219.0, 0.0, "bottle boss hole at 219 mm cuts into the joint of rail"),
        (
            178.0,
            180.0,
            "bottle boss hole at 178 mm stands on the butt's transition from 150 to 180",
        ),
        (400.0, 180.0, ""),
    ],
)
def test_the_check_fails_on_what_a_hole_runs_into(
    at: float, angle: float, words: str, tmp_path: Path
) -> None:
    job = tmp_path / "job.toml"
    hole = f'[[hole]]\ntube = "post"\nat = {at}\nangle_deg = {angle}\ndiameter = 6.5\n'
    job.write_text(JOB + hole + 'kind = "bottle boss"\n')
    code = 1 if words else 0
    people = CliRunner().invoke(main, ["check", str(job)])
    assert people.exit_code == code
    said = " ".join(people.stdout.split())
    assert (f"post: the {words}" in said and "holes fail" in said) if words else "1 hole:" in said
    data = CliRunner().invoke(main, ["check", str(job), "--json"])
    assert data.exit_code == code
    holes = json.loads(data.stdout)["holes"]
    assert (holes["count"], holes["verdict"]) == (1, "fail" if words else "pass")
    assert all(c["tube"] == "post" and words in c["conflict"] for c in holes["conflicts"])
    assert len(holes["conflicts"]) == code
    setup = CliRunner().invoke(main, ["setup", str(job), "-o", str(tmp_path / "out")])
    assert setup.exit_code == code
    assert words in " ".join(setup.stdout.split())
