"""Laws of geometry that every joint obeys, on random joints."""

from dataclasses import replace

import numpy as np
from draws import draws
from hypothesis import Phase, assume, given, settings
from hypothesis import strategies as st
from reference.exact_tube import exact_volume
from reference.frames import frame, tube

from frame3d.check.gap import gap_of
from frame3d.model import Profile
from frame3d.solids.finished_tube import finished_tube
from frame3d.surfaces.cope import copes_of

# A joint that breaks a law is told as it was found, since making it simpler takes minutes.
LAWS = settings(draws(few=15, many=100), phases=[Phase.explicit, Phase.generate])
NANOMETRE = 1e-6
MICROMETRE = 1e-3


def between(low, high):
    return st.floats(low, high, allow_nan=False).map(lambda x: round(x, 6))


@st.composite
def turns(draw):
    """A rotation matrix (3, 3), any orientation in space."""
    w, x, y, z = (draw(between(-1, 1)) for _ in range(4))
    assume(np.hypot(np.hypot(w, x), np.hypot(y, z)) > 0.1)
    w, x, y, z = np.array([w, x, y, z]) / np.linalg.norm([w, x, y, z])
    return np.array(
        [
            [1 - 2 * (y * y + z * z), 2 * (x * y - w * z), 2 * (x * z + w * y)],
            [2 * (x * y + w * z), 1 - 2 * (x * x + z * z), 2 * (y * z - w * x)],
            [2 * (x * z - w * y), 2 * (y * z + w * x), 1 - 2 * (x * x + y * y)],
        ]
    )


@st.composite
def joints(draw, sawn=None):
    """A rail whose start is coped onto a post, and perhaps onto a strut too.

    Equal diameters, skew axes and acute angles among them; the mate is always wide enough, and the
    saw large enough, to shape the whole end. `sawn`: True with saws only, False without.
    """
    od = draw(between(12, 45))
    wall = draw(between(0.5, 0.15 * od))
    mate_od = od * draw(st.just(1.0) | between(1.0, 2.5))
    offset = draw(st.just(0.0) | between(-1, 1)) * (mate_od - od) / 2
    with_saw = draw(st.booleans()) if sawn is None else sawn

    def saw(of):
        least = of if offset == 0.0 and of == od else max(od + 2 * abs(offset) + 0.01, of - 1.5)
        return least + draw(between(0, 3)) if with_saw else None

    angle = np.radians(draw(between(15, 90)))
    tip = 700 * np.array([np.sin(angle), 0.0, np.cos(angle)])
    tubes = [
        tube("post", (0, offset, -400), (0, offset, 400), mate_od, 1.2),
        tube("rail", (0, 0, 0), tip, od, wall),
    ]
    onto = {"post": saw(mate_od)}
    if draw(st.booleans()):
        strut_od = draw(between(0.6, 1.3)) * od
        slope = np.radians(draw(between(35, 100))) + angle  # well away from the rail itself
        strut_tip = 300 * np.array([np.sin(slope), draw(between(-0.4, 0.4)), np.cos(slope)])
        tubes.append(tube("strut", (0, 0, 0), strut_tip, strut_od, 0.9))
        onto["strut"] = strut_od + draw(between(0, 1.5)) if with_saw else None
    turn, shift = draw(turns()), [draw(between(-600, 600)) for _ in range(3)]
    made = frame("random", tubes, [("rail", "start", onto)])
    return moved(made, lambda p: turn @ p + shift)


def moved(made, place, swap=(), scale=1.0):
    """The frame with every point put through `place`, ends of the tubes in `swap` exchanged."""

    def carried(t):
        start, end = (tuple(float(c) for c in place(np.array(p))) for p in (t.start, t.end))
        sized = replace(t, od=scaled(t.od), wall=scaled(t.wall))
        if t.name in swap:
            start, end = end, start
        return replace(sized, start=start, end=end)

    def scaled(profile):
        return Profile(
            tuple(a * scale for a in profile.at), tuple(v * scale for v in profile.value)
        )

    def cut(joint):
        end = {"start": "end", "end": "start"}[joint.end] if joint.tube in swap else joint.end
        return replace(
            joint, end=end, saws=tuple(s if s is None else s * scale for s in joint.saws)
        )

    return replace(made, tubes=tuple(map(carried, made.tubes)), joints=tuple(map(cut, made.joints)))


def figures(made):
    """Seat and gaps of the one joint, mm."""
    (cope,) = copes_of(made).values()
    gap = gap_of(cope)
    return np.array([cope.seat, gap.widest.value, gap.outer.value, gap.inner.value, gap.mean])


def rail(made):
    own = {end: cope for (_, end), cope in copes_of(made).items()}
    return finished_tube(made.tube("rail"), own)


@LAWS
@given(joints(), turns(), st.tuples(*[between(-900, 900)] * 3), st.sampled_from([-1.0, 1.0]))
def test_moving_turning_and_mirroring_the_frame_changes_no_figure(made, turn, shift, hand):
    mirror = np.diag([1.0, hand, 1.0])
    other = moved(made, lambda p: turn @ mirror @ p + shift)
    assert np.abs(figures(other) - figures(made)).max() < NANOMETRE
    # Facets begin at the datum, which follows the world's z: the same number of them elsewhere.
    assert abs(rail(other).volume / rail(made).volume - 1) < 5e-6


@LAWS
@given(joints(), between(0.2, 5.0))
def test_scaling_all_lengths_scales_the_figures(made, scale):
    other = moved(made, lambda p: scale * p, scale=scale)
    assert np.abs(figures(other) - scale * figures(made)).max() < NANOMETRE * max(scale, 1)


@LAWS
@given(joints(), st.sets(st.sampled_from(["post", "rail", "strut"]), min_size=1))
def test_swapping_start_and_end_of_a_tube_changes_nothing(made, swap):
    other = moved(made, lambda p: p, swap)
    assert np.abs(figures(other) - figures(made)).max() < NANOMETRE
    assert abs(rail(other).volume / rail(made).volume - 1) < 5e-6


@LAWS
@given(joints(sawn=False))
def test_without_a_saw_there_is_no_gap(made):
    (cope,) = copes_of(made).values()
    assert cope.seat == 0.0
    theta, depth = (g.ravel() for g in np.meshgrid(np.linspace(0, 7, 997), np.linspace(0, 1, 7)))
    assert np.abs(cope.gap(theta, depth)).max() < NANOMETRE


@LAWS
@given(joints())
def test_the_seated_end_touches_and_stands_in_no_mate(made):
    (cope,) = copes_of(made).values()
    theta, depth = (g.ravel() for g in np.meshgrid(np.linspace(0, 7, 5003), np.linspace(0, 1, 9)))
    gap = cope.gap(theta, depth)
    assert gap.min() > -NANOMETRE
    assert gap.min() < 0.02  # the grid need not hold the very point of touch


@LAWS
@given(joints())
def test_the_solid_is_closed_in_one_piece_and_of_the_right_volume(made):
    finished = rail(made)
    solid = finished.solid
    assert solid.status().name == "NoError"
    assert len(solid.decompose()) == 1
    assert solid.genus() == 1  # a tube has one hole
    assert finished.dropped == ()
    assert abs(finished.volume / exact_volume(made, "rail") - 1) < 2e-5


@LAWS
@given(joints())
def test_every_vertex_of_a_cope_lies_on_the_exact_tool(made):
    (cope,) = copes_of(made).values()
    points = np.array(rail(made).solid.to_mesh64().vert_properties[:, :3])
    t = made.tube("rail")
    axis = np.subtract(t.end, t.start) / t.length
    square_end = np.abs((points - t.end) @ axis) < MICROMETRE
    assert square_end.sum() > 100
    coped = points[~square_end] - cope.seat * cope.frame.out
    nearest = np.min([np.abs(tool.distance(coped)) for tool in cope.tools], axis=0)
    assert nearest.max() < MICROMETRE
    # ... and on the tube's own walls or between them, never off the metal.
    across = (points - t.start) - np.outer((points - t.start) @ axis, axis)
    radius = np.linalg.norm(across, axis=1)
    outer = float(t.od(0.0)) / 2
    assert radius.max() < outer + MICROMETRE
    assert radius.min() > outer - float(t.wall(0.0)) - MICROMETRE


@LAWS
@given(joints())
def test_no_triangle_vanishes_in_single_precision(made):
    """STL, 3MF and GLB hold 32-bit numbers: 6e-5 mm at 1000 mm from the origin."""
    mesh = rail(made).solid.to_mesh64()
    rounded = np.array(mesh.vert_properties[:, :3], np.float32).astype(float)
    corners = rounded[np.array(mesh.tri_verts, np.int64)]
    doubled = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    assert (np.linalg.norm(doubled, axis=1) > 0).all()
    assert len(np.unique(rounded, axis=0)) == len(rounded)
