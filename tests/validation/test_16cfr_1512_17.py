"""16 CFR 1512.17: (c) pedal lean, at least 25 degrees; (d) toe clearance, at least 89 mm."""

import math
from typing import Any

import numpy as np
import pytest

from frame3d.bicycle.geometry import Geometry
from frame3d.bicycle.toe_clearance import Pedal, pedal_lean_angle, toe_clearance
from frame3d.tables import row
from tests.frames import bicycle_of

FRAME = {
    "rear_wheel_radius": 343,
    "front_wheel_radius": 343,
    "bb_drop": 70,
    "chain_stay_length": 430,
    "head_tube_angle": 72,
    "rake": 50,
    "fork_length": 393,
    "head_tube_length": 150,
    "lower_headset_stack": 12,
    "wheelbase": 1000,
    "seat_tube_angle": 73,
    "seat_tube_length": 540,
}


def geometry(**changed: object) -> Geometry:
    return bicycle_of({**FRAME, **changed}).geometry


def test_limits_are_those_of_the_rule() -> None:
    assert (
        row("clearance_limits", "toe")["limit"],
        row("clearance_limits", "pedal_lean")["limit"],
    ) == (
        "89",
        "25",
    )


def test_toe_clearance_without_rake_is_to_a_ball() -> None:
    """Axle on the steering axis: the turning wheel fills a ball about the axle. By hand: axle at
    x = 1000 - sqrt(430^2 - 70^2) = 575.736, z = 70; pedal at 170, 110 out, level with the shell:
    405.736 - sqrt(343^2 - 110^2 - 70^2) = 405.736 - sqrt(100649) =
    405.736 - 317.252 = 88.484, short of 89: toe overlap by the rule."""
    found = toe_clearance(geometry(rake=0), (170, 110, 0), width=32)
    axle = 1000 - math.sqrt(430**2 - 70**2)
    assert found.distance == pytest.approx(
        axle - 170 - math.sqrt(343**2 - 110**2 - 70**2), abs=1e-9
    )
    assert found.distance == pytest.approx(88.484, abs=0.001)


def test_toe_clearance_with_a_vertical_steering_axis() -> None:
    """Pedal as high as the axle: the wheel's hindmost point runs on a circle of R - rake about the
    steering axis, and meets the pedal's line sqrt((R - rake)^2 - y^2) behind the axis."""
    frame = geometry(head_tube_angle=90, rake=50)
    axle = frame.nodes()["front axle"]
    found = toe_clearance(frame, (100, 120, axle[2]), width=40)
    behind = math.sqrt((343 - 50) ** 2 - 120**2)
    assert found.distance == pytest.approx(axle[0] - 50 - behind - 100, abs=1e-9)
    assert found.turn == pytest.approx(-math.degrees(math.asin(120 / 293)), abs=1e-9)


def marched(
    frame: Geometry, pedal: tuple[float, float, float], width: float, most: float
) -> tuple[float, float]:
    """The same by brute force: march along the line towards each of thousands of turned tyres, by
    the distance to a torus; then again, finer, about the worst turn."""
    head = math.radians(frame["head_tube_angle"])
    axle = frame.nodes()["front axle"]
    up = np.array([-math.cos(head), 0.0, math.sin(head)])
    ahead = np.array([math.sin(head), 0.0, math.cos(head)])
    left = np.array([0.0, 1.0, 0.0])
    foot = np.array(axle) - frame["rake"] * ahead
    low, high = -math.radians(most), math.radians(most)
    for _ in range(4):
        turns = np.linspace(low, high, 2001)
        forward = np.cos(turns)[:, None] * ahead + np.sin(turns)[:, None] * left
        hub = foot + frame["rake"] * forward
        axis = np.cross(up, forward)
        way = np.zeros(len(turns))
        for _ in range(300):
            point = np.array(pedal) + way[:, None] * [1.0, 0.0, 0.0] - hub
            side = np.einsum("ij,ij->i", point, axis)
            plane = np.linalg.norm(point - side[:, None] * axis, axis=1)
            core = frame["front_wheel_radius"] - width / 2
            way = np.where(way < 3000, way + np.hypot(plane - core, side) - width / 2, way)
        worst = int(np.argmin(way))
        window = (high - low) / 40
        low, high = max(low, turns[worst] - window), min(high, turns[worst] + window)
    return float(way[worst]), math.degrees(turns[worst])


@pytest.mark.parametrize(
    ("pedal", "width", "most", "changed"),
    [
        ((170, 110, 0), 32, 90, {}),
        ((170, -110, 0), 32, 90, {}),
        ((165, 150, -40), 58, 90, {"head_tube_angle": 68, "rake": 40}),
        ((172.5, 95, 30), 25, 20, {}),  # the bar's stop before the worst turn: the last tyre counts
        ((120, 60, -90), 40, 12, {"rake": -15}),
        ((175, 100, 20), 47, 90, {"rear_wheel_radius": 330, "front_wheel_radius": 250}),
    ],
)
def test_toe_clearance_agrees_with_brute_force(
    pedal: tuple[float, float, float], width: float, most: float, changed: dict[str, Any]
) -> None:
    frame = geometry(**changed)
    found = toe_clearance(frame, pedal, width, largest_turn=most)
    distance, turn = marched(frame, pedal, width, most)
    assert 0 < distance < 1000
    assert found.distance == pytest.approx(distance, abs=1e-6)
    assert found.turn == pytest.approx(turn, abs=0.01)


def test_a_mudguard_takes_its_own_radius() -> None:
    bare = toe_clearance(geometry(rake=0), (170, 110, 0), width=32)
    guarded = toe_clearance(geometry(rake=0), (170, 110, 0), width=45, radius=360)
    by_hand = math.sqrt(360**2 - 110**2 - 70**2) - math.sqrt(343**2 - 110**2 - 70**2)
    assert bare.distance - guarded.distance == pytest.approx(by_hand, abs=1e-9)


def test_a_pedal_inside_the_tyre_has_no_clearance_and_one_beside_the_wheel_all() -> None:
    axle = geometry().nodes()["front axle"]
    assert toe_clearance(geometry(), (axle[0] - 330, 0, axle[2]), 32).distance == 0
    assert toe_clearance(geometry(), (170, 500, 0), 32).distance == math.inf


PEDAL = Pedal(crank_length=170, centre=110, outer=155, below=12)


def test_pedal_lean_with_thin_tyres_is_a_right_triangle() -> None:
    """Shell 273 high, pedal's corner 273 - 170 - 12 = 91 above the ground and 155 out."""
    lean = pedal_lean_angle(geometry(), PEDAL, front_width=1e-9, rear_width=1e-9)
    assert lean == pytest.approx(math.degrees(math.atan2(91, 155)), abs=1e-6)


def test_pedal_lean_on_round_tyres_of_one_width() -> None:
    """Rolled on the section's radius 20, whose centre is 71 lower than the corner upright:
    155 sin f - (91 - 20) cos f = 20, so f = atan(71 / 155) + asin(20 / hypot(71, 155))."""
    lean = pedal_lean_angle(geometry(), PEDAL, front_width=40, rear_width=40)
    wanted = math.atan2(71, 155) + math.asin(20 / math.hypot(71, 155))
    assert lean == pytest.approx(math.degrees(wanted), abs=1e-9)
    assert lean > 25


def test_pedal_lean_on_two_widths_agrees_with_dense_tyres() -> None:
    """Roll the bicycle onto points of both tyres and of the pedal's corner, bisecting the lean at
    which the lowest tyre points leave the corner on the ground."""
    frame = geometry(front_wheel_radius=350)
    around, section = np.meshgrid(
        np.linspace(-1.8, -1.3, 301), np.linspace(0, math.pi / 2, 301), indexing="ij"
    )

    def tyre(node: str, radius: float, width: float) -> np.ndarray[Any, Any]:
        reach = radius - width / 2 + width / 2 * np.cos(section)
        x, _, z = frame.nodes()[node]
        points = [
            x + reach * np.cos(around),
            width / 2 * np.sin(section),
            z + reach * np.sin(around),
        ]
        return np.stack(points, axis=-1).reshape(-1, 3)

    front, rear = tyre("front axle", 350, 60), tyre("rear axle", 343, 30)
    corner = np.array([0.0, 155.0, -182.0])

    def over_ground(lean: float) -> float:
        """Height of the corner over the plane under both tyres, at this lean."""
        low, high = -0.2, 0.2
        for _ in range(30):
            pitch = (low + high) / 2
            normal = np.array(
                [
                    math.sin(pitch) * math.cos(lean),
                    math.sin(lean),
                    -math.cos(pitch) * math.cos(lean),
                ]
            )
            front_reach, rear_reach = (front @ normal).max(), (rear @ normal).max()
            low, high = (pitch, high) if front_reach < rear_reach else (low, pitch)
        return float(rear_reach - corner @ normal)

    low, high = math.radians(20), math.radians(50)
    for _ in range(25):
        middle = (low + high) / 2
        low, high = (middle, high) if over_ground(middle) > 0 else (low, middle)
    lean = pedal_lean_angle(frame, PEDAL, front_width=60, rear_width=30)
    assert lean == pytest.approx(math.degrees(low), abs=1e-4)
