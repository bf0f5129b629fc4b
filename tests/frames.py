"""Frames of an invented shop, written out in code."""

from collections.abc import Mapping
from typing import Any

from frame3d.bicycle import Bicycle, BicycleTable
from frame3d.bicycle.geometry import read_bicycle
from frame3d.model import Frame, Joint, Limits, Profile, Saw, Shop, Tube

LIMITS = Limits(end_margin_mm=3.0, least_angle_deg=10.0, feather_mm=0.02, clash_mm3=1.0)


def tube(name: str, start, end, od: float, wall, material: str = "steel") -> Tube:
    profile = Profile.constant(wall) if isinstance(wall, float) else Profile.through(wall)
    return Tube(name, tuple(start), tuple(end), Profile.constant(od), profile, material)


def two_tubes(saw: float | None = 37.0, rail: str = "rail", post: str = "post") -> Frame:
    tubes = (
        tube(post, (0, 0, -100), (0, 0, 100), 36.0, 1.2),
        tube(rail, (0, 0, 0), (250, 0, 60), 28.575, 0.9),
    )
    joints = (Joint(rail, "start", (post,), (saw,)),)
    return Frame("two tubes", "fillet-braze", tubes, joints, LIMITS, Shop("x", (Saw(37.0),)))


def diamond() -> Frame:
    """A diamond frame: x forward, z up, the shell's centre at the origin."""
    butts = [(0, 0.9), (120, 0.9), (160, 0.6), (400, 0.6), (440, 0.9)]
    head_low, head_high = (377.0, 0.0, 421.0), (330.0, 0.0, 565.0)

    def on_head(share: float) -> tuple[float, float, float]:
        return tuple(
            low + share * (high - low) for low, high in zip(head_low, head_high, strict=True)
        )

    seat_top = (-160.0, 0.0, 550.0)

    def on_seat(share: float) -> tuple[float, float, float]:
        return tuple(share * value for value in seat_top)

    tubes = [
        tube("shell", (0, -34, 0), (0, 34, 0), 38.1, 1.8),
        tube("head tube", head_low, head_high, 36.4, 1.3),
        tube("seat tube", (0, 0, 0), seat_top, 28.6, [(0, 0.9), (100, 0.9), (140, 0.6)]),
        tube("top tube", on_seat(0.93), on_head(0.78), 28.6, butts),
        tube("down tube", (0, 0, 0), on_head(0.28), 31.8, butts),
        tube("stay bridge", (-205, -31, 460), (-205, 31, 460), 22.0, 1.0),
        tube("stay spine", on_seat(0.86), (-205, 0, 460), 22.0, 0.9),
    ]
    joints = [
        Joint("seat tube", "start", ("shell",), (38.5,)),
        Joint("top tube", "start", ("seat tube",), (29.0,)),
        Joint("top tube", "end", ("head tube",), (37.0,)),
        Joint("down tube", "start", ("shell", "seat tube"), (38.5, 29.0)),
        Joint("down tube", "end", ("head tube",), (37.0,)),
        Joint("stay spine", "start", ("seat tube",), (29.0,)),
        Joint("stay spine", "end", ("stay bridge",), (None,)),
    ]
    for side, y in (("left", 1.0), ("right", -1.0)):
        tubes += [
            tube(f"chain stay {side}", (0, 17 * y, 0), (-425, 62 * y, 72), 20.0, 0.8),
            tube(f"seat stay {side}", (-205, 17 * y, 460), (-425, 62 * y, 82), 16.0, 0.8),
        ]
        joints += [
            Joint(f"chain stay {side}", "start", ("shell",), (None,)),
            Joint(f"seat stay {side}", "start", ("stay bridge",), (None,)),
        ]
    return Frame("Heron, no. 12", "fillet-braze", tuple(tubes), tuple(joints), LIMITS)


# Names as a builder or a mischief-maker may write them.
HOSTILE = (
    "</script><script>window.pwned=1</script>",
    "<img src=x onerror=\"window.pwned=1\"> & 'quoted'",
    "trail 🚲 tube 😀",
    "צינור עליון",
    "الأنبوب العلوي",
    "long " * 39 + "name!",
    "$title ${data} %s {x} \\u003c <!-- <script>",
)


def hostile() -> Frame:
    """A post, and rails of all those names on it."""
    tubes = [tube("post", (0, 0, -400), (0, 0, 400), 36.0, 1.2)]
    joints = []
    for k, name in enumerate(HOSTILE):
        z = -300.0 + 90.0 * k
        tubes.append(tube(name, (0, 0, z), (250, 0, z), 28.6, 0.9))
        joints.append(Joint(name, "start", ("post",), (37.0,)))
    name = f"{HOSTILE[0]} <b>\"&' 🚲 שלום"
    return Frame(name, "fillet-braze", tuple(tubes), tuple(joints), LIMITS)


def bicycle_of(numbers: dict[str, Any], own: Mapping[str, Any] | None = None) -> Bicycle:
    """The bicycle of these numbers and parts, as a job's [bicycle] says them."""
    return read_bicycle(BicycleTable.model_validate(numbers), own)
