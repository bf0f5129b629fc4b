"""A diamond frame's tubes and joints, from its geometry and the sections that the builder picks.

Axes of the main triangle lie in the middle plane. Head tube, shell and crown run through; seat tube
onto the shell, top tube onto seat tube and head tube, down tube onto shell and head tube and, where
they would share metal, onto the seat tube and the top tube too.
"""

from collections.abc import Mapping

from frame3d.bicycle.bicycle_error import BicycleError, listed
from frame3d.bicycle.fork import fork
from frame3d.bicycle.geometry import Bicycle
from frame3d.bicycle.rear import rear_triangle
from frame3d.bicycle.structure import Section, Structure, cope, share_metal
from frame3d.jobs.bicycle_tables import ForkLayout, RearLayout

MAIN = ("head tube", "top tube", "down tube", "seat tube", "shell")
STAYS = ("chain stay", "seat stay")
BRIDGES = ("chain stay bridge", "seat stay bridge")
FORK = ("steerer", "crown", "fork blade")
MUST = ("head tube", "down tube", "seat tube", "shell", "chain stay")
SECTIONS = (*MAIN, *STAYS, *BRIDGES, *FORK)


def diamond(
    bicycle: Bicycle,
    sections: Mapping[str, Section],
    rear: RearLayout | None = None,
    front: ForkLayout | None = None,
) -> Structure:
    """Every tube of a diamond frame and its joints.

    sections: by the names of SECTIONS, stays and blades once for both sides; the top tube, the
              seat stays, a bridge or the whole fork that has none is left out
    Raises BicycleError where a part is not named or the tubes cannot stand like that.
    """
    _check(bicycle, sections)
    at = bicycle.geometry.nodes()
    width = bicycle.shell.width if bicycle.shell else 0.0
    head = sections["head tube"].tube(
        "head tube", at["head tube, lower end"], at["head tube, upper end"]
    )
    shell = sections["shell"].tube("shell", (0.0, -width / 2, 0.0), (0.0, width / 2, 0.0))
    seat = sections["seat tube"].tube("seat tube", at["shell"], at["seat tube, upper end"])
    down = sections["down tube"].tube("down tube", at["shell"], at["down tube on head tube"])

    below = ["shell", *(["seat tube"] if share_metal(down, seat, shell) else [])]
    ahead = ["head tube"]
    tubes = [head, shell, seat]
    joints = [cope("seat tube", "start", "shell")]
    if "top tube" in sections:
        front_end, rear_end = at["top tube on head tube"], at["top tube on seat tube"]
        top = sections["top tube"].tube("top tube", rear_end, front_end)
        tubes.append(top)
        joints += [cope("top tube", "start", "seat tube"), cope("top tube", "end", "head tube")]
        ahead += ["top tube"] if share_metal(down, top, head) else []
    tubes.append(down)
    joints += [cope("down tube", "start", *below), cope("down tube", "end", *ahead)]
    parts = [rear_triangle(bicycle, sections, shell, seat, rear or RearLayout())]
    if "steerer" in sections:
        parts.append(fork(bicycle, sections, front or ForkLayout()))
    return Structure(
        (*tubes, *(t for part in parts for t in part.tubes)),
        (*joints, *(j for part in parts for j in part.joints)),
        {name: point for part in parts for name, point in part.dropouts.items()},
    )


def _check(bicycle: Bicycle, sections: Mapping[str, Section]) -> None:
    unknown = [name for name in sections if name not in SECTIONS]
    if unknown:
        raise BicycleError(
            f'a diamond frame has no tube "{unknown[0]}"; it has {listed(SECTIONS)}', unknown[0]
        )
    wanted = [*MUST, *(FORK if any(name in sections for name in FORK) else ())]
    missing = [name for name in wanted if name not in sections]
    if missing:
        raise BicycleError(f"no tube is picked for {listed(missing)}", missing[0])
    parts = ["shell", "rear_hub", "rear_wheel"]
    if "steerer" in sections:
        parts += ["front_hub", "front_wheel"]
    for part in parts:
        if getattr(bicycle, part) is None:
            raise BicycleError(f"{part} is missing: the tubes stand by it", part)
