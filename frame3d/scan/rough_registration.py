"""Ways to lay a scan on its tube by the rim of the end, from any start: rough, and to be tried.

The axis leaves open which end of the scan is the cope, how the scan is turned about the axis, and
how far it is slid along. The rim answers by its shape; where several answers come near, as on an
end that looks nearly alike turned about, the end face decides.
"""

from dataclasses import dataclass

import numpy as np

from frame3d.scan.read import ScanError
from frame3d.scan.tube_axis import TubeAxis
from frame3d.surfaces.surface import Array
from frame3d.tolerance.target import Target

BINS = 120  # around the rim
LEAST_IN_BIN = 5
LEAST_SEEN = 0.7  # of the bins; a third of an end that nobody saw is not guessed
ROUGH_MM = 1.0  # a rim that differs more from the nominal one, in the middle, is another end
# Where a part of a cut was not scanned, the tube ends short. More of the rim lies on the nominal
# one than of a square end, and less of it beyond; own choice, as is what counts as on it.
LEAST_WHOLE, MOST_BEYOND, ON_MM = 0.4, 0.05, 0.5
MOST_OFF_MM = 3.0  # of one bin: what clutter or a hole does to it counts no more
TURNS = 360
OTHER_TURN = 30  # of TURNS: further apart they are different ways to lay the end
ALIKE_MM = 0.1


@dataclass(frozen=True, eq=False)
class Way:
    """A way to lay the scan: p' = turn p + lift, from the axis's `local` frame into the end's.

    turn: (3, 3), orthogonal; lift: mm; off: how far the rim then is from the nominal one, mm;
    seen: share of the rim that was scanned; outward: 1 where it is the scan's own far end, else -1
    """

    turn: Array
    lift: float
    off: float
    seen: float
    outward: float

    def __call__(self, local: Array) -> Array:
        """Points (N, 3), mm, in the end's frame."""
        return np.asarray(local @ self.turn.T + [0.0, 0.0, self.lift])


def ways_to_lay(axis: TubeAxis, local: Array, target: Target, wall: float) -> list[Way]:
    """The ways that bring the rim near the nominal one, the nearest first.

    Raises ScanError where too little of the rim was scanned, or where it is another end's.
    """
    away = np.hypot(local[:, 0], local[:, 1])
    skin = local[abs(away - axis.radius) < max(4 * axis.noise, 0.15 * wall)]
    sense = 1.0 if target.cope.end == "end" else -1.0
    grid = np.linspace(0.0, 2 * np.pi, TURNS, endpoint=False)
    nominal = target.cope.position(grid, np.ones(TURNS))
    ways, seen, whole = [], 0.0, 0.0
    for outward in (1.0, -1.0):  # which end of the scan is the cope, and which where it stops
        mirror = np.diag([1.0, sense * outward, outward])
        at, rim = _rim(skin @ mirror)
        seen = max(seen, len(rim) / BINS)
        if len(rim) >= LEAST_SEEN * BINS:
            ways += _turns(at, rim, grid, nominal, mirror)
            whole = max(whole, _share_whole(at, rim, grid, nominal))
    if not ways:
        raise ScanError(
            f"the scan shows {360 * seen:.0f} of 360 degrees of the tube's outside at the end, "
            f"expected {360 * LEAST_SEEN:.0f} or more: scan all around"
        )
    ways.sort(key=lambda way: way.off)
    # A coarse scan misses the rim by about the distance between its points.
    spacing = float(np.sqrt(2 * np.pi * axis.radius * np.ptp(skin[:, 2]) / len(skin)))
    near = [way for way in ways if way.off <= ROUGH_MM + spacing]
    if not near and whole > LEAST_WHOLE:
        raise ScanError(
            f"the scan shows about {360 * whole:.0f} of 360 degrees of the cut, the rest ends "
            f"short of it: scan all around the end"
        )
    if not near:
        raise ScanError(
            f"the scanned end differs from the one of the job by {ways[0].off:.1f} mm in the "
            f"middle: is it the {target.cope.end} of {target.cope.tube.name}?"
        )
    return near


def alike(ways: list[Way]) -> bool:
    """Whether the rim could as well be turned otherwise."""
    return len(ways) > 1 and ways[1].off < ways[0].off + ALIKE_MM


def _rim(skin: Array) -> tuple[Array, Array]:
    """Angle of each bin that has points, and the height of the rim there, mm; single points far
    beyond the others, as clutter leaves them, are passed over."""
    theta = np.arctan2(skin[:, 1], skin[:, 0])
    bins = np.floor(theta % (2 * np.pi) / (2 * np.pi) * BINS).astype(int) % BINS
    order = np.lexsort((skin[:, 2], bins))
    ends = np.searchsorted(bins[order], np.arange(BINS), side="right")
    middle = np.linspace(0.0, 2 * np.pi, BINS, endpoint=False) + np.pi / BINS
    full = np.bincount(bins, minlength=BINS) >= LEAST_IN_BIN
    rim = skin[order[ends[full] - 2], 2]
    return middle[full], rim


def _share_whole(at: Array, rim: Array, grid: Array, nominal: Array) -> float:
    """The largest share of the rim that lies, at some turn, on the nominal one while the rest ends
    short of it, as where a part of the cut was not scanned; 0 where there is no such turn."""
    wanted = np.interp(grid[:, None] + at, grid, nominal, period=2 * np.pi) - rim
    away = wanted - np.quantile(wanted, LEAST_WHOLE / 2, axis=1)[:, None]
    on = (abs(away) < ON_MM).mean(axis=1)
    return float(on[(away < -ON_MM).mean(axis=1) <= MOST_BEYOND].max(initial=0.0))


def _turns(at: Array, rim: Array, grid: Array, nominal: Array, mirror: Array) -> list[Way]:
    """The nearest turn, and any other one about which the rim is near too."""
    wanted = np.interp(grid[:, None] + at, grid, nominal, period=2 * np.pi) - rim
    lifts = np.median(wanted, axis=1)
    offs = np.minimum(abs(wanted - lifts[:, None]), MOST_OFF_MM).mean(axis=1)
    found = []
    left = np.full(TURNS, True)
    while left.any():
        best = int(np.flatnonzero(left)[offs[left].argmin()])
        apart = abs((np.arange(TURNS) - best + TURNS // 2) % TURNS - TURNS // 2)
        c, s = np.cos(grid[best]), np.sin(grid[best])
        turn = np.array([[c, -s, 0.0], [s, c, 0.0], [0.0, 0.0, 1.0]]) @ mirror
        found.append(
            Way(turn, float(lifts[best]), float(offs[best]), len(rim) / BINS, mirror[2, 2])
        )
        left &= apart > OTHER_TURN
    return found
