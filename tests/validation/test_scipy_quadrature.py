"""Finished-tube volumes against scipy's cubature of the exact shape (tests/reference)."""

import numpy as np
import pytest
from reference.exact_tube import ExactEnd, exact_volume
from reference.frames import diamond, frame, pair, tube

from frame3d.solids.frame_solids import frame_solids
from frame3d.surfaces.cope import copes_of

DEFAULT_ERROR = 2e-5


def both_ends():
    left = tube("left", (0, -150, 0), (0, 150, 0), 34.0, 1.2)
    right = tube("right", (140, -150, 40), (140, 150, 90), 38.1, 1.2)
    rung = tube("rung", (0, 3, 0), (140, -8, 63), 25.4, 0.9)
    joints = [("rung", "start", {"left": 35.0}), ("rung", "end", {"right": None})]
    return frame("both ends", [left, right, rung], joints), "rung"


def two_onto(saws=(41.0, 29.0)):
    shell = tube("shell", (0, -40, 0), (0, 40, 0), 40.0, 2.0)
    post = tube("post", (0, 0, 0), (-70, 0, 240), 28.6, 0.9)
    strut = tube("strut", (0, 0, 0), (220, 6, 170), 31.8, 0.8)
    joints = [("strut", "start", dict(zip(("shell", "post"), saws, strict=True)))]
    return frame("two onto", [shell, post, strut], joints), "strut"


def butted(saw=37.0):
    """Butts at both ends and a waist between, and a slope that the long side of the cope cuts."""
    wall = [[0, 1.2], [70, 1.2], [100, 0.7], [180, 0.7], [215, 1.0]]
    return pair(28.6, wall, 36.0, 73.0, saw), "rail"


def sloped_through_the_cope():
    """The wall thins along the cope itself: the bore is a cone where it is cut."""
    wall = [[-20, 1.4], [30, 0.6]]
    return pair(28.6, wall, 36.0, 50.0), "rail"


def short(od, wall, length):
    """Little more than its two copes: what the cut faces lose or gain counts most."""
    posts = [
        tube(name, (x, 0, -90), (x, 0, 90), 36.0, 1.2) for name, x in (("a", 0), ("b", length))
    ]
    rung = tube("rung", (0, 0, 0), (length, 0, 0), od, wall)
    joints = [("rung", "start", {"a": 37.0}), ("rung", "end", {"b": None})]
    return frame("short", [*posts, rung], joints), "rung"


CASES = {
    "square on": (pair(28.6, 0.9, 36.0, 90.0), "rail"),
    "head tube angle, oversize saw": (pair(28.6, 0.9, 36.0, 73.0, 37.0), "rail"),
    "undersize saw": (pair(28.6, 0.9, 36.0, 73.0, 35.0), "rail"),
    "equal tubes": (pair(28.6, 0.9, 28.6, 60.0), "rail"),
    "equal tubes, oversize saw": (pair(28.6, 0.9, 28.6, 60.0, 29.0), "rail"),
    "acute": (pair(19.05, 0.9, 31.8, 20.0, 32.0), "rail"),
    "skew": (pair(22.2, 0.8, 40.0, 65.0, 41.0, offset=6.5), "rail"),
    "skew, tangent at its side": (pair(22.2, 0.8, 40.0, 65.0, offset=8.9), "rail"),
    "thick wall": (pair(30.0, 12.0, 36.0, 80.0, 37.0), "rail"),
    "short and thick": short(19.0, 4.0, 45.0),
    "short bridge": short(10.0, 0.8, 50.0),
    "both ends, skew": both_ends(),
    "two onto": two_onto(),
    "two onto, no saw": two_onto((None, None)),
    "butted": butted(),
    "wall slopes through the cope": sloped_through_the_cope(),
}


def error(case, chord: float) -> float:
    made, name = case
    solids = frame_solids(made, copes_of(made), chord)
    return solids.tubes[name].volume / exact_volume(made, name) - 1


@pytest.mark.parametrize("case", CASES.values(), ids=CASES.keys())
def test_volume_at_the_default_chord(case):
    assert abs(error(case, 0.005)) < DEFAULT_ERROR


def test_every_tube_of_a_diamond_frame_at_the_default_chord():
    made = diamond()
    solids = frame_solids(made, copes_of(made))
    errors = {name: t.volume / exact_volume(made, name) - 1 for name, t in solids.tubes.items()}
    assert max(map(abs, errors.values())) < DEFAULT_ERROR, errors


@pytest.mark.parametrize(
    "case",
    [
        CASES[name]
        for name in ("head tube angle, oversize saw", "skew", "both ends, skew", "butted")
    ],
    ids=["plain", "skew", "both ends", "butted"],
)
def test_volume_converges_in_proportion_to_the_chord(case):
    """The number of flats grows as the root of 1 / chord. The bore gives back what they take from
    the metal's area; what is left stands at the copes, by the square of the flats' size: the error
    is of first order in the chord. Where it changes sign on the way it is smaller still."""
    chords = 0.08 / 2.0 ** np.arange(6)
    errors = np.abs([error(case, chord) for chord in chords])
    order = np.polyfit(np.log(chords), np.log(errors), 1)[0]
    told = dict(zip(chords, errors, strict=True))
    allowed = DEFAULT_ERROR * chords / 0.005
    assert (errors < allowed * 1.02).all(), told
    assert 0.9 < order < 1.15 or (errors < 0.05 * allowed).all(), told


@pytest.mark.parametrize("case", CASES.values(), ids=CASES.keys())
def test_seat_and_shape_of_the_end_agree_with_the_closed_form(case):
    made, name = case
    for joint in made.joints:
        cope, exact = copes_of(made)[name, joint.end], ExactEnd(made, joint)
        assert cope.seat == pytest.approx(exact.seat, abs=1e-6)
        wall = cope.tube.wall
        if not wall.is_constant:
            continue  # the same (theta, depth) is another radius where the bore is a cone
        theta, depth = (
            g.ravel() for g in np.meshgrid(np.linspace(0, 2 * np.pi, 721), [0, 0.31, 1])
        )
        radius = cope.tube.od(0.0) / 2 - (1 - depth) * wall(0.0)
        offsets = radius[:, None] * cope.frame.around(theta)
        assert cope.position(theta, depth) == pytest.approx(exact.stop(offsets), abs=1e-6)
