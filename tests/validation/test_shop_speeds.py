"""Speeds and edge finder by the handbook's arithmetic.

Machinery's Handbook, Cutting Speed Formulas (from memory of the chapter; exact as arithmetic):
n = 1000 V / (pi D). Machine Tool Speeds and Feeds (university shop handout): rpm = 3.8 sfpm / D.
Common practice, no source: 37 mm saw, 660 rpm, 0.003 in a revolution.
"""

import math

import pytest

from frame3d.mill.speeds import rpm_for, speeds
from frame3d.model import Mill, Saw
from frame3d.tables import rows


@pytest.mark.parametrize(("v", "d", "n"), [(30.0, 10.0, 954.93), (76.7, 37.0, 659.8)])
def test_rpm_is_1000_v_over_pi_d(v: float, d: float, n: float) -> None:
    assert rpm_for(v, d) == pytest.approx(n, abs=0.06)


@pytest.mark.parametrize("row", rows("cutting_speeds"), ids=lambda row: row["material"])
@pytest.mark.parametrize("inch", [0.75, 1.125, 1.5])
def test_rpm_agrees_with_the_handouts_shortcut(row: dict[str, str], inch: float) -> None:
    """3.8 stands for 12 / pi = 3.8197: half a per cent."""
    solid = speeds(Mill(), Saw(25.4 * inch), row["material"], 0.9, 30.0)[0]
    assert solid.wanted == pytest.approx(3.8 * float(row["solid_sfpm"]) / inch, rel=0.006)


def test_the_handouts_figures_stand_in_the_table() -> None:
    found = {row["material"]: float(row["solid_sfpm"]) for row in rows("cutting_speeds")}
    assert found == {"steel": 60, "titanium": 30, "aluminium": 250}


def test_common_practice_of_thin_steel_comes_out_as_practised() -> None:
    practice = speeds(Mill(), Saw(37.0), "steel", 0.9, 30.0)[-1]
    assert practice.step == 660
    assert practice.feed / 25.4 == pytest.approx(0.003, abs=1e-6)
    assert practice.rate / 25.4 == pytest.approx(1.98, abs=0.001)
    assert practice.minutes == pytest.approx(30.0 / (1.98 * 25.4), abs=0.005)
    surface = math.pi * 37.0 * 660 / 1000
    assert surface > 60 * 0.3048  # more than the handbook's for solid stock, as the table says
    assert "no source" in practice.source


def test_the_step_is_never_3_per_cent_above_the_wanted_speed_unless_it_is_the_slowest() -> None:
    for saw in (12.0, 19.0, 37.0, 60.0, 140.0, 400.0):
        for pace in speeds(Mill(), Saw(saw), "titanium", 0.9, 20.0):
            slowest = min(Mill().spindle_rpm)
            assert pace.step <= pace.wanted * 1.03 or pace.step == slowest
