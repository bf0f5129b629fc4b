"""Tubes of every shape, for tests that hold for all of them."""

from manifold3d import Manifold

from frame3d.model import Bend, Oval, Profile, Tube
from frame3d.solids.raw_tube import Extent, skin
from frame3d.solids.rings import stack

ROUND = Profile.constant(28.6)
TAPER = Profile.through([(40, 24.0), (160, 16.0), (260, 12.0)])
STEP = Profile.through([(0, 28.0), (120, 28.0), (120, 32.0), (240, 25.0)])
WALL = Profile.through([(0, 1.0), (80, 1.0), (120, 0.7)])
BENDS = (Bend((150, 20, 0), 120.0), Bend((280, 120, 30), 90.0))
FLAT = Oval(Profile.through([(40, 24.0), (160, 11.0), (260, 12.0)]), 35.0)

TUBES = {
    "plain": Tube("t", (0, 0, 0), (300, 40, 10), ROUND, WALL),
    "tapered": Tube("t", (0, 0, 0), (300, 40, 10), TAPER, WALL),
    "stepped": Tube("t", (0, 0, 0), (300, 40, 10), STEP, WALL),
    "oval": Tube("t", (0, 0, 0), (300, 40, 10), TAPER, WALL, oval=FLAT),
    "bent": Tube("t", (0, 0, 0), (400, 130, 20), ROUND, WALL, bends=BENDS),
    "bent, tapered": Tube("t", (0, 0, 0), (400, 130, 20), TAPER, WALL, bends=BENDS),
    "bent, stepped": Tube("t", (0, 0, 0), (400, 130, 20), STEP, WALL, bends=BENDS),
    "bent, oval": Tube("t", (0, 0, 0), (400, 130, 20), TAPER, WALL, oval=FLAT, bends=BENDS),
}


def outside(tube: Tube, extent: Extent, chord: float) -> Manifold:
    """All that the outer surface holds between two square ends, in world coordinates."""
    return stack(skin(tube, extent, chord, 1.0))


def bore(tube: Tube, extent: Extent, chord: float) -> Manifold:
    """What the bore holds between two square ends, in world coordinates."""
    return stack(skin(tube, extent, chord, 0.0))
