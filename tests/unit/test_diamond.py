"""A whole diamond frame from numbers: symmetrical, in place, and every joint closes."""

import re

import numpy as np
import pytest

from frame3d.bicycle.bicycle_error import BicycleError
from frame3d.bicycle.diamond import diamond
from frame3d.bicycle.geometry import Bicycle
from frame3d.bicycle.structure import Section, Structure
from frame3d.build import Build
from frame3d.jobs.bicycle_tables import ForkLayout, RearLayout
from frame3d.model import Frame, Limits, Oval, Profile
from frame3d.tables import row
from tests.frames import bicycle_of

BICYCLE = {
    "front_wheel": "32-622",
    "rear_wheel": "32-622",
    "headset": "EC34/28.6 | EC34/30",
    "shell": "ISO 68",
    "front_hub": "100x9",
    "rear_hub": "130x10",
    "bb_drop": 70,
    "chain_stay_length": 430,
    "head_tube_angle": 72.5,
    "rake": 45,
    "fork_length": 393,
    "stack": 580,
    "reach": 385,
    "seat_tube_angle": 73,
    "seat_tube_length": 540,
}
PLAIN = Section.plain
SECTIONS = {
    "head tube": PLAIN(36.0, 1.1),
    "top tube": PLAIN(28.6, 0.8),
    "down tube": PLAIN(31.8, 0.8),
    "seat tube": PLAIN(28.6, 0.7),
    "shell": PLAIN(38.1, 2.2),
    "chain stay": PLAIN(22.2, 0.8),
    "seat stay": PLAIN(16.0, 0.8),
    "chain stay bridge": PLAIN(12.7, 1.0),
    "seat stay bridge": PLAIN(12.7, 1.0),
    "steerer": PLAIN(28.6, 1.6),
    "crown": PLAIN(36.0, 2.0),
    "fork blade": PLAIN(24.0, 1.0),
}


def bicycle(**changed: object) -> Bicycle:
    return bicycle_of({**BICYCLE, **changed})


def as_frame(structure: Structure) -> Frame:
    keys = ("end_margin_mm", "least_angle_deg", "feather_mm", "clash_mm3")
    limits = Limits(**{key: float(row("check_limits", key)["value"]) for key in keys})
    return Frame("bicycle", "fillet-braze", structure.tubes, structure.joints, limits)


@pytest.mark.parametrize(
    "changed",
    [
        {},
        # small wheels, a tall head tube, a wide shell
        {
            "front_wheel": "50-406",
            "rear_wheel": "50-406",
            "fork_length": 330,
            "shell": "ISO 73",
            "bb_drop": -20,
            "rear_hub": "135x10",
        },
        # a head tube so short that top and down tube share it
        {"stack": 522, "seat_tube_length": 500},
    ],
)
def test_every_joint_of_the_frame_closes_and_nothing_clashes(changed: dict[str, object]) -> None:
    structure = diamond(bicycle(**changed), {**SECTIONS, "seat stay": PLAIN(14.0, 0.8)})
    report = Build(as_frame(structure)).report
    assert len(structure.tubes) == 15
    assert len(structure.joints) == 16
    assert {(j.joint.tube, j.joint.end): j.reasons for j in report.joints if j.reasons} == {}
    assert report.passes


def test_tubes_that_would_share_metal_are_coped_onto_each_other() -> None:
    def onto(structure: Structure, end: str) -> tuple[str, ...]:
        return next(j.onto for j in structure.joints if j.tube == "down tube" and j.end == end)

    usual = diamond(bicycle(), SECTIONS)
    assert onto(usual, "start") == ("shell", "seat tube")
    assert onto(usual, "end") == ("head tube",)
    short = diamond(bicycle(stack=522, seat_tube_length=500), SECTIONS)
    assert onto(short, "end") == ("head tube", "top tube")


def test_left_and_right_mirror_each_other() -> None:
    tubes = {tube.name: tube for tube in diamond(bicycle(), SECTIONS).tubes}
    for kind in ("chain stay", "seat stay", "fork blade"):
        left, right = tubes[f"left {kind}"], tubes[f"right {kind}"]
        for one, other in ((left.start, right.start), (left.end, right.end)):
            assert one == (other[0], -other[1], other[2])
            assert one[1] > 0


def test_stays_and_blades_point_at_the_axles_as_given() -> None:
    made = bicycle()
    structure = diamond(made, SECTIONS, RearLayout(), ForkLayout())
    tubes = {tube.name: tube for tube in structure.tubes}
    assert structure.dropouts["left rear"][1] == 67.5
    assert structure.dropouts["right front"][1] == -52.5
    for name, setback in (("chain stay", 35), ("seat stay", 30), ("fork blade", 30)):
        tube = tubes[f"left {name}"]
        dropout = structure.dropouts["left front" if name == "fork blade" else "left rear"]
        assert np.linalg.norm(np.subtract(dropout, tube.end)) == pytest.approx(setback, abs=1e-9)
        assert tube.end[1] == dropout[1]
        side = np.subtract(tube.end, tube.start)[[0, 2]]
        left_over = np.subtract(dropout, tube.end)[[0, 2]]
        assert abs(np.cross([*side, 0], [*left_over, 0])[2]) < 1e-6


def test_bridges_keep_their_distance_from_the_tyre() -> None:
    made = bicycle()
    tubes = {tube.name: tube for tube in diamond(made, SECTIONS, RearLayout(bridge_gap=9)).tubes}
    axle = made.geometry.nodes()["rear axle"]
    for name in ("chain stay bridge", "seat stay bridge"):
        bridge = tubes[name]
        away = np.hypot(bridge.start[0] - axle[0], bridge.start[2] - axle[2])
        assert away == pytest.approx(343 + 9 + 12.7 / 2, abs=1e-9)
        stay = tubes[f"left {name.removesuffix(' bridge')}"]
        along = np.subtract(stay.end, stay.start)
        off = np.subtract(bridge.start, stay.start)
        assert np.linalg.norm(np.cross(along, off)) / np.linalg.norm(along) < 1e-9


def test_tapered_stays_thick_in_the_middle_find_room_at_the_seat_tube() -> None:
    tapered = Section(
        Profile.through([(0, 14.0), (60, 14.0), (160, 19.0), (300, 19.0), (460, 12.0)]),
        Profile.constant(0.8),
    )
    diamond(bicycle(), {**SECTIONS, "seat stay": tapered})
    with pytest.raises(
        BicycleError, match=r"seat stays of 19 mm do not both land .* 3\.01 mm too far out"
    ):
        diamond(bicycle(), {**SECTIONS, "seat stay": PLAIN(19.0, 0.8)})


def outermost(od: float) -> float:
    """How far from the seat tube's axis the outermost line of a plain left seat stay passes."""
    tubes = {t.name: t for t in diamond(bicycle(), {**SECTIONS, "seat stay": PLAIN(od, 0.8)}).tubes}
    stay, seat = tubes["left seat stay"], tubes["seat tube"]
    square = np.cross(np.subtract(stay.end, stay.start), np.subtract(seat.end, seat.start))
    between = np.subtract(stay.start, seat.start) @ square / np.linalg.norm(square)
    return float(abs(between)) + od / 2


def test_stays_are_told_too_thick_by_just_what_their_outer_lines_are_too_far_out() -> None:
    """On a 28.6 mm seat tube 14.3 - 0.2 mm is the most; what a stay is thicker by moves its axis
    and its outer line alike, so that thinner ones tell by a straight line where thicker ones are
    refused, and by how much. Seats at the most are whole: every line of the stay lands."""
    slope = outermost(16.0) - outermost(15.0)
    limit = 16.0 + (14.1 - outermost(16.0)) / slope
    made = bicycle()
    assert outermost(limit - 0.004) == pytest.approx(14.1, abs=0.005)
    for thicker, told in ((0.012, "0.01"), (0.1, "0.10"), (1.0, "1.02")):
        stays = {**SECTIONS, "seat stay": PLAIN(limit + thicker, 0.8)}
        at = f"{14.1 + float(told):.2f} mm; 14.10 mm is the most, .*: {told} mm too far out"
        with pytest.raises(BicycleError, match=at):
            diamond(made, stays)


@pytest.mark.parametrize(
    ("changed", "sections", "message"),
    [
        ({"chain_stay_length": 385}, {}, "chain stay bridge finds no room"),
        ({}, {"chain stay": PLAIN(30.0, 0.8)}, "chain stays of 30 mm find no room"),
        ({"front_wheel": "62-622"}, {}, "fork_length leaves"),
        ({}, {"chain stays": PLAIN(22.2, 0.8)}, 'no tube "chain stays"'),
    ],
)
def test_a_frame_without_room_is_refused(
    changed: dict[str, object], sections: dict[str, Section], message: str
) -> None:
    with pytest.raises(BicycleError, match=message):
        diamond(bicycle(**changed), {**SECTIONS, **sections})


def test_chain_stays_that_only_their_gap_keeps_apart_are_told_the_gap_that_would_do() -> None:
    """22.2 mm on a shell of 68 with a margin wide enough that half the gap is what is lacking."""
    chain_stays = {name: own for name, own in SECTIONS.items() if "seat stay" not in name}

    def tried(gap: float) -> str:
        try:
            diamond(bicycle(), chain_stays, RearLayout(shell_margin=8.0, stay_gap=gap))
        except BicycleError as error:
            assert error.key == "stay_gap"
            return str(error)
        return ""

    told = re.search(r"stay_gap = ([0-9.]+) or less would do", tried(4.0))
    assert told is not None
    most = float(told[1])
    assert tried(most) == ""
    assert "would do" in tried(most + 0.05)


def test_oval_stays_keep_the_room_of_their_longer_way() -> None:
    oval = Section(
        Profile.constant(19.0), Profile.constant(0.8), oval=Oval(Profile.constant(25.0), 0.0)
    )
    made = {t.name: t for t in diamond(bicycle(), {**SECTIONS, "chain stay": oval}).tubes}
    round_ones = diamond(bicycle(), {**SECTIONS, "chain stay": PLAIN(25.0, 0.8)}).tubes
    assert made["left chain stay"].oval == oval.oval
    assert made["left chain stay"].start in [tube.start for tube in round_ones]


def test_what_is_not_picked_is_named_or_left_out() -> None:
    bare = {k: v for k, v in SECTIONS.items() if k not in ("crown", "steerer", "fork blade")}
    bare.pop("seat stay bridge")
    names = [tube.name for tube in diamond(bicycle(), bare).tubes]
    assert len(names) == 10
    assert "crown" not in names
    assert "seat stay bridge" not in names
    with pytest.raises(BicycleError, match="no tube is picked for steerer and fork blade"):
        diamond(bicycle(), {**bare, "crown": SECTIONS["crown"]})
    without_hub = bicycle_of({k: v for k, v in BICYCLE.items() if k != "rear_hub"})
    with pytest.raises(BicycleError, match="rear_hub is missing"):
        diamond(without_hub, SECTIONS)
