"""The errors of a set-up: how large each one is in this shop, and what it does to the tools."""

import math
import zlib
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

import numpy as np

from frame3d.fit.budget.cut import Setups
from frame3d.fit.budget.shape import product
from frame3d.fit.budget.target import Target
from frame3d.model import Shop, Tube
from frame3d.surfaces.surface import Array
from frame3d.tables import rows

Shape = Literal["normal", "rectangular", "one-sided"]
Values = Mapping[str, Array]

GRIP = "wobble"  # the error that a printed guide's clearance makes
OFF_CENTRE = 0.5  # of the clearance, at most, a clamped guide may grip to one side; own choice
GUIDE_LENGTH_MM = 40.0  # between the two places where a guide bears on the tube; own choice
FIRST_WAVE, LAST_WAVE = 2, 8  # a file's waves around the end; fewer are a tilt, more a scratch


@dataclass(frozen=True)
class Spread:
    """How an error scatters. size: standard deviation of a normal one, half-width of a rectangular
    one, the largest of a one-sided one that starts at 0."""

    shape: Shape
    size: float

    def standard(self, rng: np.random.Generator, shape: tuple[int, ...]) -> Array:
        """Draws for a size of 1."""
        if self.shape == "normal":
            return rng.standard_normal(shape)
        return rng.uniform(-1.0 if self.shape == "rectangular" else 0.0, 1.0, shape)

    @property
    def bound(self) -> float:
        """What 19 of 20 stay within: two deviations of a normal one, else its very limit."""
        return 2 * self.size if self.shape == "normal" else self.size

    @property
    def deviation(self) -> float:
        """Standard deviation; of a rectangular one half-width / sqrt 3 (JCGM 100:2008, 4.3.7)."""
        over = {"normal": 1.0, "rectangular": 3.0, "one-sided": 12.0}
        return self.size / math.sqrt(over[self.shape])


Spreads = dict[str, Spread]


def shop_spreads(own: Mapping[str, float] | None = None) -> Spreads:
    """Sizes of tables/setup_errors.csv, with the shop's `own` ones in their place.

    A size of nan marks an error whose size follows from each tube's tolerance class.
    Raises KeyError for an unknown name.
    """
    table = {row["error"]: row for row in rows("setup_errors")}
    for name in own or {}:
        if name not in table:
            raise KeyError(name)
    spreads: Spreads = {}
    for name, row in table.items():
        shape: Shape = row["shape"]  # type: ignore[assignment]
        size = float(row["size"]) if row["size"] else np.nan
        spreads[name] = Spread(shape, (own or {}).get(name, size))
    return spreads


def spreads_in(shop: Shop) -> Spreads:
    """Sizes in a shop: its own, and a guide's grip off centre as its printer makes it."""
    return shop_spreads({GRIP: OFF_CENTRE * shop.printer.clearance, **dict(shop.errors)})


def unit(name: str) -> str:
    return next(row["unit"] for row in rows("setup_errors") if row["error"] == name)


def plain(name: str) -> str:
    """The error as a builder would say it: "the guide's play on the tube"."""
    return next(row["words"] for row in rows("setup_errors") if row["error"] == name)


def tolerance(tube: Tube) -> float:
    """Half the tolerance zone of a tube's outside diameter, mm, of its largest."""
    od = max(tube.od.value)
    table = rows("tube_tolerances")
    fitting = [row for row in table if od <= float(row["od_up_to_mm"])] or [table[-1]]
    return float(fitting[0]["tolerance_mm"])


def size_for(spreads: Spreads, name: str, tube: Tube) -> float:
    """Size of an error; of an outside diameter without its own, that of the tube's class."""
    size = spreads[name].size
    return tolerance(tube) if np.isnan(size) else size


def errors_of(target: Target) -> dict[str, int]:
    """The errors that act on this end, and the count of numbers that each one needs.

    One a saw for the errors of a saw's set-up; wobble has two directions at either end of the
    guide; a file a sine and a cosine for each wave; a bow two directions.
    """
    each = len(target.sawn)
    counts = {
        "wobble": 4,
        "guide phase": 1,
        "setting": 1,
        "file": 2 * (LAST_WAVE - FIRST_WAVE + 1),
        "tube od": 1,
        "straightness": 2,
    }
    cuts = {"both"} | {"saw" if sawn else "hand" for sawn in target.sawn}
    return {
        row["error"]: counts.get(row["error"], each)
        for row in rows("setup_errors")
        if row["cut"] in cuts
    }


def setups_of(target: Target, values: Values, count: int) -> Setups:
    """The set-ups that errors make.

    values: (N, numbers as `errors_of` counts them) by name, in the errors' own units; what is
    missing is 0. A bow is given as mm/m.
    """
    saws = np.array(target.sawn)
    each = (count, len(saws))
    normal = target.normals
    out = np.array([0.0, 0.0, 1.0])

    def sawn(*names: str) -> Array:
        total = np.zeros(each)
        for name in names:
            if name in values:
                total += values[name]
        return np.asarray(total * saws)

    turn = np.radians(sawn("gauge", "tilt"))[..., None] * normal
    turn += np.radians(sawn("phase"))[..., None] * out
    shift = sawn("centring", "deflection")[..., None] * normal
    shift += sawn("length")[..., None] * out
    if "straightness" in values:
        slope = 4e-3 * values["straightness"]
        turn += np.stack([slope[:, 0], slope[:, 1], np.zeros(count)], axis=-1)[:, None]
    by_hand, moved = _guided(target, values, count)
    turn += by_hand * ~saws[:, None]
    shift += moved * ~saws[:, None]
    return Setups(
        turn,
        shift,
        tool=sawn("saw", "run-out") / 2,
        mate=np.broadcast_to(values["mate od"] / 2 if "mate od" in values else 0.0, each),
        tube=values["tube od"][:, 0] / 2 if "tube od" in values else np.zeros(count),
        ripple=_ripple(target.theta, values["file"]) if "file" in values else None,
    )


def _guided(target: Target, values: Values, count: int) -> tuple[Array, Array]:
    """A guide moves as one piece: turn and shift (N, K, 3) of all that is cut along it.

    It is turned about the joint's first pivot, and each surface by as much about its own, which
    then moves with the lever between the two.
    """
    turn, shift = np.zeros((count, 3)), np.zeros((count, 3))
    if "wobble" in values:
        lip, tail = values["wobble"][:, :2], values["wobble"][:, 2:]
        lean = (lip - tail) / GUIDE_LENGTH_MM
        turn[:, 0], turn[:, 1] = -lean[:, 1], lean[:, 0]
        shift[:, :2] = lip
    if "guide phase" in values:
        turn[:, 2] = np.radians(values["guide phase"][:, 0])
    if "setting" in values:
        shift[:, 2] = values["setting"][:, 0]
    pivots = target.pivots
    lever = np.cross(turn[:, None], (pivots - pivots[0])[None])
    return np.broadcast_to(turn[:, None], lever.shape), shift[:, None] + lever


def _ripple(theta: Array, waves: Array) -> Array:
    """Waves (N, 2 W) as metal left along the axis: (N, T); a deviation of 1 gives one of 1."""
    order = np.arange(FIRST_WAVE, LAST_WAVE + 1)[:, None] * theta
    basis = np.concatenate([np.cos(order), np.sin(order)])
    return product(waves, basis / np.sqrt(len(order)))


def stream(seed: int, *names: str) -> np.random.Generator:
    """Random numbers of their own for each error of each end: no draw depends on the order of the
    work, and halving one error leaves all others as drawn."""
    return np.random.default_rng([seed, zlib.crc32("/".join(names).encode())])
