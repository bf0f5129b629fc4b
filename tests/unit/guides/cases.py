"""Tubes whose guides the tests prove: right-angled, leaning, skew, equal, two mates, shaped."""

from functools import cache

from frame3d.guides.plan import Printed, printed_guides
from frame3d.model import Bend, Frame, Joint, Limits, Oval, Printer, Profile, Shop, Tube

LIMITS = Limits(end_margin_mm=3.0, least_angle_deg=10.0, feather_mm=0.02, clash_mm3=1.0)


def tube(name, start, end, od, wall=0.9, **more):  # type: ignore[no-untyped-def]
    profile = od if isinstance(od, Profile) else Profile.constant(od)
    return Tube(name, start, end, profile, Profile.constant(wall), **more)


POST = tube("post", (0, 0, -200), (0, 0, 300), 36.0, 1.2)
MAST = tube("mast", (400, 0, -100), (480, 0, 300), 31.8, 1.2)
SIDE = tube("side", (400, -200, 10), (400, 300, 10), 40.0, 1.2)

SIDE_NEAR = tube("near side", (90, -200, 10), (90, 300, 10), 30.0, 1.2)

CASES: dict[str, tuple[tuple[Tube, ...], tuple[Joint, ...]]] = {
    "leaning": (
        (POST, MAST, tube("rail", (0, 0, 0), (422, 0, 60), 28.575)),
        (
            Joint("rail", "start", ("post",), (37.0,)),
            Joint("rail", "end", ("mast",), (None,)),
        ),
    ),
    "crossed": (
        (POST, SIDE, tube("beam", (0, 3, 20), (400, 30, 10), 25.4)),
        (Joint("beam", "start", ("post",), (None,)), Joint("beam", "end", ("side",), (None,))),
    ),
    "equal": (
        (POST, tube("twin", (0, 0, 40), (300, 0, 40), 36.0, 1.2)),
        (Joint("twin", "start", ("post",), (None,)),),
    ),
    "corner": (
        (
            POST,
            tube("sill", (0, 0, 0), (400, 0, 0), 30.0),
            tube("brace", (0, 0, 0), (250, 0, 200), 20.0),
            tube("lintel", (0, 0, 200), (400, 0, 200), 30.0),
        ),
        (
            Joint("brace", "start", ("post", "sill"), (None, None)),
            Joint("brace", "end", ("lintel",), (None,)),
        ),
    ),
    "tapered": (
        (
            POST,
            SIDE,
            tube("horn", (0, 0, 0), (400, 0, 10), Profile((0.0, 400.0), (28.0, 16.0))),
        ),
        (Joint("horn", "start", ("post",), (None,)), Joint("horn", "end", ("side",), (None,))),
    ),
    "onto tapered": (
        (
            tube("cone", (0, 0, -200), (0, 0, 300), Profile((100.0, 400.0), (40.0, 34.0)), 1.2),
            tube("stub", (0, 0, 0), (300, 0, 90), 25.4),
        ),
        (Joint("stub", "start", ("cone",), (None,)),),
    ),
    "onto bent": (
        (
            tube("bow", (0, -200, -60), (0, 200, -60), 30.0, 1.2, bends=(Bend((0, 0, 40), 120.0),)),
            tube("stub", (0, 5, 25.8), (300, 20, 90), 20.0),
        ),
        (Joint("stub", "start", ("bow",), (None,)),),
    ),
    "onto oval": (
        (
            tube(
                "blade",
                (0, 0, -200),
                (0, 0, 300),
                Profile((150.0, 350.0), (24.0, 40.0)),
                1.2,
                oval=Oval(Profile((150.0, 350.0), (34.0, 26.0)), 30.0),
            ),
            tube("stub", (0, 0, 0), (300, 0, 90), 22.0),
        ),
        (Joint("stub", "start", ("blade",), (None,)),),
    ),
    "tapered corner": (
        (
            tube("cone", (0, 0, -200), (0, 0, 300), Profile((100.0, 400.0), (40.0, 34.0)), 1.2),
            tube("sill", (0, 0, 0), (400, 0, 0), 30.0),
            tube("brace", (0, 0, 0), (250, 0, 200), 20.0),
        ),
        (Joint("brace", "start", ("cone", "sill"), (None, None)),),
    ),
    "bent": (
        (
            POST,
            SIDE,
            tube("arch", (0, 0, 0), (400, 0, 10), 25.4, bends=(Bend((200, 0, 60), 150.0),)),
        ),
        (Joint("arch", "start", ("post",), (None,)), Joint("arch", "end", ("side",), (None,))),
    ),
    "short": (
        (POST, SIDE_NEAR, tube("bridge", (0, 0, 0), (90, 3, 10), 14.0)),
        (
            Joint("bridge", "start", ("post",), (None,)),
            Joint("bridge", "end", ("near side",), (None,)),
        ),
    ),
    "spaced": (
        (
            POST,
            tube("strut", (142, -200, -70), (150, 300, 122), 31.8, 1.2),
            tube("spacer", (0, 2, 0), (145.3, 5, 8.72), 22.0),
        ),
        (
            Joint("spacer", "start", ("post",), (37.0,)),
            Joint("spacer", "end", ("strut",), (None,)),
        ),
    ),
    "oval": (
        (
            POST,
            SIDE,
            tube("wing", (0, 0, 0), (400, 0, 10), 24.0, oval=Oval(Profile.constant(16.0), 20.0)),
        ),
        (Joint("wing", "start", ("post",), (None,)), Joint("wing", "end", ("side",), (None,))),
    ),
}


def frame(case: str, printer: Printer | None = None) -> Frame:
    tubes, joints = CASES[case]
    shop = Shop(printer=printer or Printer())
    return Frame(f"case {case}", "fillet-braze", tubes, joints, LIMITS, shop)


@cache
def made(case: str, printer: Printer = Printer()) -> tuple[Printed, ...]:  # noqa: B008
    printed, refused = printed_guides(frame(case, printer))
    assert not refused, refused
    return tuple(printed)
