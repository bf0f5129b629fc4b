"""How near each cut must be set for its joint to close in 19 of 20 cases."""

import math
import os
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from functools import cache, cached_property
from threading import Lock

from frame3d.mill.printed_numbers import printed
from frame3d.mill.tube_sheet import TubeSheet
from frame3d.model import Frame
from frame3d.surfaces.cope import Copes
from frame3d.surfaces.surface import Array
from frame3d.tolerance.care import Allowed, cares_of
from frame3d.tolerance.care import Care as Budgeted
from frame3d.tolerance.chance import SAMPLES, FrameChance, frame_chance
from frame3d.tolerance.setup_errors import Spread, Spreads, spreads_in
from frame3d.tolerance.simulate import Key, Targets, targets_of
from frame3d.tolerance.worker_pool import Crew

WANTED = 0.95
SEED = 1  # as frame3d errors has it, so that both tell the same
LEAST = 0.005  # degrees and mm: what the page would print as 0
NAMES = "tilt", "centring"

ALONE, TOGETHER = "alone enough", "enough with the other"
FREE, NOT_ENOUGH, UNKNOWN = "hardly matters", "not enough even without error", "not known"


@dataclass(frozen=True)
class Care:
    """How near tilt and centring must be set while all other errors are the shop's."""

    tilt_within: float | None = printed(
        "deg", "keep the tilt this near, for 19 of 20 joints to close; null: see care_tilt"
    )
    centring_within: float | None = printed(
        "mm", "keep the saw this near to the tube's axis, likewise; null: see care_centring"
    )
    care_tilt: str = printed(
        "", f"of this care: {ALONE}; {TOGETHER}; {FREE}; {NOT_ENOUGH}; {UNKNOWN}"
    )
    care_centring: str = printed("", "likewise of the centring")


NOTHING_KNOWN = Care(None, None, UNKNOWN, UNKNOWN)


class Caring:
    """Works out the care for the cuts of a frame's tubes, as this shop's errors are."""

    def __init__(self, frame: Frame, copes: Copes) -> None:
        self._frame = frame
        self._targets: Targets = targets_of(copes)
        self._spreads: Spreads = spreads_in(frame.shop)

    @cached_property
    def _cares(self) -> dict[Key, Budgeted]:
        """Of every end that a saw cuts."""
        frame, targets, spreads = self._frame, self._targets, self._spreads

        one_by_one = Lock()  # each uses all cores

        @cache
        def drawn(tube: str) -> FrameChance:
            ends = {key: target for key, target in targets.items() if key[0] == tube}
            return frame_chance(frame, ends, spreads, SAMPLES, SEED)

        def gaps(alike: list[Key]) -> Array:
            with one_by_one:
                return drawn(alike[0][0]).pooled(alike[:1])

        sawn = [key for key, target in targets.items() if any(target.sawn)]
        with ThreadPoolExecutor(os.cpu_count()) as pool:
            return cares_of(frame, targets, spreads, SEED, WANTED, sawn, gaps, Crew(pool))[0]

    def of(self, sheet: TubeSheet) -> tuple[Care, ...]:
        """One for each cut of a tube, in the cuts' order; cuts of one end share theirs."""
        ends = {end: self._of_end((sheet.tube, end)) for end in {cut.end for cut in sheet.cuts}}  # type: ignore[arg-type]
        return tuple(ends[cut.end] for cut in sheet.cuts)

    def _of_end(self, key: Key) -> Care:
        if key not in self._cares:
            return NOTHING_KNOWN
        found = self._cares[key]
        if found.both and math.isfinite(found.both) and all(n in found.alone for n in NAMES):
            tilt, centring = (_together(self._spreads[name], found.both) for name in NAMES)
        else:
            tilt, centring = (_alone(found.alone.get(name)) for name in NAMES)
        return Care(tilt[0], centring[0], tilt[1], centring[1])


def _together(spread: Spread, factor: float) -> tuple[float | None, str]:
    return factor * spread.size, TOGETHER


def _alone(allowed: Allowed | None) -> tuple[float | None, str]:
    if allowed is None:
        return None, UNKNOWN
    if allowed.within is None or allowed.within < LEAST:
        return None, NOT_ENOUGH
    return (None, FREE) if math.isinf(allowed.within) else (allowed.within, ALONE)
