"""A plain tube coped onto tubes of every shape: its solid against the exact cope."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.spatial import KDTree
from scipy.spatial.transform import Rotation
from shaped_tubes import TUBES, outside

from frame3d.model import Bend, Frame, Joint, Limits, Profile, Tube
from frame3d.model.tube_section import lateral
from frame3d.solids.finished_tube import finished_tube
from frame3d.solids.raw_tube import Extent
from frame3d.surfaces.cope import Cope, cope_of

LIMITS = Limits(end_margin_mm=1, least_angle_deg=10, feather_mm=0.1, clash_mm3=1)
LONG, RADIUS, WALL = 150.0, 4.5, 0.8


def rail_onto(mate: Tube, share: float) -> tuple[Tube, Cope]:
    """A rail that starts on the mate's axis and leaves it askew."""
    (point,), (ahead,), (up,) = mate.centreline.at(mate.length * share)
    away = 0.8 * up + 0.4 * np.cross(ahead, up) + 0.5 * ahead
    end = point + LONG * away / np.linalg.norm(away)
    od, wall = Profile.constant(2 * RADIUS), Profile.constant(WALL)
    rail = Tube("rail", tuple(point.tolist()), tuple(end.tolist()), od, wall)
    joint = Joint("rail", "start", ("mate",), (None,))
    return rail, cope_of(Frame("test", "tig", (mate, rail), (joint,), LIMITS), joint)


@pytest.mark.parametrize("share", [0.3, 0.5])
@pytest.mark.parametrize("shape", TUBES)
def test_volume_of_a_rail_coped_onto_it_is_the_quadrature_of_the_exact_cope(shape, share):
    rail, cope = rail_onto(replace(TUBES[shape], name="mate"), share)
    around = np.arange(720) * (2 * np.pi / 720)
    expected = 0.0
    for node, weight in zip(*np.polynomial.legendre.leggauss(6), strict=True):
        depth = (node + 1) / 2
        metal = LONG + cope.position(around, np.full(720, depth))
        radius = RADIUS - (1 - depth) * WALL
        expected += weight / 2 * WALL * radius * metal.mean() * 2 * np.pi
    finished = finished_tube(rail, {"start": cope})
    assert finished.volume == pytest.approx(expected, rel=2e-5)
    assert finished.solid.genus() == 1
    assert not finished.dropped


@pytest.mark.parametrize("shape", TUBES)
def test_a_rail_cut_along_it_touches_it_all_around(shape):
    _, cope = rail_onto(replace(TUBES[shape], name="mate"), 0.45)
    around = np.linspace(0, 2 * np.pi, 360)
    for depth in (0.0, 0.5, 1.0):
        assert np.abs(cope.gap(around, np.full(360, depth))).max() < 1e-6


@pytest.mark.parametrize("shape", TUBES)
def test_every_shape_is_coped_onto_a_tapered_head_without_standing_in_it(shape):
    tube = replace(TUBES[shape], name="cut")
    (end,), (ahead,), (up,) = tube.centreline.at(tube.length)
    along = 0.9 * up + 0.3 * np.cross(ahead, up) + 0.5 * ahead
    along = 100 * along / np.linalg.norm(along)
    od = Profile.through([(0, 36), (100, 40), (200, 30)])
    ends = tuple((end - along).tolist()), tuple((end + along).tolist())
    head = Tube("head", *ends, od, Profile.constant(1.2))
    joint = Joint("cut", "end", ("head",), (None,))
    cope = cope_of(Frame("test", "tig", (tube, head), (joint,), LIMITS), joint)
    around = np.linspace(0, 2 * np.pi, 360)
    for depth in (0.0, 0.5, 1.0):
        assert np.abs(cope.gap(around, np.full(360, depth))).max() < 1e-6
    finished = finished_tube(tube, {"end": cope}, chord=0.02)
    assert finished.solid.genus() == 1
    shared = finished.solid ^ outside(head, Extent(0.0, head.length), 0.02)
    assert shared.volume() < 0.5  # mm3: facets along some 80 mm of edge, no more


def crossed(kind: str, mate_kind: str, share: float) -> tuple[Tube, Cope, Tube]:
    """A shaped tube whose end stands on the axis of another one, askew to it."""
    tube, mate = replace(TUBES[kind], name="cut"), replace(TUBES[mate_kind], name="mate")
    (end,), (out,), _ = tube.centreline.at(tube.length)
    (at,), (ahead,), (up,) = mate.centreline.at(mate.length * share)
    aim = 0.75 * up + 0.5 * np.cross(ahead, up) + 0.4 * ahead
    turn = Rotation.align_vectors([-aim / np.linalg.norm(aim)], [out])[0]

    def moved(point: tuple[float, float, float]) -> tuple[float, float, float]:
        return tuple((at + turn.apply(np.subtract(point, end))).tolist())

    bends = tuple(Bend(moved(bend.corner), bend.radius) for bend in tube.bends)
    tube = replace(tube, start=moved(tube.start), end=moved(tube.end), bends=bends)
    joint = Joint("cut", "end", ("mate",), (None,))
    return tube, cope_of(Frame("test", "tig", (tube, mate), (joint,), LIMITS), joint), mate


@pytest.mark.parametrize("share", [0.15, 0.3])
@pytest.mark.parametrize("mate_kind", ["bent, oval", "bent, tapered"])
@pytest.mark.parametrize("kind", ["bent, oval", "bent, tapered", "oval"])
def test_shapes_all_together_are_coped_onto_each_other(kind, mate_kind, share):
    """The cut end against the mate's outside as the model alone has it, densely sampled."""
    tube, cope, mate = crossed(kind, mate_kind, share)
    around = np.linspace(0, 2 * np.pi, 360, endpoint=False)
    origin, out, datum = tube.centreline.at(np.array([tube.length]))
    side = np.cross(out, datum)
    fine = np.arange(0, 2 * np.pi, 5e-3)
    stations = np.linspace(mate.length * share - 40, mate.length * share + 40, 401)
    station, theta = (grid.ravel() for grid in np.meshgrid(stations, fine, indexing="ij"))
    middle, along, up = mate.centreline.at(station)
    across = lateral(mate, station, theta, 1.0)
    skin = KDTree(middle + across[:, :1] * up + across[:, 1:] * np.cross(along, up))
    for depth in (0.0, 1.0):
        stop = cope.position(around, np.full(360, depth))
        x, y = lateral(tube, tube.length + stop, around, np.full(360, depth)).T
        points = origin + stop[:, None] * out + x[:, None] * datum + y[:, None] * side
        assert skin.query(points)[0].max() < 0.13  # half a cell of the samples
        assert np.abs(cope.gap(around, np.full(360, depth))).max() < 1e-6
    finished = finished_tube(tube, {"end": cope}, chord=0.02)
    assert finished.solid.genus() == 1
    assert not finished.dropped
    shared = finished.solid ^ outside(mate, Extent(0.0, mate.length), 0.02)
    assert shared.volume() < 0.5
