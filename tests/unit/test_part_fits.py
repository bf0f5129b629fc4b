"""Bought parts against the tubes picked for them: what to ream, and what cannot be used."""

import json
from pathlib import Path

import pytest
from click.testing import CliRunner

import frame3d
from frame3d.model import PartFit
from frame3d_cli.main import main
from tests.unit.test_bicycle_jobs import NUMBERS, PICKED, SHOP, job, load

SEATED = NUMBERS.replace('shell = "ISO 68"', 'shell = "ISO 68"\nseat_post = 27.2')


def fits(folder: Path, old: str = "", new: str = "", more: str = "") -> dict[str, PartFit]:
    """By part; old and new: a change of the tubes that are picked."""
    assert not old or old in PICKED
    frame = load(folder, SEATED + PICKED.replace(old, new, 1) + more, SHOP)
    return {fit.part: fit for fit in frame.fits}


def seat_tube(wall: str, od: str = "28.6") -> str:
    return f'name = "seat tube"\nod = {od}\nwall = {wall}\n'


def seat_post(folder: Path, wall: str, od: str = "28.6") -> PartFit:
    begin = PICKED.index('name = "seat tube"')
    end = PICKED.index("[[tube]]", begin)
    return fits(folder, PICKED[begin:end], seat_tube(wall, od))["seat post 27.2"]


def test_a_post_that_fits_tells_how_deep_it_goes(tmp_path: Path) -> None:
    """540 mm of seat tube; the post wants 27.25 mm, the tube has 28.6 - 2 x 0.675, and less from
    the taper of its butt on, which ends at 140 mm."""
    found = seat_post(tmp_path, "[[0, 0.9], [100, 0.9], [140, 0.675]]")
    assert found.passes
    assert found.found == pytest.approx(27.25)
    assert found.notes == (
        "the bore takes it up to 402 mm deep, and holds it over 402 mm; it must go in 65 mm at "
        "least, and as far as its own mark",
    )


@pytest.mark.parametrize(
    ("wall", "deep"),
    [
        ("0.8", 540.0),  # plain: as far as anybody reams
        ("[[0, 1.0], [100, 1.0], [140, 0.8]]", 540 - 140 + (0.875 - 0.8) / 0.2 * 40),
    ],
)
def test_a_post_whose_bore_is_reamed_goes_as_deep_as_a_reamer_can_not_only_to_the_least(
    wall: str, deep: float, tmp_path: Path
) -> None:
    """Reaming takes 0.4 mm off a bore, so that it goes on to a wall of (28.6 - 26.85) / 2."""
    found = seat_post(tmp_path, wall)
    assert found.passes
    assert found.depth == pytest.approx(deep, abs=0.6)
    assert found.notes[0].startswith("ream 0.25 mm")
    assert found.notes[1].startswith(
        f"where it is reamed, the bore takes it up to {found.depth:.0f} mm deep"
    )


def test_a_bore_that_gets_too_small_on_the_way_is_told_to_be_reamed(tmp_path: Path) -> None:
    """Right at the top, 0.25 mm too small from 40 mm down."""
    found = seat_post(tmp_path, "[[0, 0.8], [500, 0.8], [500, 0.675]]")
    assert found.passes
    assert found.notes[0].startswith("where it is reamed, the bore takes it up to 540 mm deep")


@pytest.mark.parametrize(
    ("wall", "passes", "told"),
    [
        ("0.8", True, "ream 0.25 mm out of the bore, to 27.25 mm; that leaves a wall of 0.675 mm"),
        ("0.9", False, "the bore is 0.45 mm too small: 26.80 mm, wanted are 27.25 mm; a reamer"),
        ("0.6", False, "the bore is 0.15 mm too big: 27.40 mm, wanted are 27.25 mm"),
        (
            "[[0, 0.6], [500, 0.6], [500, 0.675]]",
            False,
            "the bore holds it over 40 mm only, and is too big from there; it wants 65 mm",
        ),
        (
            "[[0, 0.9], [500, 0.9], [500, 0.675]]",
            False,
            "the bore is too small for it from 40 mm down; it wants 65 mm",
        ),
    ],
)
def test_a_post_that_does_not_fit_is_told_by_how_much(
    wall: str, passes: bool, told: str, tmp_path: Path
) -> None:
    found = seat_post(tmp_path, wall)
    assert found.passes is passes
    assert (*found.reasons, *found.notes)[0].startswith(told)


def test_a_head_tube_too_thin_to_be_reamed_is_told(tmp_path: Path) -> None:
    """EC34 wants a bore of 33.95 mm and a wall of 0.9: 35.5 mm outside leaves 0.775 of 1.0."""
    found = fits(tmp_path, more='\n[[tube]]\nname = "head tube"\nod = 35.5\nwall = 1.0\n')
    cup = found["lower cup"]
    assert cup.notes == (
        "ream 0.45 mm out of the bore, to 33.95 mm; that leaves a wall of 0.775 mm",
    )
    assert cup.reasons[0].startswith("reamed, the wall would be 0.775 mm, thinner than the 0.9 mm")


def test_a_misfit_fails_the_report_and_the_geometry_command(tmp_path: Path) -> None:
    begin = PICKED.index('name = "seat tube"')
    old = PICKED[begin : PICKED.index("[[tube]]", begin)]
    path = job(tmp_path, SEATED + PICKED.replace(old, seat_tube("0.6")), SHOP)
    said = frame3d.open(path).report.as_json()
    assert said["verdict"] == "fail"
    (bad,) = [line for line in said["fits"] if line["verdict"] == "fail"]  # type: ignore[attr-defined]
    assert bad["part"] == "seat post 27.2"
    result = CliRunner().invoke(main, ["geometry", str(path)])
    assert result.exit_code == 1
    assert "too big" in " ".join(result.output.split())
    shown = CliRunner().invoke(main, ["geometry", str(path), "--json"])
    assert shown.exit_code == 1
    assert json.loads(shown.output)["fits"] == said["fits"]


DROPOUT = """
[[plate]]
name = "{side} dropout"
outline = [[-20, -20], [20, -20], [20, 20], [-20, 20]]
thickness = 5
at = [{x}, {y}, 70]
slots = [{{ width = {width} }}]
"""


@pytest.mark.parametrize(
    ("hub", "y", "width", "reasons"),
    [
        ("130x10", 67.5, 10.2, []),
        ("135x10", 67.5, 10.2, ["5.00 mm too narrow: 130.00 mm, wanted are 135.00 mm"]),
        ("130x10", 67.5, 12.0, ["2.00 mm too wide: 12.00 mm, wanted are 10.00 mm"]),
        # 3.5 mm of a 142 mm hub stand in each dropout: the plates are 135 mm apart.
        ("142x12", 70.0, 12.0, []),
        # A thru axle holds in a bored hole, not in one as wide as a slot may be.
        ("142x12", 70.0, 12.95, ["0.95 mm too wide: 12.95 mm, wanted are 12.00 mm"]),
    ],
)
def test_hubs_are_held_against_the_dropouts(
    hub: str, y: float, width: float, reasons: list[str], tmp_path: Path
) -> None:
    x = -((430**2 - 70**2) ** 0.5)
    plates = "".join(
        DROPOUT.format(side=side, x=x, y=sign * y, width=width)
        for side, sign in (("left", 1), ("right", -1))
    )
    frame = load(tmp_path, NUMBERS.replace("130x10", hub) + PICKED + plates, SHOP)
    found = [fit for fit in frame.fits if fit.part.startswith("rear ")]
    assert [fit.part for fit in found] == [
        f"rear hub {hub}",
        *2 * [f"rear axle {hub.partition('x')[2]}"],
        *2 * ["rear axle, place"],
        "rear wheel, square",
    ]
    assert sorted({reason for fit in found for reason in fit.reasons}) == reasons
    stay = {"130x10": 67.5, "135x10": 70.0, "142x12": 70.0}[hub]  # in the middle of its plate
    assert frame.tube("left chain stay").end[1] == pytest.approx(stay)


@pytest.mark.parametrize(
    ("code", "ods"),
    [
        ("EC34/28.6 | EC34/30", {36.0}),
        ("ZS44/28.6 | EC44/40", {46.5}),  # straight: both cups want one size
        ("ZS44/28.6 | ZS56/40", {60.0, 46.5}),
        ("IS41/28.6 | IS52/40", {57.0, 46.0}),
    ],
)
def test_a_head_tube_that_follows_from_unlike_halves_fits_both(
    code: str, ods: set[float], tmp_path: Path
) -> None:
    frame = load(tmp_path, NUMBERS.replace("EC34/28.6 | EC34/30", code) + PICKED, SHOP)
    found = {fit.part: fit for fit in frame.fits}
    assert found["lower cup"].passes and found["upper cup"].passes
    head = frame.tube("head tube")
    assert set(head.od.value) == ods and float(head.od(0.0)) == max(ods)


def test_a_straight_steerer_does_not_fill_the_race_of_a_tapered_one(tmp_path: Path) -> None:
    numbers = NUMBERS.replace("EC34/28.6 | EC34/30", "ZS44/28.6 | EC44/40")
    numbers = numbers.replace('rear_hub = "130x10"', 'rear_hub = "130x10"\nfront_hub = "100x9"')
    fork = "".join(
        f'\n[[tube]]\nname = "{name}"\nod = {od}\nwall = {wall}\n'
        for name, od, wall in (("steerer", 28.6, 2.0), ("crown", 42.0, 2.0), ("fork blade", 24, 1))
    )
    found = {fit.part: fit for fit in load(tmp_path, numbers + PICKED + fork, SHOP).fits}
    assert found["headset, steerer"].passes
    (reason,) = found["crown race, steerer"].reasons
    assert "9.50 mm too small for the headset's 38.1 mm" in reason
