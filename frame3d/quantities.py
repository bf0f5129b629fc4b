"""Lengths from a builder's text: a number is millimetres, a text says its unit."""

import json
import math
import re
from fractions import Fraction

MM_PER_UNIT = {
    "mm": Fraction(1),
    "cm": Fraction(10),
    "m": Fraction(1000),
    "in": Fraction(254, 10),
    "inch": Fraction(254, 10),
    "inches": Fraction(254, 10),
    '"': Fraction(254, 10),
}

LONGEST_MM = 100_000.0  # beyond this a number is a slip of the unit, and rounding reaches 1e-8 mm
MOST_LETTERS = 40  # of a length's text: longer ones are no slip, and would be slow to read
MOST_TOLD = 6  # items of a list in a message

_FORMS = 'a number in mm, or a text with its unit such as "28.6 mm", "1 1/8 in" or "0.035 in"'

_LENGTH = re.compile(
    r"""\s*(?P<sign>[+-]?)\s*
        (?:(?P<whole>\d+)[\s-]+(?P<num>\d+)/(?P<den>\d+)   # 1 1/8 or 1-1/8
          |(?P<only_num>\d+)/(?P<only_den>\d+)             # 7/8
          |(?P<decimal>\d+(?:\.\d*)?|\.\d+))               # 28.6
        \s*(?P<unit>[A-Za-z"]*)\s*""",
    re.VERBOSE,
)
# The same for a JSON Schema, which has no flags: units in either case.
LENGTH_PATTERN = (
    r"^\s*[+-]?\s*(\d+[\s-]+\d+/\d+|\d+/\d+|\d+(\.\d*)?|\.\d+)"
    r'\s*([mM][mM]|[cC][mM]|[mM]|[iI][nN]([cC][hH]([eE][sS])?)?|")\s*$'
)
_COMMA = re.compile(r"([+-]?\d+),(\d+ *[A-Za-z]*)")

MOST_DIGITS = 7  # beyond a tenth of a nanometre a number is its limit


def parse_length(
    value: object, low: float = -LONGEST_MM, high: float = LONGEST_MM, what: str = "a length"
) -> float:
    """Millimetres from a number or a text with its unit, from `low` to `high`; `what` says in words
    what is expected.

    Raises ValueError, with what was found and what is expected, for anything else,
    for a text without unit, and for what is not finite or out of its range.
    """
    if isinstance(value, int | float) and not isinstance(value, bool):
        mm = plain_number(value)
    elif isinstance(value, str):
        mm = plain_number(_from_text(value))
    else:
        raise ValueError(f"found {described(value)}, expected a length: {_FORMS}")
    if not math.isfinite(mm):
        raise ValueError(f"found {described(value)}, expected a finite length: {_FORMS}")
    if not low <= mm <= high:
        found = described(value) if isinstance(value, str) else f"{mm:g}"
        raise ValueError(f"found {found}, expected {what} from {low:g} to {high:g} mm")
    return mm


def plain_number(value: int | float | Fraction) -> float:
    """As float; what is too large for one is infinite."""
    try:
        return float(value)
    except OverflowError:
        return math.inf if value > 0 else -math.inf


def _from_text(value: str) -> Fraction:
    match = _LENGTH.fullmatch(value) if len(value) <= MOST_LETTERS else None
    if match is None:
        comma = _COMMA.fullmatch(value.strip()[:MOST_LETTERS])
        advice = f'; write "{comma[1]}.{comma[2]}": a decimal point' if comma else ""
        raise ValueError(f"found {described(value)}, expected a length: {_FORMS}{advice}")
    unit = match["unit"].lower()
    if not unit:
        raise ValueError(f'found "{value}", a text without unit; expected {_FORMS}')
    if unit not in MM_PER_UNIT:
        raise ValueError(f'found the unit "{match["unit"]}" in "{value}", expected mm, cm, m or in')
    try:
        size = _size(match)
    except ZeroDivisionError:
        raise ValueError(f'found "{value}", a fraction over zero; expected {_FORMS}') from None
    sign = -1 if match["sign"] == "-" else 1
    return sign * size * MM_PER_UNIT[unit]


def _size(match: re.Match[str]) -> Fraction:
    if match["whole"]:
        return int(match["whole"]) + Fraction(int(match["num"]), int(match["den"]))
    if match["only_num"]:
        return Fraction(int(match["only_num"]), int(match["only_den"]))
    return Fraction(match["decimal"])


def told_beside(value: float, limit: float, digits: int) -> str:
    """A number with so many decimals, or as many more as show on which side of its limit it is."""
    for more in range(digits, MOST_DIGITS):
        shown = round(value, more)
        if (shown < limit, shown > limit) == (value < limit, value > limit):
            return f"{shown + 0.0:.{more}f}"
    return f"{round(value, digits) + 0.0:.{digits}f}"  # it is the limit, but for rounding


def described(value: object) -> str:
    """What was found, as it would stand in a file."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, int) and abs(value) >= 10**20:
        return f"a number of about {int(value.bit_length() * 0.30103) + 1} digits"
    if isinstance(value, list):
        return "a list"
    if isinstance(value, dict):
        return "a table"
    if isinstance(value, str):
        return json.dumps(value if len(value) <= 60 else f"{value[:57]}...", ensure_ascii=False)
    return str(value)


def listed(value: object) -> str:
    """A list as it would stand in a file, its first items where there are many."""
    if not isinstance(value, list):
        return described(value)
    items = [described(part) for part in value[:MOST_TOLD]]
    if len(value) > MOST_TOLD:
        items.append(f"... {len(value)} in all")
    return f"[{', '.join(items)}]"
