"""Ends other than a cope, and plates: closed solids with the volumes of their closed forms."""

import math
import re
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
import trimesh
from scipy.integrate import quad

import frame3d
from frame3d.build import Build
from frame3d.check.hole_conflicts import hole_conflicts
from frame3d.jobs import JobError
from frame3d.mesh.mesh_files import arrays, write_meshes
from frame3d.model import (
    AxleSlot,
    Dome,
    EndShape,
    Frame,
    Hole,
    Joint,
    Limits,
    Pinch,
    Plate,
    Plug,
    Profile,
    Slot,
    Tube,
    end_frame,
)
from frame3d.solids.finished_tube import bench_axes
from frame3d.solids.frame_solids import Solids, frame_solids
from frame3d.surfaces.cope import copes_of

LIMITS = Limits(end_margin_mm=3.0, least_angle_deg=10.0, feather_mm=0.02, clash_mm3=1.0)
STAY = Tube("stay", (3, 4, 5), (203, 74, 35), Profile.constant(20.0), Profile.constant(0.8))
RING = math.pi * 0.8 * 19.2  # its section


def cut(*ends: EndShape, tube: Tube = STAY, plates: tuple[Plate, ...] = ()) -> Solids:
    return frame_solids(Frame("x", "tig", (tube,), (), LIMITS, ends=ends, plates=plates), {})


def stay_of(*ends: EndShape) -> trimesh.Trimesh:
    solids = cut(*ends)
    body = trimesh.Trimesh(*arrays(solids.tubes["stay"]), process=False)
    assert body.is_watertight
    assert body.is_winding_consistent
    return body


def along(body: trimesh.Trimesh) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
    frame = end_frame(STAY, "end")
    return np.asarray((body.vertices - frame.origin) @ frame.out)


def slot_read(folder: Path, keys: str) -> EndShape:
    """The end's slot, of the same stay, as a job file says it."""
    job = folder / "job.toml"
    job.write_text(
        '[job]\nname = "x"\nprocess = "tig"\n[[tube]]\nname = "stay"\nstart = [3, 4, 5]\n'
        "end = [203, 74, 35]\nod = 20\nwall = 0.8\n"
        f'[[end]]\ntube = "stay"\nend = "end"\nkind = "slot"\n{keys}'
    )
    (slot,) = frame3d.open(job).frame.ends
    return slot


def test_a_plug_fills_the_bore_and_is_flush() -> None:
    body = stay_of(Plug("stay", "end", 3.0))
    assert body.volume == pytest.approx(RING * STAY.length + math.pi * 9.2**2 * 3, rel=2e-5)
    assert along(body).max() == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize("height", [10.0, 5.0, 18.0])
def test_a_dome_adds_half_an_ellipsoid_of_the_walls_thickness(height: float) -> None:
    body = stay_of(Dome("stay", "end", height))
    added = 2 / 3 * math.pi * (10**2 * height - 9.2**2 * (height - 0.8))
    assert body.volume == pytest.approx(RING * STAY.length + added, rel=2e-5)
    assert along(body).max() == pytest.approx(height, abs=1e-3)


def test_a_round_dome_stands_on_its_ball_to_the_chord_error() -> None:
    body = stay_of(Dome("stay", "end", 10.0))
    cap = body.vertices[along(body) > 1e-6]
    radius = np.linalg.norm(cap - end_frame(STAY, "end").origin, axis=1)
    skins = np.minimum(np.abs(radius - 10.0), np.abs(radius - 9.2))
    assert skins.max() < 0.005


def test_both_ends_closed_hold_a_hollow() -> None:
    body = stay_of(Dome("stay", "start", 10.0), Plug("stay", "end", 2.0))
    dome = 2 / 3 * math.pi * (10**3 - 9.2**3)
    want = RING * STAY.length + dome + math.pi * 9.2**2 * 2
    assert body.volume == pytest.approx(want, rel=2e-5)


def test_a_slot_takes_two_walls_between_its_sides() -> None:
    """Each circle's strip between two lines h on both sides of its middle holds
    2 (h sqrt(r^2 - h^2) + r^2 asin(h / r))."""
    frame = end_frame(STAY, "end")
    slot = Slot("stay", "end", 20.0, 5.0, tuple(frame.origin), tuple(frame.side))
    body = stay_of(slot)

    def strip(radius: float) -> float:
        return 2 * (2.5 * math.sqrt(radius**2 - 2.5**2) + radius**2 * math.asin(2.5 / radius))

    taken = 20 * (strip(10.0) - strip(9.2))
    assert RING * STAY.length - body.volume == pytest.approx(taken, rel=2e-3)
    sideways = np.abs((body.vertices - frame.origin) @ frame.side)
    in_slot = along(body) > -19.9
    assert sideways[in_slot].min() == pytest.approx(2.5, abs=1e-6), "nothing stands in the slot"


@pytest.mark.parametrize("turn", [0.0, 70.0, 250.0])
def test_a_binder_slot_takes_one_wall_where_its_angle_points(turn: float, tmp_path: Path) -> None:
    """Half of what a slot through both walls takes; with depth from the end, width, angle."""
    keys = f"depth = 20\nwidth = 5\nangle = {turn}\n"
    both, one = (slot_read(tmp_path, keys + more) for more in ("", "through = false\n"))
    taken = [RING * STAY.length - stay_of(slot).volume for slot in (both, one)]
    assert taken[1] == pytest.approx(taken[0] / 2, rel=1e-4)
    frame = end_frame(STAY, "end")
    way = math.cos(math.radians(turn)) * frame.datum + math.sin(math.radians(turn)) * frame.side
    at_end = stay_of(one).vertices[along(stay_of(one)) > -19.9] - frame.origin
    across = np.abs(at_end @ np.cross(frame.out, way))
    assert across[at_end @ way > 0.1].min() == pytest.approx(2.5, abs=1e-6)
    assert across[at_end @ way < -0.1].min() < 0.5, "the other wall is whole"


def test_a_slot_for_a_plate_is_in_both_walls(tmp_path: Path) -> None:
    with pytest.raises(JobError, match="both walls"):
        slot_read(tmp_path, 'depth = 20\nplate = "tab"\nthrough = false\n')


def test_a_bolt_hole_goes_through_both_walls_of_a_flat() -> None:
    """Square to the flat, two walls thick: a drill of radius q takes pi q^2 times 2 walls."""
    pinch = Pinch("stay", "end", 25.0, 40.0, angle=30.0)
    taken = []
    for through in (False, True):
        hole = Hole("stay", STAY.length - 12.0, 120.0, 6.0, "bolt", through)
        frame = Frame("x", "tig", (STAY,), (), LIMITS, ends=(pinch,), holes=(hole,))
        whole = frame_solids(replace(frame, holes=()), {}).tubes["stay"]
        taken.append(whole.volume - frame_solids(frame, {}).tubes["stay"].volume)
        words = [words for _, words in hole_conflicts(frame, {}).conflicts]
        assert bool(words) is not through
        assert through or "through = true" in words[0]
    assert taken[1] == pytest.approx(math.pi * 9 * 1.6, rel=5e-3)
    assert taken[0] == pytest.approx(taken[1] / 2, rel=1e-2)
    along_flat = Hole("stay", STAY.length - 12.0, 30.0, 6.0, "bolt", True)
    (first, *_) = hole_conflicts(replace(frame, holes=(along_flat,)), {}).conflicts
    assert "angle_deg = 120" in first[1]


def test_a_pinched_end_is_two_walls_thick_and_keeps_its_metal() -> None:
    """Its flat keeps the section's area. Its middle line keeps the ring's length, so that it is
    pi (od - 2 wall) / 2 + 2 wall wide; to the chord error."""
    pinch = Pinch("stay", "end", 25.0, 40.0, angle=30.0)
    body = stay_of(pinch)
    frame = end_frame(STAY, "end")
    turn = math.radians(30.0)
    wide = math.cos(turn) * frame.datum + math.sin(turn) * frame.side
    thin = np.cross(frame.out, wide)
    flat = body.vertices[along(body) > -24.99] - frame.origin
    width = math.pi * (20.0 - 1.6) / 2 + 1.6
    assert np.ptp(flat @ wide) == pytest.approx(width, abs=0.005)
    assert np.ptp(flat @ thin) == pytest.approx(1.6, abs=0.005)
    assert body.volume == pytest.approx(RING * STAY.length, rel=2e-5)


@pytest.mark.parametrize("before_end", [5.0, 24.0, 30.0, 45.0, 60.0, 64.0])
def test_every_section_of_a_pinched_end_keeps_the_walls_middle_line(before_end: float) -> None:
    """Outside and bore of a section are as far from the wall's middle line as each other, so that
    the mean of their lengths is its own: pi (od - wall), wherever the die presses."""
    pinch = Pinch("stay", "end", 25.0, 40.0, angle=30.0)
    bench, _ = bench_axes(end_frame(STAY, "end"))
    section = cut(pinch).tubes["stay"].solid.transform(bench).slice(-before_end)
    assert section.area() == pytest.approx(RING, rel=1e-4)
    around = sum(
        float(np.linalg.norm(line - np.roll(line, 1, axis=0), axis=1).sum())
        for line in section.to_polygons()
    )
    if before_end > 25:
        assert around / 2 == pytest.approx(math.pi * 19.2, rel=1e-4)
    else:  # the flat has no bore: its outside goes round half a wall away from the middle line
        assert around - math.pi * 0.8 == pytest.approx(math.pi * 19.2, rel=1e-4)


def test_a_pinched_taper_holds_what_the_quadrature_of_its_sections_does() -> None:
    """A butted taper pressed flat: half circles of the radius r and straights of the length f
    between them hold pi r^2 + 2 f r; outside less bore, integrated along the axis."""
    od = Profile.through([(0, 24.0), (120, 24.0), (210, 13.0)])
    wall = Profile.through([(0, 1.2), (150, 1.2), (180, 0.8)])
    tube = Tube("stay", (3, 4, 5), (203, 74, 35), od, wall)
    flat, begin = tube.length - 20.0, tube.length - 75.0

    def metal(at: float) -> float:
        middle, half = (float(od(at)) - float(wall(at))) / 2, float(wall(at)) / 2
        share = min(max((at - begin) / (flat - begin), 0.0), 1.0)
        rho = (1 - share) * middle + share * half
        f = math.pi * (middle - rho)
        outer, bore = rho + half, max(rho - half, 0.0)
        return math.pi * (outer**2 - bore**2) + 2 * f * (outer - bore)

    marks = [0.0, 120.0, 150.0, 180.0, begin, flat, tube.length]
    exact = sum(quad(metal, low, high)[0] for low, high in pairwise(sorted(marks)))
    body = cut(Pinch("stay", "end", 20.0, 55.0, angle=-70.0), tube=tube).tubes["stay"]
    assert body.volume == pytest.approx(exact, rel=2e-5)
    rest = trimesh.Trimesh(*arrays(body), process=True)
    assert rest.is_watertight
    assert rest.is_winding_consistent


def test_clearance_and_clash_know_how_wide_a_flat_is() -> None:
    """It stands out by half the circumference: farther than the tube is round."""
    body = cut(Pinch("stay", "end", 25.0, 40.0)).tubes["stay"]
    frame = end_frame(STAY, "end")
    relative = np.asarray(body.solid.to_mesh64().vert_properties)[:, :3] - frame.origin
    off = relative - np.outer(relative @ frame.out, frame.out)
    assert np.linalg.norm(off, axis=1).max() == pytest.approx(body.widest, abs=1e-3)
    assert body.widest > 14.0


def test_a_coped_tube_can_be_domed_at_its_other_end() -> None:
    post = Tube("post", (0, 0, -60), (0, 0, 60), Profile.constant(36.0), Profile.constant(1.2))
    rail = replace(STAY, start=(0, 0, 0), end=(200, 0, 0))
    joint = Joint("stay", "start", ("post",), (None,))
    frame = Frame("x", "tig", (post, rail), (joint,), LIMITS)
    domed = replace(frame, ends=(Dome("stay", "end", 10.0),))
    copes = copes_of(frame)
    plain, capped = frame_solids(frame, copes), frame_solids(domed, copes)
    added = capped.tubes["stay"].volume - plain.tubes["stay"].volume
    assert added == pytest.approx(2 / 3 * math.pi * (10**3 - 9.2**3), rel=2e-3)
    assert trimesh.Trimesh(*arrays(capped.tubes["stay"])).is_watertight
    plain_report, report = Build(frame).report, Build(domed).report
    assert report.tubes[1].length == pytest.approx(plain_report.tubes[1].length + 10, abs=1e-6)


OUTLINE = ((-20.0, -15.0), (30.0, -15.0), (30.0, 25.0), (-20.0, 25.0))
PLATE = Plate("dropout", OUTLINE, 5.0, (100.0, 60.0, 20.0))


def test_a_plate_is_its_outline_times_its_thickness_less_its_slots() -> None:
    hole = AxleSlot(0.0, 0.0, 10.0)
    slot = AxleSlot(10.0, 8.0, 6.0, 9.0, angle=40.0)
    open_slot = AxleSlot(0.0, -10.0, 4.0, 30.0, angle=-90.0)  # runs out of the lower edge
    body = cut(plates=(replace(PLATE, slots=(hole, slot, open_slot)),)).plates["dropout"]
    rounds = math.pi * 5**2 + math.pi * 3**2 + 6 * 9 + (math.pi * 2**2 / 2 + 4 * 5)
    assert body.volume == pytest.approx(5 * (50 * 40 - rounds), rel=1e-6)


def test_an_outline_may_run_either_way_round_and_stands_where_it_is_put() -> None:
    u, v = (0.0, 1.0, 0.0), (-0.6, 0.0, 0.8)
    body = cut(plates=(replace(PLATE, outline=OUTLINE[::-1], u=u, v=v),)).plates["dropout"]
    assert body.volume == pytest.approx(5 * 50 * 40)
    points = np.asarray(body.solid.to_mesh64().vert_properties)[:, :3] - PLATE.at
    assert sorted({round(float(x), 6) for x in points @ u}) == [-20.0, 30.0]
    assert sorted({round(float(x), 6) for x in points @ v}) == [-15.0, 25.0]
    assert sorted({round(float(x), 6) for x in points @ np.cross(u, v)}) == [-2.5, 2.5]


def dropout_in_stay(width: float) -> Frame:
    stay = replace(STAY, start=(0, 0, 0), end=(200, 12, 0))
    plate = Plate("dropout", OUTLINE, 5.0, (205.0, 12.0, 0.0))
    normal = (0.0, 1.0, 0.0)
    slot = Slot("stay", "end", 16.0, width, plate.at, normal, plate.name)
    return Frame("x", "tig", (stay,), (), LIMITS, ends=(slot,), plates=(plate,))


def test_a_plate_stands_in_its_slot_and_clashes_without_one() -> None:
    frame = dropout_in_stay(5.0)
    solids = frame_solids(frame, {})
    report = Build(frame).report
    assert not report.clashes
    assert report.mass == pytest.approx(sum(p.volume for p in solids.parts.values()) * 7.85e-3)
    for bad in (replace(frame, ends=()), dropout_in_stay(3.0)):
        clashes = Build(bad).report.clashes
        assert [clash.tubes for clash in clashes] == [("stay", "dropout")]


@pytest.mark.parametrize("depth", [6.0, 11.5, 14.8])
def test_a_clash_of_a_plate_tells_the_depth_of_slot_that_clears_it(depth: float) -> None:
    frame = dropout_in_stay(5.0)
    (slot,) = frame.ends
    assert isinstance(slot, Slot)
    shallow = replace(frame, ends=(replace(slot, depth=depth),))
    (clash,) = Build(shallow).report.clashes
    told = re.search(r"depth = ([0-9.]+) instead", clash.remedy)
    assert told is not None
    wanted = float(told[1])
    assert not Build(replace(frame, ends=(replace(slot, depth=wanted),))).report.clashes
    less = replace(slot, depth=wanted - 0.6)  # a sliver within what may be shared
    assert Build(replace(frame, ends=(less,))).report.clashes
    narrow = Build(replace(frame, ends=(replace(slot, width=3.0),))).report.clashes
    assert narrow[0].remedy == "", "depth does not help a slot that is too narrow"


def test_plates_are_in_every_mesh_file(tmp_path: Path) -> None:
    write_meshes(frame_solids(dropout_in_stay(5.0), {}), tmp_path)
    assert trimesh.load(tmp_path / "meshes" / "dropout.stl").volume == pytest.approx(10_000)
    assert "dropout" in trimesh.load(tmp_path / "frame.glb").geometry
