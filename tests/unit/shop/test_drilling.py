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
from frame3d.fit.vents import vent_advice, vent_places
from frame3d.model import Frame, Hole, Joint, Profile, Tube
from frame3d.shop.drilling import drilling
from frame3d.solids.frame import frame_solids
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
    closed = {text.split(" is closed")[0]: text for text in advice}
    told = 0
    for mate in frame.tubes:
        for vent in drilling(frame, mate, copes, 0.0).vents:
            if vent.vented in closed:
                where = f"into {mate.name} {vent.at:.1f} mm along its axis as drawn, "
                where += f"{round(vent.angle, 1) % 360:.1f}°"
                assert where in closed[vent.vented]
                assert f"3 to {vent.largest:.1f} mm wide" in closed[vent.vented]
                told += 1
    assert told == sum(text.count("into ") for text in advice)


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
