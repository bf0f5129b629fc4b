"""Small invented frames, in code, that several tests share."""

import numpy as np

from frame3d.model import Frame, Joint, Limits, Profile, Saw, Shop, Tube

LIMITS = Limits(end_margin_mm=3.0, least_angle_deg=10.0, feather_mm=0.02, clash_mm3=1.0)
SHOP = Shop("test shop", (Saw(29.0), Saw(37.0)))


def tube(name, start, end, od, wall, material="steel") -> Tube:
    """Wall: a number, mm, or (distance, wall) pairs."""
    profile = Profile.constant(wall) if isinstance(wall, int | float) else Profile.through(wall)
    return Tube(
        name,
        tuple(float(c) for c in start),
        tuple(float(c) for c in end),
        Profile.constant(od),
        profile,
        material,
    )


def frame(name, tubes, joints, process="fillet-braze") -> Frame:
    """Joints: (tube, end, {mate: saw or None})."""
    made = [Joint(t, e, tuple(onto), tuple(onto.values())) for t, e, onto in joints]
    return Frame(name, process, tuple(tubes), tuple(made), LIMITS, SHOP)


def pair(od, wall, mate_od, angle, saw=None, offset=0.0, length=250.0) -> Frame:
    """A rail, from the middle of an upright post, at `angle` degrees to it, `offset` mm aside."""
    b = np.radians(angle)
    tip = np.array([np.sin(b), 0.0, np.cos(b)]) * length
    post = tube("post", (0, offset, -300), (0, offset, 300), mate_od, 1.2)
    rail = tube("rail", (0, 0, 0), tip, od, wall)
    return frame("pair", [post, rail], [("rail", "start", {"post": saw})])


def diamond() -> Frame:
    """A straight-tube diamond frame: butted main tubes, two-tube cope of the seat tube's mates."""
    bottom, seat_top = (0, 0, 0), (-170, 0, 480)
    head_low, head_high = (430, 0, 370), (390, 0, 500)
    axle = (-410, 62, 70)
    butts = [[0, 0.9], [80, 0.9], [130, 0.6], [400, 0.6], [450, 0.9]]
    head_at = (414, 0, 422)
    tubes = [
        tube("shell", (0, -34, 0), (0, 34, 0), 40.0, 2.0),
        tube("head tube", head_low, head_high, 36.0, 1.1),
        tube("seat tube", bottom, seat_top, 28.6, [[0, 0.9], [60, 0.9], [100, 0.6]]),
        tube("top tube", (-150, 0, 423.529), (396, 0, 480.5), 28.6, butts),
        tube("down tube", bottom, head_at, 31.8, butts),
        tube("left seat stay", (-156, 4, 440), (-410, 62, 80), 16.0, 0.8),
        tube("right seat stay", (-156, -4, 440), (-410, -62, 80), 16.0, 0.8),
        tube("left chain stay", (-2, 22, 0), axle, 22.2, 0.8),
        tube("right chain stay", (-2, -22, 0), (-410, -62, 70), 22.2, 0.8),
    ]
    joints = [
        ("seat tube", "start", {"shell": 41.0}),
        ("down tube", "start", {"shell": 41.0, "seat tube": 29.0}),
        ("down tube", "end", {"head tube": 37.0}),
        ("top tube", "start", {"seat tube": 29.0}),
        ("top tube", "end", {"head tube": 37.0}),
        ("left seat stay", "start", {"seat tube": None}),
        ("right seat stay", "start", {"seat tube": None}),
        ("left chain stay", "start", {"shell": None}),
        ("right chain stay", "start", {"shell": None}),
    ]
    return frame("diamond", tubes, joints)
