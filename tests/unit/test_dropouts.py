"""Dropouts stand where the axle is, on both sides, and a wheel that would stand askew is found."""

from pathlib import Path

import numpy as np
import pytest

from frame3d.jobs import JobError
from frame3d.model import Frame
from tests.unit.test_bicycle_jobs import NUMBERS, PICKED, SHOP, load

HUB, BB_DROP = 130.0, 70.0
PLATE = """
[[plate]]
name = "{name}"
outline = [[-20, -20], [20, -20], [30, 25], [-20, 20]]
thickness = {thickness}
{place}
slots = [{slot}]
"""
DOWN = "{ width = 10.2, length = 30, angle = -90 }"
LEVEL = "{ width = 10.2, length = 30, angle = 175 }"


def plate(name: str, place: str, thickness: float = 5.0, slot: str = DOWN) -> str:
    return PLATE.format(name=name, place=place, thickness=thickness, slot=slot)


def at(x: float, y: float, z: float) -> str:
    return f"at = [{x}, {y}, {z}]"


def frame(folder: Path, *plates: str, numbers: str = NUMBERS, more: str = "") -> Frame:
    return load(folder, numbers + PICKED + "".join(plates) + more, SHOP)


def axle(chain_stay: float) -> np.ndarray:
    """Pythagoras: behind and above the shell's centre."""
    return np.array([-np.sqrt(chain_stay**2 - BB_DROP**2), 0.0, BB_DROP])


def pair(x: float, z: float, more_left: float = 0.0, slot: str = DOWN) -> list[str]:
    return [
        plate("left dropout", at(x, HUB / 2 + 2.5, z + more_left), slot=slot),
        plate("right dropout", at(x, -HUB / 2 - 2.5, z), slot=slot),
    ]


@pytest.mark.parametrize("chain_stay", [430.0, 427.3])
@pytest.mark.parametrize("thickness", [5.0, 6.5])
def test_a_dropout_of_an_axle_follows_the_numbers_on_both_sides(
    chain_stay: float, thickness: float, tmp_path: Path
) -> None:
    assert "chain_stay_length = 430" in NUMBERS
    numbers = NUMBERS.replace("chain_stay_length = 430", f"chain_stay_length = {chain_stay}")
    slots = "".join(
        f'\n[[end]]\ntube = "{stay}"\nend = "end"\nkind = "slot"\nplate = "dropout"\ndepth = 18\n'
        for stay in ("chain stay", "seat stay")
    )
    made = frame(
        tmp_path, plate("dropout", 'axle = "rear"', thickness), numbers=numbers, more=slots
    )
    out = HUB / 2 + thickness / 2
    for side, sign in (("left", 1), ("right", -1)):
        (one,) = [plate for plate in made.plates if plate.name == f"{side} dropout"]
        assert one.at == pytest.approx(np.add(axle(chain_stay), (0, sign * out, 0)), abs=1e-9)
        for stay in ("chain stay", "seat stay"):
            assert made.tube(f"{side} {stay}").end[1] == pytest.approx(sign * out)
            (slot,) = made.shapes_of(f"{side} {stay}")
            assert slot.plate == one.name and slot.point[1] == pytest.approx(sign * out)
    assert all(fit.passes for fit in made.fits if fit.part.startswith("rear "))


def test_each_side_may_have_a_dropout_of_its_own(tmp_path: Path) -> None:
    made = frame(
        tmp_path,
        plate("left dropout", 'axle = "rear"'),
        plate("right dropout", 'axle = "rear"', slot="{ width = 10.2 }"),
    )
    left, right = made.plates
    assert (left.name, right.name) == ("left dropout", "right dropout")
    assert left.at[1] == -right.at[1] > 0 and right.slots[0].length == 0


def test_a_leaning_dropout_is_mirrored(tmp_path: Path) -> None:
    place = 'axle = "rear"\nu = [1.0, 0.05, 0.0]\nv = [0, 0, 1]'
    left, right = frame(tmp_path, plate("dropout", place)).plates
    assert np.array(left.u) * [1, -1, 1] == pytest.approx(right.u)


@pytest.mark.parametrize("shift", [-3.0, 0.3, 3.0])
def test_one_dropout_too_low_or_high_sets_the_wheel_askew(shift: float, tmp_path: Path) -> None:
    x, _, z = axle(430.0)
    found = {
        fit.part: fit
        for fit in frame(tmp_path, *pair(x, z, shift)).fits
        if fit.tube != "right dropout"
    }
    assert not found["rear axle, place"].passes
    (reason,) = found["rear wheel, square"].reasons
    word = "higher" if shift > 0 else "lower"
    turn = np.degrees(np.arctan2(abs(shift), HUB + 5))
    assert f"{abs(shift):.2f} mm {word} than the right one" in reason
    assert f"{turn:.2f} degrees askew" in reason


def test_dropouts_that_do_not_follow_the_numbers_are_told_with_their_place(tmp_path: Path) -> None:
    x, _, z = axle(430.0)
    numbers = NUMBERS.replace("chain_stay_length = 430", "chain_stay_length = 428")
    fits = frame(tmp_path, *pair(x, z), numbers=numbers).fits
    places = [fit for fit in fits if fit.part == "rear axle, place"]
    off = axle(428.0) - axle(430.0)
    assert [fit.found for fit in places] == pytest.approx(2 * [np.linalg.norm(off)])
    (reason,) = places[0].reasons
    assert f"{off[0]:.2f} mm behind where the numbers have it" in reason
    assert 'axle = "rear"' in reason and f"at = [{axle(428.0)[0]:.2f}, " in reason
    assert next(fit for fit in fits if fit.part == "rear wheel, square").passes


def test_a_level_slot_takes_the_axle_anywhere_along_it(tmp_path: Path) -> None:
    x, _, z = axle(430.0)
    level = "{ width = 10.2, length = 30, angle = 180 }"
    fits = frame(tmp_path, *pair(x + 12.0, z, slot=level)).fits
    assert all(fit.passes for fit in fits if fit.part.startswith("rear "))
    fits = frame(tmp_path, *pair(x - 12.0, z, slot=level)).fits
    assert sum(not fit.passes for fit in fits if fit.part == "rear axle, place") == 2


@pytest.mark.parametrize(
    ("plates", "numbers", "words"),
    [
        ([plate("dropout", "")], NUMBERS, "found neither at nor axle"),
        ([plate("d", 'axle = "rear"\nat = [0, 0, 0]')], NUMBERS, "found both at and axle"),
        ([plate("d", 'axle = "middle"')], NUMBERS, 'found "middle", expected "rear" or "front"'),
        ([plate("d", 'axle = "front"')], NUMBERS, "a fork of the [bicycle] there, or at"),
        (
            [plate("left d", 'axle = "rear"'), plate("right d", 'axle = "rear"', 6.0)],
            NUMBERS,
            'found 6 mm, and 5 mm for "left d"',
        ),
        (
            [plate("d", 'axle = "rear"')],
            NUMBERS + "[bicycle.rear]\ndropout_thickness = 4\n",
            'found 4 mm, but the plate "d" is 5 mm thick; leave it out',
        ),
    ],
)
def test_what_makes_no_dropout_is_refused_in_words(
    plates: list[str], numbers: str, words: str, tmp_path: Path
) -> None:
    with pytest.raises(JobError) as found:
        frame(tmp_path, *plates, numbers=numbers)
    assert words in str(found.value) and "line " in str(found.value)


def test_an_axle_without_a_bicycle_is_refused(tmp_path: Path) -> None:
    job = (
        '[job]\nname = "x"\nprocess = "tig"\n[[tube]]\nname = "a"\nstart = [0, 0, 0]\n'
        "end = [100, 0, 0]\nod = 30\nwall = 1\n" + plate("d", 'axle = "rear"')
    )
    (tmp_path / "job.toml").write_text(job)
    import frame3d

    with pytest.raises(JobError, match=r'axle: found "rear", expected a \[bicycle\]'):
        frame3d.open(tmp_path / "job.toml")
