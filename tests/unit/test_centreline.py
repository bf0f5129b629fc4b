"""The axis of a bent tube."""

import numpy as np
import pytest

from frame3d.model import Bend, Centreline, Oval, Profile, Straight, Tube, Turn, end_frame


def test_a_quarter_bend_ends_where_a_drawing_puts_it():
    line = Centreline.of_runs((0, 0, 0), (1, 0, 0), (0, 0, 1), [Straight(50), Turn(80, 90, 0)])
    (point,), (ahead,), (datum,) = line.at(line.length)
    assert line.length == pytest.approx(50 + 40 * np.pi, abs=1e-12)
    np.testing.assert_allclose(point, (130, 0, 80), atol=1e-12)
    np.testing.assert_allclose(ahead, (0, 0, 1), atol=1e-12)
    np.testing.assert_allclose(datum, (-1, 0, 0), atol=1e-12)


def test_plane_90_turns_to_the_side_right_handed_about_travel():
    line = Centreline.of_runs((0, 0, 0), (1, 0, 0), (0, 0, 1), [Turn(80, 90, 90)])
    (point,), (ahead,), (datum,) = line.at(line.length)
    np.testing.assert_allclose(point, (80, -80, 0), atol=1e-12)
    np.testing.assert_allclose(ahead, (0, -1, 0), atol=1e-12)
    np.testing.assert_allclose(datum, (0, 0, 1), atol=1e-12)  # a flat bend leaves it upright


def test_corners_and_runs_say_the_same_axis():
    runs = [Straight(60), Turn(120, 35, 40), Straight(45), Turn(80, 50, 200), Straight(70)]
    made = Centreline.of_runs((5, -3, 2), (1, 0.2, 0.1), (0, 0, 1), runs)
    stations = np.linspace(-20, made.length + 20, 200)
    ends = made.at([0.0, made.length])[0]
    corners = []
    for k, run in enumerate(runs):
        if isinstance(run, Turn):
            (point,), (ahead,), _ = made.at(made.stations[k])
            corners.append(
                (point + run.radius * np.tan(np.radians(run.angle) / 2) * ahead, run.radius)
            )
    again = Centreline.through(ends[0], corners, ends[1], made.datums[0])
    for one, other in zip(made.at(stations), again.at(stations), strict=True):
        np.testing.assert_allclose(other, one, atol=1e-9)


def test_datum_is_carried_without_twist():
    """Parallel transport: the datum changes only along the tangent."""
    runs = [Turn(120, 35, 40), Straight(45), Turn(80, 50, 200)]
    line = Centreline.of_runs((0, 0, 0), (1, 0, 0), (0, 0, 1), runs)
    station, step = np.linspace(1, line.length - 1, 300), 1e-5
    _, ahead, datum = line.at(station)
    change = (line.at(station + step)[2] - line.at(station - step)[2]) / (2 * step)
    sideways = np.einsum("ij,ij->i", change, np.cross(ahead, datum))
    np.testing.assert_allclose(sideways, 0.0, atol=1e-8)
    np.testing.assert_allclose(np.einsum("ij,ij->i", ahead, datum), 0.0, atol=1e-12)
    np.testing.assert_allclose(np.linalg.norm(datum, axis=1), 1.0, atol=1e-12)


def test_stations_are_arc_length():
    line = Centreline.of_runs((0, 0, 0), (1, 0, 0), (0, 0, 1), [Turn(60, 200, 0), Straight(30)])
    station = np.linspace(-10, line.length + 10, 20001)
    walked = np.linalg.norm(np.diff(line.at(station)[0], axis=0), axis=1).sum()
    assert walked == pytest.approx(line.length + 20, rel=1e-7)


@pytest.mark.parametrize(
    ("corners", "end", "says"),
    [
        ([((100, 0, 0), 200)], (100, 100, 0), "100.00 mm between corners; .* need 200.00 mm"),
        ([((100, 0, 0), 20)], (0, 0, 0), "turns back on itself"),
        ([((0, 0, 0), 20)], (100, 0, 0), "are the same"),
        ([((100, 0, 0), 0)], (100, 100, 0), "bend radius: found 0"),
    ],
)
def test_bends_that_do_not_fit_are_refused_in_words(corners, end, says):
    with pytest.raises(ValueError, match=says):
        Centreline.through((0, 0, 0), corners, end, (0, 0, 1))


def test_a_bent_tube_is_as_long_as_its_axis_and_keeps_its_end_points():
    tube = Tube(
        "seat tube",
        (0, 0, 0),
        (100, 0, 100),
        Profile.constant(28.6),
        Profile.constant(0.9),
        bends=(Bend((100, 0, 0), 60.0),),
    )
    assert tube.length == pytest.approx(40 + 30 * np.pi + 40, abs=1e-9)
    top = end_frame(tube, "end")
    np.testing.assert_allclose(top.origin, (100, 0, 100), atol=1e-12)
    np.testing.assert_allclose(top.out, (0, 0, 1), atol=1e-12)
    np.testing.assert_allclose(top.datum, (-1, 0, 0), atol=1e-12)
    assert top.run == pytest.approx(40)
    foot = end_frame(tube, "start")
    np.testing.assert_allclose(foot.out, (-1, 0, 0), atol=1e-12)
    np.testing.assert_allclose(np.cross(-foot.out, foot.datum), foot.side, atol=1e-12)


def test_an_oval_keeps_its_wall_square_to_the_outside():
    from frame3d.model.tube_section import lateral

    tube = Tube(
        "stay",
        (0, 0, 0),
        (100, 0, 0),
        Profile.constant(30.0),
        Profile.constant(1.2),
        oval=Oval(Profile.constant(16.0), 25.0),
    )
    theta = np.linspace(0, 2 * np.pi, 721)
    station = np.full(len(theta), 40.0)
    outer, bore = lateral(tube, station, theta, 1.0), lateral(tube, station, theta, 0.0)
    np.testing.assert_allclose(np.linalg.norm(outer - bore, axis=1), 1.2, atol=1e-12)
    np.testing.assert_allclose(
        np.mod(np.arctan2(outer[:-1, 1], outer[:-1, 0]), 2 * np.pi), theta[:-1], atol=1e-12
    )
    nearest = np.linalg.norm(bore[::20, None] - outer[None], axis=2).min(axis=1)
    np.testing.assert_allclose(nearest, 1.2, atol=2e-3)  # nothing of the outside is nearer
    at_25 = lateral(tube, station[:1], np.radians([25.0]), 1.0)
    np.testing.assert_allclose(at_25, [[15 * np.cos(np.radians(25)), 15 * np.sin(np.radians(25))]])
