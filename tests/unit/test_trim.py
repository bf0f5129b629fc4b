"""The trim plan: butts stay under the joints, lengths add up to the raw tube, walls are the real
ones - shown by rays through the solids - and what cannot be made is said."""

import math
from dataclasses import replace

import numpy as np
import pytest
import trimesh
from draws import draws
from hypothesis import given
from hypothesis import strategies as st

from frame3d.build import Build
from frame3d.check.report import Report
from frame3d.check.trim import TrimPlan, TubeTrim, trim_plan
from frame3d.model import (
    Frame,
    Joint,
    Limits,
    Mill,
    Profile,
    Shop,
    Stock,
    Tube,
    cut_from,
    direction,
)
from frame3d.solids.frame_solids import Solids
from frame3d.surfaces.cope import copes_of
from frame3d.surfaces.placing import placed

LIMITS = Limits(end_margin_mm=3.0, least_angle_deg=10.0, feather_mm=0.02, clash_mm3=1.0)

BUTTED = Stock(
    "butted 28.6",
    600.0,
    Profile.constant(28.6),
    Profile.through([(0, 0.8), (80, 0.8), (110, 0.5), (490, 0.5), (520, 0.8), (600, 0.8)]),
)


def post(name: str, x: float) -> Tube:
    return Tube(name, (x, 0, -100), (x, 0, 100), Profile.constant(36.0), Profile.constant(1.2))


def between_posts(
    stock: Stock = BUTTED,
    span: float = 560.0,
    rise: float = 50.0,
    trim_start: float | None = None,
    saws: tuple[float | None, float | None] = (None, None),
    waste: float = 15.0,
) -> Frame:
    rail = Tube("rail", (0, 0, 0), (span, 0, rise), Profile.constant(1.0), Profile.constant(0.1))
    return placed(
        Frame(
            "posts",
            "tig",
            (post("rear", 0.0), post("front", span), cut_from(rail, stock, trim_start)),
            (
                Joint("rail", "start", ("rear",), saws[:1]),
                Joint("rail", "end", ("front",), saws[1:]),
            ),
            LIMITS,
            shop=Shop(mill=Mill(waste=waste)),
        )
    )


def examined(frame: Frame) -> tuple[TrimPlan, Report, Solids]:
    build = Build(frame)
    report = build.report
    (plan,) = (s for s in report.sections if isinstance(s, TrimPlan))
    return plan, report, build.solids()


def wall_by_ray(solids: Solids, tube: Tube, station: float, theta: float) -> float:
    """The wall where a ray from the axis goes out through the solid, mm."""
    mesh = solids.tubes[tube.name].solid.to_mesh64()
    body = trimesh.Trimesh(np.array(mesh.vert_properties[:, :3]), np.array(mesh.tri_verts))
    points, tangents, datums = tube.centreline.at(station)
    out = np.cos(theta) * datums[0] + np.sin(theta) * np.cross(tangents[0], datums[0])
    hits, _, _ = body.ray.intersects_location(points, out[None], multiple_hits=True)
    inner, outer = sorted(np.linalg.norm(hits - points[0], axis=1))[:2]
    return float(outer - inner)


def test_lengths_add_up_to_the_raw_tube_and_are_those_of_the_solid() -> None:
    frame = between_posts(saws=(37.0, 37.0))
    plan, _, solids = examined(frame)
    (trim,) = plan.tubes
    assert trim.ends["start"].cut + trim.finished + trim.ends["end"].cut == pytest.approx(600.0)
    rail = frame.tube("rail")
    points = np.asarray(solids.tubes["rail"].solid.to_mesh64().vert_properties)[:, :3]
    along = (points - rail.start) @ direction(rail)
    assert np.ptp(along) == pytest.approx(trim.finished, abs=2e-3)
    assert rail.raw is not None
    assert along.min() - rail.raw.start == pytest.approx(trim.ends["start"].cut, abs=2e-3)


def test_left_alone_as_much_butt_stays_at_one_end_as_at_the_other() -> None:
    plan, report, _ = examined(between_posts(rise=60.0))
    (trim,) = plan.tubes
    assert report.passes
    assert trim.ends["start"].butt_short == pytest.approx(trim.ends["end"].butt_short, abs=1e-5)


def test_butts_of_unlike_length_are_cut_so_that_as_much_of_each_stays() -> None:
    """By hand: axis 560 square to both posts of 36: tips touch the sides at 18 less what the saddle
    reaches back, sqrt(18^2 - 14.3^2) = 10.932 from the posts' axes; short sides at 18 from them.
    The finished tube is 560 - 2 x 10.932 = 538.137 long, so 61.863 come off; butts of 100 and 70
    leave 30 less at the end if both ends are cut alike, so 15 more come off at the start."""
    wall = Profile.through([(0, 0.8), (100, 0.8), (130, 0.5), (500, 0.5), (530, 0.8)])
    plan, _, _ = examined(between_posts(replace(BUTTED, wall=wall), rise=0.0))
    (trim,) = plan.tubes
    reach = math.sqrt(18**2 - 14.3**2)
    finished = 560 - 2 * reach
    assert trim.finished == pytest.approx(finished, abs=1e-5)
    assert trim.ends["start"].cut == pytest.approx((600 - finished) / 2 + 15, abs=1e-5)
    assert trim.ends["end"].cut == pytest.approx((600 - finished) / 2 - 15, abs=1e-5)
    for end in trim.ends.values():
        assert end.butt_long == pytest.approx(85 - (600 - finished) / 2, abs=1e-5)
        assert end.butt_short == pytest.approx(end.butt_long - (18 - reach), abs=1e-5)


def test_walls_are_where_the_plan_has_them_by_rays_through_the_solid() -> None:
    """A zone's edge on the taper between butt and middle, so that a slip of 1 mm would show."""
    frame = between_posts(trim_start=58.0, span=540.0)
    plan, _, solids = examined(frame)
    (trim,) = plan.tubes
    rail = frame.tube("rail")
    start, end = trim.ends["start"], trim.ends["end"]
    assert rail.raw is not None
    assert start.cut == pytest.approx(58.0, abs=1e-5)
    tip = rail.raw.start + start.cut
    short = tip + start.butt_long - start.butt_short
    for theta in (0.3, 2.0, 4.0):
        zone = wall_by_ray(solids, rail, short + plan.zone, theta)
        assert zone == pytest.approx(start.wall_at_zone, abs=3e-3)
        assert 0.5 < zone < 0.8
        assert wall_by_ray(solids, rail, short + 0.2, theta) == pytest.approx(0.8, abs=3e-3)
        just_before = wall_by_ray(solids, rail, tip + start.butt_long - 0.5, theta)
        assert just_before == pytest.approx(0.8, abs=3e-3)
        beyond = wall_by_ray(solids, rail, tip + start.butt_long + 3.0, theta)
        assert beyond == pytest.approx(0.8 - 3 * 0.01, abs=3e-3)
        far = tip + trim.finished - end.butt_long
        assert wall_by_ray(solids, rail, far + 0.5, theta) == pytest.approx(0.8, abs=3e-3)
        assert wall_by_ray(solids, rail, far - 3.0, theta) == pytest.approx(0.77, abs=3e-3)


def test_a_joint_on_the_thin_part_is_refused() -> None:
    plan, report, _ = examined(between_posts(span=500.0, trim_start=100.0))
    assert not report.passes
    (reason,) = plan.tubes[0].reasons
    assert "joint at the start falls on the thin part" in reason
    assert plan.tubes[0].ends["start"].wall_at_joint < 0.6


def test_heat_past_the_butt_is_told_but_no_fault() -> None:
    plan, report, _ = examined(between_posts(span=540.0, trim_start=60.0))
    assert report.passes
    assert any("heat at the start goes past the butt" in note for note in plan.tubes[0].notes)


def test_a_raw_tube_too_short_is_refused_with_what_is_missing() -> None:
    plan, report, _ = examined(between_posts(replace(BUTTED, length=530.0), rise=0.0))
    assert not report.passes
    (reason,) = plan.tubes[0].reasons
    assert "530.0 mm long, rail needs 538.1 mm: 8.1 mm too short" in reason


def test_a_trim_that_leaves_too_little_for_the_other_end_is_refused() -> None:
    plan, _, _ = examined(between_posts(rise=0.0, trim_start=65.0))
    assert any("the end stands 3.1 mm past the raw tube" in r for r in plan.tubes[0].reasons)


def test_a_single_butt_stays_at_the_end_that_is_coped() -> None:
    """Butted at its end only, coped at its start: the raw tube is turned; all but the
    waste beyond the cope comes off above."""
    single = Stock(
        "single 28.6",
        600.0,
        Profile.constant(28.6),
        Profile.through([(0, 0.6), (400, 0.6), (430, 0.9), (600, 0.9)]),
    )
    seat = Tube("seat", (0, 0, 0), (500, 0, 0), Profile.constant(1.0), Profile.constant(0.1))
    frame = placed(
        Frame(
            "single",
            "tig",
            (post("shell", 0.0), cut_from(seat, single.turned())),
            (Joint("seat", "start", ("shell",), (None,)),),
            LIMITS,
        )
    )
    plan, report, _ = examined(frame)
    (trim,) = plan.tubes
    assert report.passes
    assert trim.ends["start"].cut == pytest.approx(15.0, abs=1e-6)
    assert trim.ends["start"].wall_at_joint == pytest.approx(0.9)
    assert trim.ends["start"].butt_long == pytest.approx(155.0, abs=1e-5)
    assert trim.ends["end"].cut == pytest.approx(85 + math.sqrt(18**2 - 14.3**2), abs=1e-5)


PLAIN = Stock("plain 28.6", 600.0, Profile.constant(28.6), Profile.constant(0.8))


def rail_trim(frame: Frame) -> TubeTrim:
    copes = copes_of(frame)
    (trim,) = trim_plan(frame, copes, Report(frame, (), (), ())).tubes
    return trim


@pytest.mark.parametrize("waste", [4.0, 15.0, 25.0])
def test_a_plain_raw_tube_keeps_the_shops_waste_beyond_its_copes(waste: float) -> None:
    """The finished tube is 538.136 long, as worked out above: 61.864 to spare."""
    trim = rail_trim(between_posts(PLAIN, rise=0.0, waste=waste))
    assert trim.ends["start"].cut == pytest.approx(waste, abs=1e-5)
    assert trim.ends["end"].cut == pytest.approx(61.864 - waste, abs=1e-3)
    assert trim.notes == ()


def test_copes_share_what_waste_there_is_and_the_plan_says_that_it_is_little() -> None:
    trim = rail_trim(between_posts(replace(PLAIN, length=550.0), rise=0.0))
    assert [end.cut for end in trim.ends.values()] == pytest.approx([5.932, 5.932], abs=1e-3)
    assert [note[:52] for note in trim.notes] == [
        "the tip of the start stands 5.9 mm from the raw end,",
        "the tip of the end stands 5.9 mm from the raw end, 1",
    ]


def test_butts_give_waste_only_what_the_heat_leaves_of_them() -> None:
    """As above 61.864 to spare; the short sides lie 7.068 inside the tips, the heat of TIG reaches
    15 further. A start's butt of 32 can lose 32 - 7.068 - 15 = 9.932 and no more."""
    wall = Profile.through([(0, 0.8), (32, 0.8), (60, 0.5), (460, 0.5), (490, 0.8)])
    trim = rail_trim(between_posts(replace(BUTTED, wall=wall), rise=0.0))
    assert trim.ends["start"].cut == pytest.approx(9.932, abs=1e-3)
    assert any("start stands 9.9 mm from the raw end" in note for note in trim.notes)
    assert not any("heat" in note for note in trim.notes)


def test_a_tube_that_lands_on_the_thin_middle_is_refused() -> None:
    frame = between_posts(rise=0.0)
    stub = Tube("stub", (280, 0, 0), (280, 0, 90), Profile.constant(16.0), Profile.constant(0.8))
    frame = replace(
        frame,
        tubes=(*frame.tubes, stub),
        joints=(*frame.joints, Joint("stub", "start", ("rail",), (None,))),
    )
    plan, report, _ = examined(frame)
    assert not report.passes
    assert any("stub (start) stands on the thin part" in r for r in plan.tubes[0].reasons)


def test_tapered_raw_tubes_meet_their_mates_with_the_outside_that_they_have_there() -> None:
    """The cope's tip moves with the outside, and that with where the tube is laid."""
    tapered = Stock(
        "tapered 24/14", 450.0, Profile.through([(100, 24.0), (400, 14.0)]), Profile.constant(0.8)
    )
    frame = between_posts(tapered, span=420.0, rise=0.0, trim_start=30.0)
    plan, _, solids = examined(frame)
    (trim,) = plan.tubes
    assert trim.ends["start"].cut == pytest.approx(30.0, abs=1e-5)
    assert math.isinf(trim.ends["start"].butt_long)
    rail = frame.tube("rail")
    assert rail.raw is not None
    points = np.asarray(solids.tubes["rail"].solid.to_mesh64().vert_properties)[:, :3]
    assert points[:, 0].min() - rail.raw.start == pytest.approx(30.0, abs=2e-3)
    at = 250.0
    ring = points[np.abs(points[:, 0] - at) < 200]
    radius = np.interp(at, *np.transpose([(rail.raw.start + 100, 12.0), (rail.raw.start + 400, 7)]))
    assert float(rail.od(at)) / 2 == pytest.approx(radius)
    assert len(ring) > 0


def test_the_order_list_counts_raw_tubes_of_a_kind() -> None:
    frame = between_posts(rise=0.0)
    second = replace(frame.tube("rail"), name="rail 2")
    plan, _, _ = examined(replace(frame, tubes=(*frame.tubes, second)))
    (order,) = plan.orders
    assert (order.stock, order.raw, order.count) == ("butted 28.6", 600.0, 2)


@draws(few=10, many=25)
@given(
    st.floats(540, 620),
    st.floats(-150, 150),
    st.floats(30, 120),
    st.floats(30, 120),
    st.floats(0, 1),
)
def test_lengths_add_up_and_butts_are_shared_for_any_tube(
    span: float, rise: float, butt_start: float, butt_end: float, spare: float
) -> None:
    length = math.hypot(span, rise) + 60 * spare
    wall = Profile.through(
        [(0, 0.9), (butt_start, 0.9), (butt_start + 30, 0.6), (length - butt_end - 30, 0.6),
         (length - butt_end, 0.9)]
    )  # fmt: skip
    stock = Stock("any", length, Profile.constant(28.6), wall)
    frame = between_posts(stock, span, rise)
    trim = rail_trim(frame)
    start, end = trim.ends["start"], trim.ends["end"]
    assert start.cut + trim.finished + end.cut == pytest.approx(length)
    assert min(start.cut, end.cut) >= -1e-5
    shared = start.butt_short == pytest.approx(end.butt_short, abs=1e-4)
    little = min(start.cut, end.cut) <= 15.0 + 1e-4  # at one end; there for waste, or none to give
    assert shared or little
    kept = min(start.butt_short, end.butt_short)
    if kept < 15.0 - 1e-4:  # nothing to give away for waste, but the raw tube's ends
        assert shared or min(start.cut, end.cut) == pytest.approx(0.0, abs=1e-4)
