"""More of anything than a shop can mean is refused with its limit, before work grows with it."""

from pathlib import Path

import pytest

import frame3d
from frame3d.build import Build
from frame3d.jobs import JobError
from frame3d.model import Frame, Hole, Limits, Oval, Profile, Tube
from frame3d.solids.facets import CHORD_MM
from frame3d.solids.finished_tube import finished_tube
from frame3d.solids.raw_tube import MOST_TRIANGLES, Extent, affordable

HEAD = '[job]\nname = "x"\nprocess = "tig"\n'
TUBE = '[[tube]]\nname = "{}"\nstart = [0, {}, 0]\nend = [900, {}, 0]\nod = 30\nwall = {}\n'
RAIL = TUBE.format("rail", 0, 0, 1)
CASES = {
    "corners of an outline": (
        RAIL + '[[plate]]\nname = "p"\nthickness = 5\nat = [0, 0, 0]\noutline = ['
        + ", ".join(f"[{k}, {k % 7}]" for k in range(9000)) + "]\n",
        'plate "p", outline: found 9000 of them, expected 500 at most',
    ),
    "holes": (
        RAIL + '[[hole]]\ntube = "rail"\nat = 400\ndiameter = 3\nangle_deg = 0\n' * 9000,
        "hole: found 9000 of them, expected 2000 at most",
    ),
    "stations of a wall": (
        TUBE.format("rail", 0, 0, [[k / 10, 1.0] for k in range(8000)]),
        'tube "rail", wall: found 8000 of them, expected 500 at most',
    ),
    "tubes": (
        "".join(TUBE.format(f"t{k}", 40 * k, 40 * k, 1) for k in range(4000)),
        "tube: found 4000 of them, expected 2000 at most",
    ),
}  # fmt: skip


@pytest.mark.parametrize("case", CASES)
def test_too_many_of_anything_are_refused_at_once(case: str, tmp_path: Path) -> None:
    text, words = CASES[case]
    job = tmp_path / "job.toml"
    job.write_text(HEAD + text)
    with pytest.raises(JobError) as found:
        frame3d.open(job)
    assert words in str(found.value)
    assert "line " in str(found.value)


def test_holes_are_held_against_their_neighbours_only() -> None:
    """In the job's order, and as many words as pairs that stand too near."""
    rail = Tube("rail", (0, 0, 0), (9000, 0, 0), Profile.constant(30), Profile.constant(1))
    at = [30.0 + 40.0 * k for k in range(60)]
    holes = tuple(Hole("rail", where, 0.0, 6.0, "guide") for where in (*at, at[7] + 6.5, at[3] - 7))
    frame = Frame("x", "tig", (rail,), (), Limits(3, 10, 0.02, 1), holes=holes)
    conflicts = Build(frame).report.as_json()["holes"]["conflicts"]
    assert [words["conflict"].split(" leave ")[0] for words in conflicts] == [
        "the guide hole at 150 mm and the guide hole at 143 mm",
        "the guide hole at 310 mm and the guide hole at 316.5 mm",
    ]


def test_a_tube_that_a_slip_of_the_pen_made_wide_takes_no_endless_mesh() -> None:
    """A stay of 19 mm with 190 typed in its middle: its ellipse changes over all its length."""

    def stay(middle: float) -> Tube:
        od = Profile((0.0, 180.0, 350.0), (19.0, middle, 12.7))
        oval = Oval(Profile((0.0, 60.0, 180.0, 350.0), (19.0, 17.5, 17.5, 12.7)))
        return Tube("stay", (0, 0, 0), (350, 0, 0), od, Profile.constant(0.8), oval=oval)

    slip = finished_tube(stay(190.0), {})
    assert MOST_TRIANGLES / 2 < slip.solid.num_tri() < 1.1 * MOST_TRIANGLES
    real, extent = stay(19.0), Extent(0.0, 350.0)
    assert affordable(real, extent, CHORD_MM) == CHORD_MM
