"""How near each cut must be set for its joint to close in 19 of 20 cases."""

import math
from dataclasses import dataclass, replace

from frame3d.fit.budget.care import Allowed, care_for
from frame3d.fit.budget.errors import Spreads, shop_spreads
from frame3d.fit.budget.simulate import Key, Targets, targets_of
from frame3d.model import Frame
from frame3d.shop.numbers import printed
from frame3d.shop.sheets import TubeSheet
from frame3d.surfaces.cope import Copes

WANTED = 0.95
SEED = 1
NAMES = "tilt", "centring"


@dataclass(frozen=True)
class Care:
    """Each alone is enough, or, where neither is, both together. None: not enough even so, or the
    error hardly matters."""

    tilt_within: float | None = printed(
        "deg", "keep the tilt this near, for 19 of 20 joints to close"
    )
    centring_within: float | None = printed(
        "mm", "keep the saw this near to the tube's axis, likewise"
    )


class Caring:
    """Works out the care for the cuts of a frame's tubes, as this shop's errors are."""

    def __init__(self, frame: Frame, copes: Copes) -> None:
        self._frame = frame
        self._targets: Targets = targets_of(copes)
        self._spreads: Spreads = shop_spreads(dict(frame.shop.errors))

    def of(self, sheet: TubeSheet) -> tuple[Care, ...]:
        """One for each cut of a tube, in the cuts' order; cuts of one end share theirs."""
        ends = {cut.end: self._of_end((sheet.tube, cut.end)) for cut in sheet.cuts}  # type: ignore[arg-type]
        return tuple(ends[cut.end] for cut in sheet.cuts)

    def _of_end(self, key: Key) -> Care:
        if key not in self._targets:
            return Care(None, None)
        found = care_for(self._frame, self._targets, self._spreads, key, WANTED, SEED)
        tilt, centring = (found.alone.get(name) for name in NAMES)
        if found.both and tilt and centring and tilt.size is None and centring.size is None:
            both = (
                replace(self._spreads[n], size=found.both * self._spreads[n].size) for n in NAMES
            )
            return Care(*(spread.bound or None for spread in both))
        return Care(_within(tilt), _within(centring))


def _within(allowed: Allowed | None) -> float | None:
    if allowed is None or allowed.within is None or math.isinf(allowed.within):
        return None
    return allowed.within or None
