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

_FORMS = 'a number in mm, or a text with its unit such as "28.6 mm", "1 1/8 in" or "0.035 in"'

_LENGTH = re.compile(
    r"""\s*(?P<sign>[+-]?)\s*
        (?:(?P<whole>\d+)[\s-]+(?P<num>\d+)/(?P<den>\d+)   # 1 1/8 or 1-1/8
          |(?P<only_num>\d+)/(?P<only_den>\d+)             # 7/8
          |(?P<decimal>\d+(?:\.\d*)?|\.\d+))               # 28.6
        \s*(?P<unit>[A-Za-z"]*)\s*""",
    re.VERBOSE,
)


def parse_length(value: object) -> float:
    """Millimetres from a number or a text with its unit.

    Raises ValueError, with what was found and what is expected, for anything else,
    for a text without unit, and for numbers that are not finite.
    """
    if isinstance(value, int | float) and not isinstance(value, bool):
        if not math.isfinite(value):
            raise ValueError(f"found {value}, expected a finite length: {_FORMS}")
        return float(value)
    if not isinstance(value, str):
        raise ValueError(f"found {described(value)}, expected a length: {_FORMS}")
    match = _LENGTH.fullmatch(value)
    if match is None:
        raise ValueError(f'found "{value}", expected a length: {_FORMS}')
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
    return float(sign * size * MM_PER_UNIT[unit])


def _size(match: re.Match[str]) -> Fraction:
    if match["whole"]:
        return int(match["whole"]) + Fraction(int(match["num"]), int(match["den"]))
    if match["only_num"]:
        return Fraction(int(match["only_num"]), int(match["only_den"]))
    return Fraction(match["decimal"])


def described(value: object) -> str:
    """What was found, as it would stand in a file."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, list):
        return "a list"
    if isinstance(value, dict):
        return "a table"
    if isinstance(value, str):
        return json.dumps(value if len(value) <= 60 else f"{value[:57]}...", ensure_ascii=False)
    return str(value)
