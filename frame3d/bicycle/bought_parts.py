"""Bought parts that a frame is built around, looked up in tables by their standard designations.

Each function takes `extra`: the builder's own rows, with the columns of the table, which are
looked at first. Raises BicycleError, naming the designations known, where there is no such row.
"""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from frame3d.bicycle.bicycle_error import BicycleError, unknown_key
from frame3d.tables import rows

Row = Mapping[str, object]

# Below this nominal width a tyre stands higher than wide by NARROW_ADDS: ISO 5775-1's rule as an
# encyclopedia's account of the standard gives it. Both mm.
NARROW_BELOW = 28.0
NARROW_ADDS = 2.5
# How far lower stacks are from a builder's own row that does not say, mm: own choice.
OWN_STACK_WITHIN = 3.0


@dataclass(frozen=True)
class Wheel:
    """A wheel with its tyre. width: nominal; bead_seat: the rim's diameter there; mm."""

    width: float
    bead_seat: float

    @property
    def radius(self) -> float:
        """Axle to the ground, mm: half the bead seat and the tyre's section height."""
        height = self.width + (NARROW_ADDS if self.width < NARROW_BELOW else 0.0)
        return self.bead_seat / 2 + height

    @property
    def designation(self) -> str:
        return f"{self.width:g}-{self.bead_seat:g}"


@dataclass(frozen=True)
class HeadsetHalf:
    """All mm.

    bore:                     what the head tube's end is bored to
    head_tube_od, least_wall: a common outside for it there, and the least wall left
    stack:                    head tube's end to the steerer's clamp, or to the crown race seat
    steerer:                  the steerer's outside there
    """

    bore: float
    head_tube_od: float
    least_wall: float
    stack: float
    steerer: float


@dataclass(frozen=True)
class Headset:
    """One code a side, as 'EC34/28.6 | EC34/30', or for a tapered steerer 'ZS44/28.6 | EC44/40'.

    lower_stack_within: how far from its lower half's stack such headsets are, mm
    """

    code: str
    upper: HeadsetHalf
    lower: HeadsetHalf
    lower_stack_within: float


@dataclass(frozen=True)
class Shell:
    """A bottom bracket shell. width, od, bore (before tapping): mm."""

    name: str
    width: float
    od: float
    bore: float
    thread: str


@dataclass(frozen=True)
class SeatPost:
    """A seat post, the bore it wants, and a seat tube (outside, wall at top) giving it; mm."""

    diameter: float
    bore: float
    seat_tube_od: float
    wall_at_top: float


@dataclass(frozen=True)
class Hub:
    """Over-locknut spacing, axle, and how deep its ends stand in each dropout, mm; dropout: what
    the axle goes into."""

    name: str
    end: str
    spacing: float
    axle: float
    dropout: str
    sunk: float = 0.0

    @property
    def between(self) -> float:
        """From dropout to dropout, inside, mm."""
        return self.spacing - 2 * self.sunk


def wheel(designation: str, extra: Sequence[Row] = ()) -> Wheel:
    """A wheel from its ISO 5775 designation, width and bead seat diameter: '32-622'."""
    match = re.fullmatch(r"\s*(\d+(?:\.\d+)?)\s*[-x]\s*(\d+(?:\.\d+)?)\s*", designation)
    if match is None:
        raise BicycleError(
            f'found "{designation}", expected an ISO 5775 designation, tyre width and bead seat '
            f'diameter in mm, such as "32-622"'
        )
    width, bead_seat = float(match[1]), f"{float(match[2]):g}"
    rim = _find("rims", bead_seat, extra)
    if not 10 <= width <= 130:
        raise BicycleError(
            f'"{designation}": a tyre width of {width:g} mm, expected 10 to 130 mm '
            f"(the width comes first, as in 32-622)"
        )
    return Wheel(width, _number(rim, "bead_seat_mm"))


def headset(code: str, extra: Sequence[Row] = (), extra_steerers: Sequence[Row] = ()) -> Headset:
    """A headset from its two SHIS codes, upper and lower: 'EC34/28.6 | EC34/30'."""
    halves = [re.fullmatch(r"\s*([A-Z]{2}\d+)\s*/\s*([\d.]+)\s*", h) for h in code.split("|")]
    if len(halves) != 2 or halves[0] is None or halves[1] is None:
        raise BicycleError(
            f'found "{code}", expected the upper and the lower SHIS code, such as '
            f'"EC34/28.6 | EC34/30"'
        )
    upper, lower = (_find("headset_bores", half[1], extra) for half in halves if half)
    steerer, race = (_find("steerers", half[2], extra_steerers) for half in halves if half)
    for row, place in ((steerer, "upper"), (race, "lower")):
        if row["place"] != place:
            raise BicycleError(f'"{code}": {row["shis"]} is a {row["meaning"]}, no {place} half')
    if _number(steerer, "steerer_mm") > _number(race, "steerer_mm"):
        raise BicycleError(
            f'"{code}": the upper half is for a {steerer["meaning"]}, the lower one for a '
            f"{race['meaning']}, and no steerer widens upwards"
        )
    return Headset(
        f"{halves[0][0].strip()} | {halves[1][0].strip()}",
        _half(upper, "upper_stack_mm", steerer),
        _half(lower, "lower_stack_mm", race),
        _number_or(lower, "lower_stack_within_mm", OWN_STACK_WITHIN),
    )


def _half(cup: Row, stack: str, steerer: Row) -> HeadsetHalf:
    return HeadsetHalf(
        bore=_number(cup, "bore_mm"),
        head_tube_od=_number(cup, "head_tube_od_mm"),
        least_wall=_number(cup, "least_wall_mm"),
        stack=_number(cup, stack),
        steerer=_number(steerer, "steerer_mm"),
    )


def shell(name: str, extra: Sequence[Row] = ()) -> Shell:
    """A bottom bracket shell by standard and width: 'ISO 68'."""
    row = _find("shells", name, extra)
    width, od, bore = (_number(row, column) for column in ("width_mm", "od_mm", "bore_mm"))
    return Shell(str(row["shell"]), width, od, bore, str(row["thread"]))


def seat_post(diameter: float, extra: Sequence[Row] = ()) -> SeatPost:
    """A seat post by its diameter, mm."""
    row = _find("seat_posts", f"{diameter:.1f}", extra)
    columns = ("post_mm", "bore_mm", "seat_tube_od_mm", "wall_at_top_mm")
    return SeatPost(*(_number(row, column) for column in columns))


def hub(name: str, end: str, extra: Sequence[Row] = ()) -> Hub:
    """A hub by spacing and axle, '130x10', for the 'front' or the 'rear' end."""
    row = _find("hubs", name, extra)
    if row["end"] != end:
        fitting = [str(r["hub"]) for r in (*extra, *rows("hubs")) if r["end"] == end]
        raise BicycleError(
            f'"{name}" is a {row["end"]} hub, expected a {end} one: {", ".join(fitting)}'
        )
    spacing, axle = (_number(row, column) for column in ("spacing_mm", "axle_mm"))
    sunk = _number_or(row, "sunk_mm", 0.0)
    return Hub(str(row["hub"]), end, spacing, axle, str(row["dropout"]), sunk)


def _find(table: str, key: str, extra: Sequence[Row]) -> Row:
    """The row of the builder's `extra` ones or of the table, by its first column."""
    column = next(iter(rows(table)[0]))
    known = {_plain(r[column]): r for r in (*rows(table), *extra)}  # the builder's rows win
    if _plain(key) not in known:
        raise unknown_key(key, known, f"the table {table}")
    return known[_plain(key)]


def _plain(key: object) -> str:
    """A key as it is compared: numbers alike however they are written."""
    text = str(key)
    return f"{float(text):g}" if re.fullmatch(r"\d+(\.\d+)?", text) else text


def _number_or(row: Row, column: str, usual: float) -> float:
    return usual if row.get(column, "") == "" else _number(row, column)


def _number(row: Row, column: str) -> float:
    try:
        return float(str(row[column]))
    except (KeyError, ValueError):
        raise BicycleError(
            f"the row {dict(row)} has {row.get(column)!r} as {column}, expected a number", column
        ) from None
