"""The errors of a set-up: how large each one is in this shop, and what it does to the tools."""

import math
import zlib
from collections.abc import Mapping
from dataclasses import dataclass
from statistics import NormalDist
from typing import Literal

import numpy as np

from frame3d.model import Frame, Shop, Tube
from frame3d.surfaces.surface import Array
from frame3d.tables import row, rows
from frame3d.tolerance.displaced_cut import Setups
from frame3d.tolerance.mate_shape import product
from frame3d.tolerance.target import Target

Shape = Literal["normal", "rectangular", "one-sided"]
Values = Mapping[str, Array]

DEVIATIONS = NormalDist().inv_cdf(0.975)  # that 19 of 20 of a normal distribution stay within
GRIP = "wobble"  # the error that a printed guide's clearance makes
OFF_CENTRE = 0.5  # of the clearance, at most, a clamped guide may grip to one side; own choice
GUIDE_LENGTH_MM = 40.0  # between the two places where a guide bears on the tube; own choice
USUAL_SAW = "hole saw"
BY_SAW = ("saw", "run-out")  # what a saw is off it is in every joint that it cuts
DIAMETERS = {"tube od", "mate od"}  # all that a line's first touch of a mate depends on
IN_COMMON = ("gauge zero", "vise zero")  # the same at all cuts of a frame
FIRST_WAVE, LAST_WAVE = 2, 8  # a file's waves around the end; fewer are a tilt, more a scratch


@dataclass(frozen=True)
class Spread:
    """How an error scatters. size: what 19 of 20 stay within, of a normal one; the half-width of a
    rectangular one, which none passes, as none does the largest of a one-sided one from 0."""

    shape: Shape
    size: float

    def standard(self, rng: np.random.Generator, shape: tuple[int, ...]) -> Array:
        """Draws for a size of 1."""
        if self.shape == "normal":
            return rng.standard_normal(shape) / DEVIATIONS
        return rng.uniform(-1.0 if self.shape == "rectangular" else 0.0, 1.0, shape)

    @property
    def deviation(self) -> float:
        """Standard deviation; of a rectangular one half-width / sqrt 3 (JCGM 100:2008, 4.3.7)."""
        over = {"normal": DEVIATIONS**2, "rectangular": 3.0, "one-sided": 12.0}
        return self.size / math.sqrt(over[self.shape])


Spreads = dict[str, Spread]


def shop_spreads(own: Mapping[str, float] | None = None) -> Spreads:
    """Sizes of tables/setup_errors.csv, with the shop's `own` ones in their place.

    A size of nan marks an error whose size follows from a tube's tolerance class or a kind of saw.
    Raises KeyError for an unknown name.
    """
    table = {one["error"]: one for one in rows("setup_errors")}
    for name in own or {}:
        if name not in table:
            raise KeyError(name)
    spreads: Spreads = {}
    for name, one in table.items():
        shape: Shape = one["shape"]  # type: ignore[assignment]
        size = float(one["size"]) if one["size"] else np.nan
        spreads[name] = Spread(shape, (own or {}).get(name, size))
    return spreads


def spreads_in(shop: Shop) -> Spreads:
    """Sizes in a shop: its own, and a guide's grip off centre as its printer makes it."""
    return shop_spreads({GRIP: OFF_CENTRE * shop.printer.clearance, **dict(shop.errors)})


def unit(name: str) -> str:
    return row("setup_errors", name)["unit"]


def tolerance(tube: Tube) -> float:
    """Half the tolerance zone of a tube's outside diameter, mm, of its largest."""
    od = max(tube.od.value)
    table = rows("tube_tolerances")
    fitting = [one for one in table if od <= float(one["od_up_to_mm"])] or [table[-1]]
    return float(fitting[0]["tolerance_mm"])


def sizes_at(frame: Frame, target: Target, spreads: Spreads, name: str) -> Array:
    """Sizes of an error at one end, for each of the numbers that `errors_of` counts or one for
    all: without a size of its own that of the tube's class, or of the kind of saw."""
    if not np.isnan(spreads[name].size):
        return np.array([spreads[name].size])
    cope = target.cope
    joint = frame.joint_at(cope.tube.name, cope.end)
    assert joint is not None
    if name == "tube od":
        return np.array([tolerance(cope.tube)])
    if name == "mate od":
        return np.array([tolerance(frame.tube(mate)) for mate in joint.onto])
    kinds = {saw.od: saw.kind for saw in frame.shop.saws}
    ods = target.saws if name in BY_SAW else np.array([saw or 0.0 for saw in joint.saws])
    return np.array([float(row("saw_kinds", kinds.get(od, USUAL_SAW))[name]) for od in ods])


def errors_of(target: Target) -> dict[str, int]:
    """The errors that act on this end, and the count of numbers that each one needs.

    One a cut for the errors of a saw's set-up, one a saw for what the saw itself is off, one for
    what all set-ups of a frame have in common; wobble has two directions at either end of the
    guide; filing a sine and a cosine for each wave; a bow two directions.
    """
    each = len(target.sawn)
    counts = {
        **dict.fromkeys(BY_SAW, len(target.saws)),
        **dict.fromkeys(IN_COMMON, 1),
        "wobble": 4,
        "guide phase": 1,
        "guide place": 1,
        "filing": 2 * (LAST_WAVE - FIRST_WAVE + 1),
        "tube od": 1,
        "straightness": 2,
    }
    cuts = {"both"} | {"saw" if sawn else "hand" for sawn in target.sawn}
    return {
        one["error"]: counts.get(one["error"], each)
        for one in rows("setup_errors")
        if one["cut"] in cuts
    }


def setups_of(target: Target, values: Values, count: int) -> Setups:
    """The set-ups that errors make.

    values: (N, numbers as `errors_of` counts them) by name, in the errors' own units; what is
    missing is 0. A bow is given as mm/m.
    """
    saws, sense = np.array(target.sawn), target.senses
    each = (count, len(saws))
    normal = target.normals
    out = np.array([0.0, 0.0, 1.0])

    def sawn(*names: str) -> Array:
        total = np.zeros(each)
        for name in names:
            if name in values:
                total += values[name]
        return np.asarray(total * saws)

    def own(name: str) -> Array:
        return values[name][:, target.saw_of] if name in values else np.zeros(each)

    turn = np.radians(sawn("gauge", "tilt") + sense * sawn("gauge zero"))[..., None] * normal
    turn += np.radians(sawn("phase"))[..., None] * out
    beside = sawn("centring", "deflection") + sense * sawn("vise zero")
    shift = beside[..., None] * normal
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
        tool=saws * (own("saw") + own("run-out")) / 2,
        mate=np.broadcast_to(values["mate od"] / 2 if "mate od" in values else 0.0, each),
        tube=values["tube od"][:, 0] / 2 if "tube od" in values else np.zeros(count),
        ripple=_ripple(target.theta, values["filing"]) if "filing" in values else None,
    )


def phases_shared(phases: Array) -> Array:
    """What the cuts of a tube (..., cuts) are off in phase once the tube is turned to share it: the
    builder lays the tube by all its cuts at once, and only their differences count."""
    return np.asarray(phases - phases.mean(axis=-1, keepdims=True))


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
    if "guide place" in values:
        shift[:, 2] = values["guide place"][:, 0]
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
