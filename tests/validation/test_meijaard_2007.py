"""J. P. Meijaard et al., "Linearized dynamics equations for the balance and steer of a bicycle",
Proc. R. Soc. A 463 (2007) 1955, table 1: wheelbase 1.02 m, trail 0.08 m, steer axis tilt pi/10,
wheel radii 0.30 m (rear) and 0.35 m (front).
"""

import math

import pytest

from tests.frames import bicycle_of

TABLE_1 = {
    "rear_wheel_radius": 300,
    "front_wheel_radius": 350,
    "wheelbase": 1020,
    "head_tube_angle": 90 - math.degrees(math.pi / 10),
}
# The paper fixes no more than how the bicycle rolls; a frame around it, of our own.
FRAME = {
    "bb_drop": 20,
    "chain_stay_length": 440,
    "fork_length": 400,
    "head_tube_length": 160,
    "lower_headset_stack": 12,
    "seat_tube_angle": 72,
    "seat_tube_length": 520,
}


def test_trail_of_the_benchmark_bicycle_gives_its_rake_and_back() -> None:
    rake = 350 * math.cos(math.radians(72)) - 80 * math.sin(math.radians(72))
    from_trail = bicycle_of({**TABLE_1, **FRAME, "trail": 80}).geometry
    assert from_trail["rake"] == pytest.approx(rake, abs=1e-9)
    assert rake == pytest.approx(32.07, abs=0.005)
    from_rake = bicycle_of({**TABLE_1, **FRAME, "rake": rake}).geometry
    assert from_rake["trail"] == pytest.approx(80, abs=1e-9)


def test_trail_is_the_steering_axis_ahead_of_the_tyre_on_the_ground() -> None:
    geometry = bicycle_of({**TABLE_1, **FRAME, "trail": 80}).geometry
    nodes = geometry.nodes()
    (x, _, z), (along, _, up) = geometry.steering_axis()
    contact = nodes["front tyre on the ground"]
    meets_ground = x + (contact[2] - z) / up * along
    assert meets_ground - contact[0] == pytest.approx(80, abs=1e-9)
    assert contact[0] - nodes["rear tyre on the ground"][0] == pytest.approx(1020, abs=1e-9)
