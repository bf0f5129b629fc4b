"""Two frames worked out on paper: plane trigonometry, nothing of the project in the figures."""

import math

import pytest

from frame3d.bicycle.handling import handling, head_and_fork, jig_table, standover
from frame3d.bicycle.structure import Section
from tests.frames import bicycle_of

MICRON = 1e-3


def close(got: object, wanted: object) -> bool:
    return bool(got == pytest.approx(wanted, abs=MICRON))


# The first frame has only whole-number triangles, so that every node is a terminating decimal:
#   chain stay 410, BB drop 90      -> rear axle 400 back            (9, 40, 41)
#   head tube angle with cos 7/25, sin 24/25                         (7, 24, 25)
#   fork 340, rake 52               -> 336 along the steering axis   (13, 84, 85)
#   seat tube angle with cos 5/13, sin 12/13                         (5, 12, 13)
# Along the steering axis from the axle's foot to the top: 336 + 14 + 150 = 500.
WHOLE = {
    "rear_wheel_radius": 300,
    "front_wheel_radius": 300,
    "bb_drop": 90,
    "chain_stay_length": 410,
    "head_tube_angle": math.degrees(math.atan2(24, 7)),
    "seat_tube_angle": math.degrees(math.atan2(12, 5)),
    "fork_length": 340,
    "rake": 52,
    "lower_headset_stack": 14,
    "head_tube_length": 150,
    "reach": 400,
    "seat_tube_length": 520,
    "seat_tube_above_top_tube": 39,
    "head_tube_above_top_tube": 50,
    "head_tube_below_down_tube": 25,
    "seat_stays_below_top_tube": 26,
}
WHOLE_NODES = {
    "shell": (0, 0),
    "rear axle": (-400, 90),
    "front axle": (589.92, 90),  # 400 + 500 * 7/25 + 52 * 24/25
    "rear tyre on the ground": (-400, -210),
    "front tyre on the ground": (589.92, -210),
    "head tube, upper end": (400, 555.44),  # 90 - 52 * 7/25 + 500 * 24/25
    "head tube, lower end": (442, 411.44),  # 150 * (7/25, -24/25) on
    "crown race seat": (445.92, 398),  # 14 more
    "top tube on head tube": (414, 507.44),  # 50 down from the top
    "down tube on head tube": (435, 435.44),  # 25 up from the bottom
    "seat tube, upper end": (-200, 480),  # 520 * (-5/13, 12/13)
    "top tube on seat tube": (-185, 444),  # 481
    "seat stays on seat tube": (-175, 420),  # 455
}


def test_every_node_of_the_frame_of_whole_triangles() -> None:
    nodes = bicycle_of(WHOLE).geometry.nodes()
    assert nodes.keys() == WHOLE_NODES.keys()
    for name, (x, z) in WHOLE_NODES.items():
        assert close(nodes[name], (x, 0, z)), name


def test_measures_of_the_frame_of_whole_triangles() -> None:
    geometry = bicycle_of(WHOLE).geometry
    assert close(geometry["stack"], 555.44)
    assert close(geometry["wheelbase"], 989.92)
    assert close(geometry["shell_height"], 210)
    assert close(geometry["trail"], (300 * 7 / 25 - 52) * 25 / 24)
    assert close(geometry["effective_top_tube"], 400 + 555.44 * 5 / 12)
    assert close(geometry["front_centre"], math.sqrt(589.92**2 + 90**2))
    assert close(geometry["top_tube_length"], math.sqrt(599**2 + 63.44**2))
    assert close(geometry["top_tube_slope"], math.degrees(math.atan(63.44 / 599)))
    assert close(geometry["seat_tube_centre_to_centre"], 481)
    assert close(geometry["down_tube_length"], math.sqrt(435**2 + 435.44**2))
    steering = handling(geometry)
    assert close(steering.mechanical_trail, 300 * 7 / 25 - 52)
    assert close(steering.wheel_flop, 32 * 7 / 25)
    assert close(head_and_fork(geometry).fork_along, 336)
    assert close(head_and_fork(geometry).head_to_axle, 350)
    # Middle of the top tube's axis (507.44 + 444) / 2 high; half its outside, square to it.
    upper = 14 * math.sqrt(599**2 + 63.44**2) / 599
    at = geometry.nodes()
    axis = at["top tube on seat tube"], at["top tube on head tube"]
    top = Section.plain(28.0, 0.8).tube("top tube", *axis)
    assert close(standover(top, geometry["shell_height"]), 475.72 + upper + 210)


def test_jig_table_of_the_frame_of_whole_triangles() -> None:
    jig = jig_table(bicycle_of(WHOLE).geometry)
    slope = math.degrees(math.atan(63.44 / 599))
    head = math.degrees(math.atan2(24, 7))
    seat = math.degrees(math.atan2(12, 5))
    down = math.degrees(math.atan2(435.44, 435))
    assert close(jig.angles["top tube, head tube"], head + slope)
    assert close(jig.angles["top tube, seat tube"], seat + slope)
    assert close(jig.angles["down tube, head tube"], 180 - head - down)
    assert close(jig.angles["down tube, seat tube"], 180 - seat - down)
    assert close(jig.angles["chain stays, seat tube"], seat - math.degrees(math.atan2(90, 400)))
    assert close(jig.lengths["chain stays"], 410)
    assert close(jig.lengths["seat stays"], math.sqrt(225**2 + 330**2))


# The second: wheels of two sizes, said by wheelbase, trail, shell height, stack and slope.
MIXED = {
    "rear_wheel": "32-622",
    "front_wheel": "50-406",
    "shell_height": 280,
    "chain_stay_length": 440,
    "wheelbase": 1030,
    "trail": 55,
    "stack": "610 mm",
    "head_tube_angle": 71,
    "seat_tube_angle": 72.5,
    "fork_length": 330,
    "lower_headset_stack": 12,
    "seat_tube_length": 560,
    "seat_tube_above_top_tube": 40,
    "top_tube_slope": 10,
    "head_tube_below_down_tube": 30,
    "seat_stays_below_top_tube": 15,
}


def test_every_node_of_the_frame_with_two_sizes_of_wheel() -> None:
    rear_radius, front_radius = 622 / 2 + 32, 406 / 2 + 50  # 343, 253
    cos_h, sin_h = math.cos(math.radians(71)), math.sin(math.radians(71))
    cos_s, sin_s = math.cos(math.radians(72.5)), math.sin(math.radians(72.5))
    drop = rear_radius - 280
    rear = (-math.sqrt(440**2 - drop**2), drop)
    front = (rear[0] + 1030, -280 + front_radius)
    rake = front_radius * cos_h - 55 * sin_h
    along = math.sqrt(330**2 - rake**2)
    foot = (front[0] - rake * sin_h, front[1] - rake * cos_h)
    race = (foot[0] - along * cos_h, foot[1] + along * sin_h)
    bottom = (race[0] - 12 * cos_h, race[1] + 12 * sin_h)
    head_length = (610 - bottom[1]) / sin_h
    top = (bottom[0] - head_length * cos_h, 610)
    rear_top = (-520 * cos_s, 520 * sin_s)
    # The top tube rises by tan 10 forward; the head tube's axis falls by tan 71. Equal heights:
    rise, fall = math.tan(math.radians(10)), math.tan(math.radians(71))
    x = (610 + top[0] * fall - rear_top[1] + rear_top[0] * rise) / (rise + fall)
    front_top = (x, rear_top[1] + (x - rear_top[0]) * rise)

    geometry = bicycle_of(MIXED).geometry
    assert close(geometry["rake"], rake)
    assert close(geometry["head_tube_length"], head_length)
    wanted = {
        "shell": (0, 0),
        "rear axle": rear,
        "front axle": front,
        "rear tyre on the ground": (rear[0], -280),
        "front tyre on the ground": (front[0], -280),
        "crown race seat": race,
        "head tube, lower end": bottom,
        "head tube, upper end": top,
        "top tube on head tube": front_top,
        "down tube on head tube": (bottom[0] - 30 * cos_h, bottom[1] + 30 * sin_h),
        "seat tube, upper end": (-560 * cos_s, 560 * sin_s),
        "top tube on seat tube": rear_top,
        "seat stays on seat tube": (-505 * cos_s, 505 * sin_s),
    }
    nodes = geometry.nodes()
    assert nodes.keys() == wanted.keys()
    for name, (x, z) in wanted.items():
        assert close(nodes[name], (x, 0, z)), name
