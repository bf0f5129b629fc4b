"""Draws that a joint shares with its mirror image.

A frame's left and right tubes are mirror images; the shares and the care of their joints are the
same figures, and draws of their own would tell them as if they differed. So what is told of a joint
by itself is drawn by what each tube is to the joint, not by its name, and each draw is taken twice:
as it is, and as it looks in the mirror across the end's side direction.
"""

import numpy as np

from frame3d.model import Frame
from frame3d.surfaces.surface import Array
from frame3d.tolerance.setup_errors import Spreads
from frame3d.tolerance.simulate import Errors, Key, Targets, drawn
from frame3d.tolerance.target import Target

# What the mirror makes of each error's numbers; of the others nothing. A turn about a direction
# that lies in the mirror changes its sense, as does a shift out of it; a saw's tilt turns about a
# normal that itself is turned over.
IN_MIRROR: dict[str, list[float]] = {
    "centring": [-1.0],
    "deflection": [-1.0],
    "vise zero": [-1.0],
    "phase": [-1.0],
    "guide phase": [-1.0],
    "wobble": [1.0, -1.0, 1.0, -1.0],
    "straightness": [-1.0, 1.0],
}
BY_MATES_AXIS = ("gauge", "tilt", "centring", "deflection")  # whose sense is that of the normal


def drawn_alike(
    frame: Frame, tube: Targets, key: Key, spreads: Spreads, count: int, seed: int
) -> Errors:
    """Errors of `count` tubes, given by all their ends, as the end `key` shares them with its
    mirror images."""
    half = drawn(frame, tube, spreads, -(-count // 2), seed, called=_parts(frame, tube, key))
    return {
        one: {name: both_hands(tube[one], name, v)[:count] for name, v in own.items()}
        for one, own in half.items()
    }


def both_hands(target: Target, name: str, values: Array) -> Array:
    """Each of the errors `values` (N, numbers) followed by its mirror image: (2 N, numbers)."""
    if name in BY_MATES_AXIS:
        values = values * target.senses
    if name == "filing":  # cosines, then sines
        turned = np.repeat([1.0, -1.0], values.shape[1] // 2)
    else:
        turned = np.array(IN_MIRROR.get(name, [1.0]))
    return np.stack([values, values * turned], axis=1).reshape(-1, values.shape[1])


def _parts(frame: Frame, tube: Targets, key: Key) -> dict[str, str]:
    """What each tube and end by its name is to the end `key`."""
    called = {key[0]: "tube"}
    for one in sorted(tube, key=lambda one: one != key):
        where = "own" if one == key else "other"
        called[one[1]] = where
        joint = frame.joint_at(*one)
        assert joint is not None
        for place, mate in enumerate(joint.onto):
            called.setdefault(mate, f"{where} mate {place}")
    return called
