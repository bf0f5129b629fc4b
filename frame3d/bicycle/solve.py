"""From any set of measures that determines a frame to all the others.

A frame has as many degrees of freedom as plane.BASIS has numbers. Near a common frame, a measure
is a direction in that space (its row of the Jacobian), so plain linear algebra tells whether a set
of measures determines the frame, which are missing, and which say the same thing twice.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import cache
from itertools import product

import numpy as np
from numpy.typing import NDArray

from frame3d.bicycle.bicycle_error import BicycleError, listed
from frame3d.bicycle.plane import BASIS, MEASURES, measures
from frame3d.jobs.bicycle_tables import OUTCOMES
from frame3d.tables import row, rows

Array = NDArray[np.float64]

# Two ways of saying the same thing agree within this; mm and degrees. Own choice: finer than a jig.
_AGREE = 0.01
_ALIKE = 1e-6  # no more than what the arithmetic loses
_CONVERGED = 1e-12
_DEPENDENT = 1e-7
# Head and seat tube angles to look for a frame from, degrees.
_ANGLES = ((72.3, 73.1), (58.0, 58.0), (58.0, 85.0), (85.0, 58.0), (85.0, 85.0))


@dataclass(frozen=True)
class Solution:
    """values: every measure, mm and degrees; assumed: defaults that filled what was not given;
    rounded: what was given though it follows from the rest, and differs by its rounding alone."""

    values: Mapping[str, float]
    assumed: Mapping[str, float]
    rounded: Mapping[str, float]


def solve(
    given: Mapping[str, float],
    defaults: Mapping[str, float] | None = None,
    within: Mapping[str, float] | None = None,
) -> Solution:
    """All measures of the frame that has the `given` ones.

    defaults: numbers to fall back on where the given ones leave something open, before those of
    the table. within: how far from its default a measure may be that the given ones leave no
    choice of, for it is a bought part's. Raises BicycleError where the given measures are out of
    range, too few (with what would complete them), contradict each other or a bought part (with by
    how much), or fit no frame or two frames.
    """
    for key, value in given.items():
        if key in OUTCOMES:
            instead = "give effective_top_tube, top_tube_slope or reach"
            raise BicycleError(f"{key} cannot be given, it follows from the rest; {instead}", key)
        _check_range(key, value)
    ordered = [k for k in BASIS if k in given] + [
        k for k in MEASURES if k in given and k not in BASIS
    ]
    chosen: list[str] = []
    for key in ordered:
        if _independent(chosen, key):
            chosen.append(key)
    defaults = defaults or {}
    bought = {
        key: off
        for key, off in (within or {}).items()
        if key not in given and not _independent(chosen, key)
    }
    fallback = {**defaults, **{k: v for k, v in _table_defaults().items() if k not in defaults}}
    filled = list(chosen)
    for key in fallback:
        if _independent(filled, key):
            filled.append(key)
    _refuse_missing(filled)

    assumed = {key: fallback[key] for key in filled[len(chosen) :]}
    targets = {key: given.get(key, fallback.get(key, 0.0)) for key in filled}
    frames = _solutions(targets, tuple(bought))
    agreeing = [f for f in frames if all(agree(given[k], f[k]) for k in given)] or frames
    _refuse_two(agreeing)
    for key in ordered:
        if key not in chosen:
            _refuse_contradiction(key, given[key], agreeing[0], chosen, targets)
    for key, off in bought.items():
        _refuse_bought(key, defaults[key], off, agreeing[0], chosen)
    rounded = {
        key: given[key]
        for key in ordered
        if key not in chosen and abs(given[key] - agreeing[0][key]) > _ALIKE
    }
    return Solution(agreeing[0], assumed, rounded)


def agree(said: float, made: float) -> bool:
    """Whether a number as it is written, 64.7, may stand for the one that others make, 64.72: it is
    off by half of its last digit at most, of an even number by half a tenth."""
    digits = -int(Decimal(repr(float(said))).as_tuple().exponent)
    return abs(said - made) <= max(_AGREE, 0.5 * 10.0 ** -max(digits, 1)) * (1 + 1e-9)


def determines(keys: Sequence[str]) -> bool:
    """Whether these measures, and no fewer of them, determine the frame."""
    rank = int(np.linalg.matrix_rank(_rows(keys), tol=_DEPENDENT))
    return len(keys) == len(BASIS) == rank


def jacobian(basis: Mapping[str, float]) -> Array:
    """How each of MEASURES changes with each of BASIS: (measures, basis), exact to rounding."""
    step = 1e-30
    columns = []
    for key in BASIS:
        moved = measures({**basis, key: basis[key] + 1j * step})
        columns.append([np.imag(moved[m]) / step for m in MEASURES])
    return np.array(columns).T


@cache
def _start() -> dict[str, float]:
    """A common frame, its numbers uneven on purpose: nothing is by chance parallel or equal."""
    return {key: float(row("bicycle_measures", key)["start"]) for key in BASIS}


@cache
def _table_defaults() -> dict[str, float]:
    return {r["measure"]: float(r["default"]) for r in rows("bicycle_measures") if r["default"]}


@cache
def _directions() -> dict[str, Array]:
    """Each measure's direction in the space of frames: unit vectors (basis,)."""
    there = jacobian(_start())
    return {m: r / np.linalg.norm(r) for m, r in zip(MEASURES, there, strict=True)}


def _rows(keys: Sequence[str]) -> Array:
    return np.array([_directions()[key] for key in keys]).reshape(-1, len(BASIS))


def _shares(key: str, among: Sequence[str]) -> tuple[Array, float]:
    """How `key` follows from `among`: factors (among,), and what is left over."""
    known = _rows(among)
    factors = np.linalg.lstsq(known.T, _directions()[key], rcond=None)[0]
    return np.asarray(factors, float), float(np.linalg.norm(known.T @ factors - _directions()[key]))


def _independent(keys: Sequence[str], key: str) -> bool:
    return not keys or _shares(key, keys)[1] > _DEPENDENT


def _check_range(key: str, value: float) -> None:
    limits = row("bicycle_measures", key)
    low, high, unit = float(limits["lowest"]), float(limits["highest"]), limits["unit"]
    if not low <= value <= high:
        raise BicycleError(
            f"{key} is {value:g} {unit}, expected {low:g} to {high:g} {unit}: {limits['meaning']}",
            key,
        )


def _refuse_missing(keys: Sequence[str]) -> None:
    missing = len(BASIS) - len(keys)
    if missing == 0:
        return
    useful = [m for m in MEASURES if m not in (*keys, *OUTCOMES) and _independent(keys, m)]
    if missing == 1:
        raise BicycleError(f"1 number is missing: give one of {listed(useful, 'or')}", useful[0])
    raise BicycleError(
        f"{missing} numbers are missing: give {missing} that do not follow from each other, of "
        f"{listed(useful, 'and')}",
        useful[0],
    )


def _refuse_contradiction(
    key: str,
    value: float,
    values: Mapping[str, float],
    chosen: Sequence[str],
    targets: Mapping[str, float],
) -> None:
    off = value - values[key]
    if agree(value, values[key]):
        return
    unit = row("bicycle_measures", key)["unit"]
    others = _makers(key, chosen)
    makes = "makes" if len(others) == 1 else "make"
    raise BicycleError(
        f"{key} is given as {value:g} {unit}, but {listed(others)} {makes} it {values[key]:.2f} "
        f"{unit}: {abs(off):.2f} {unit} too {'much' if off > 0 else 'little'}; "
        f"leave out one of them{_or_change(key, value, others, values, targets)}",
        key,
    )


def _or_change(
    key: str,
    value: float,
    others: Sequence[str],
    values: Mapping[str, float],
    targets: Mapping[str, float],
) -> str:
    """What each of the others alone would have to be, as the end of a sentence."""
    found = []
    for other in others:
        wanted = {k: v for k, v in targets.items() if k != other} | {key: value}
        basis, miss, _ = _newton({k: values[k] for k in BASIS}, wanted)
        limits = row("bicycle_measures", other)
        made = float(measures(basis)[other])
        if miss <= _AGREE * 1e-6 and float(limits["lowest"]) <= made <= float(limits["highest"]):
            found.append(f"{other} to {made:.2f} {limits['unit']}")
    return f", or change one alone: {listed(found, 'or')}" if found else ""


def _refuse_bought(
    key: str, usual: float, within: float, values: Mapping[str, float], chosen: Sequence[str]
) -> None:
    off = values[key] - usual
    if abs(off) <= within:
        return
    unit = row("bicycle_measures", key)["unit"]
    raise BicycleError(
        f"{listed(_makers(key, chosen))} make {key} {values[key]:.2f} {unit}, but the headset "
        f"named has about {usual:g} {unit}: {abs(off):.2f} {unit} too "
        f"{'much' if off > 0 else 'little'}; leave out one of them, or give {key} as measured in "
        f"place of one",
        key,
    )


def _makers(key: str, chosen: Sequence[str]) -> list[str]:
    """The measures from which this one follows."""
    factors, _ = _shares(key, chosen)
    return [k for k, f in zip(chosen, factors, strict=True) if abs(f) > _DEPENDENT]


def _refuse_two(frames: Sequence[Mapping[str, float]]) -> None:
    if len(frames) < 2:
        return
    one, other = frames[:2]
    key = max(BASIS, key=lambda k: abs(one[k] - other[k]))
    raise BicycleError(
        f"more than one frame has these numbers: {key} could be {one[key]:.2f} or "
        f"{other[key]:.2f}; give {key} too",
        key,
    )


def _solutions(targets: Mapping[str, float], bought: Sequence[str]) -> list[dict[str, float]]:
    """The frames in range with these measures, as found from several frames to start from.

    bought: measures whose range is not looked at, since they are held to a narrower one."""
    found: list[dict[str, float]] = []
    nearest: tuple[float, str] = (np.inf, "")
    outside: tuple[float, str] = (np.inf, "")
    for start in _starts(targets):
        basis, miss, where = _newton(start, targets)
        if miss > _AGREE * 1e-6:
            nearest = min(nearest, (miss, where))
            continue
        with np.errstate(invalid="ignore"):  # what the targets do not touch may have no value
            values = {k: float(v) for k, v in measures(basis).items()}
        if not all(np.isfinite(list(values.values()))):
            continue
        beyond = _out_of_range({k: v for k, v in values.items() if k not in bought})
        if beyond:
            outside = min(outside, (len(beyond), beyond[0]), key=lambda o: o[0])
        elif not any(_same(values, other) for other in found):
            found.append(values)
    if not found and outside[1]:
        raise BicycleError(f"no frame within reason has these numbers: {outside[1]}")
    if not found:
        raise BicycleError(_no_frame(targets, *nearest), nearest[1] or None)
    return found


def _starts(targets: Mapping[str, float]) -> list[dict[str, float]]:
    """Frames to look from: shell low and high, angles usual, slack and steep; but as given."""
    given = {key: value for key, value in targets.items() if key in BASIS}
    starts: list[dict[str, float]] = []
    for sign, (head, seat) in product((1, -1), _ANGLES):
        tried = {
            "bb_drop": sign * _start()["bb_drop"],
            "head_tube_angle": head,
            "seat_tube_angle": seat,
        }
        start = {**_start(), **tried, **given}
        if start not in starts:
            starts.append(start)
    return starts


def _no_frame(targets: Mapping[str, float], miss: float, key: str) -> str:
    given = {k: v for k, v in targets.items() if k not in _table_defaults()}
    said = listed(f"{k} {v:g}" for k, v in given.items())
    where = f"; the nearest misses {key} by {miss:.2f}" if key else ""
    return f"no frame within reason has {said}{where}"


def _newton(
    basis: dict[str, float], targets: Mapping[str, float]
) -> tuple[dict[str, float], float, str]:
    """The basis that meets the targets, the largest miss, and the measure that is missed."""
    keys = list(targets)
    pick = [MEASURES.index(key) for key in keys]
    wanted = np.array([targets[key] for key in keys])

    def misses(at: Array) -> Array:
        with np.errstate(invalid="ignore", divide="ignore"):
            got = measures(dict(zip(BASIS, at, strict=True)))
        return np.asarray(np.array([float(got[key]) for key in keys]) - wanted)

    at = np.array([basis[key] for key in BASIS])
    miss = misses(at)
    for _ in range(60):
        if not np.all(np.isfinite(miss)) or np.abs(miss).max() < _CONVERGED:
            break
        slopes = jacobian(dict(zip(BASIS, at, strict=True)))[pick]
        step = np.linalg.lstsq(slopes, -miss, rcond=None)[0]
        for share in 0.5 ** np.arange(12):
            closer = misses(at + share * step)
            if np.linalg.norm(closer) < np.linalg.norm(miss):  # False for NaN: outside the domain
                at, miss = at + share * step, closer
                break
        else:
            break
    worst = int(np.nanargmax(np.abs(miss))) if np.any(np.isfinite(miss)) else 0
    size = float(np.abs(miss[worst])) if np.isfinite(miss).all() else float("inf")
    return dict(zip(BASIS, at.tolist(), strict=True)), size, keys[worst]


def _out_of_range(values: Mapping[str, float]) -> list[str]:
    """What of a frame lies beyond what is sensible, in words."""
    found = []
    for limits in rows("bicycle_measures"):
        key, unit = limits["measure"], limits["unit"]
        low, high = float(limits["lowest"]), float(limits["highest"])
        if key in values and not low <= values[key] <= high:
            off = low - values[key] if values[key] < low else values[key] - high
            found.append(
                f"{key} would be {values[key]:.2f} {unit}, expected {low:g} to {high:g} {unit}, "
                f"{off:.2f} {unit} off"
            )
    return found


def _same(a: Mapping[str, float], b: Mapping[str, float]) -> bool:
    return all(abs(a[key] - b[key]) < _AGREE for key in BASIS)
