"""Numbers as the pages print them: rounded once, with unit and meaning kept beside each field."""

import math
from dataclasses import field, fields, is_dataclass
from typing import Any

import numpy as np

LENGTH_DIGITS = 3  # mm: a micrometre
ANGLE_DIGITS = 4  # degrees: a micrometre at 500 mm


def printed(unit: str, meaning: str) -> Any:
    """A dataclass field that goes on a page. unit: "mm", "deg", "" for a word or a count."""
    return field(metadata={"unit": unit, "meaning": meaning})


def length(value: float) -> float:
    """mm as printed."""
    return round(float(value), LENGTH_DIGITS) + 0.0  # -0.0 becomes 0.0


def angle(value: float) -> float:
    """Degrees as printed."""
    return round(float(value), ANGLE_DIGITS) + 0.0


def direction_angle(value: float) -> float:
    """Degrees as printed, 0 up to 360."""
    turned = angle(value % 360.0)
    return 0.0 if turned >= 360.0 else turned


def key(name: str, unit: str) -> str:
    """The name of a number in JSON: its unit belongs to it."""
    return f"{name}_{unit}" if unit else name


def as_json(sheet: Any) -> Any:
    """Printed dataclasses as plain data, each number under its name with its unit; null where there
    is no such number, as of an end that is not cut whole."""
    if is_dataclass(sheet) and not isinstance(sheet, type):
        return {
            key(f.name, f.metadata.get("unit", "")): as_json(getattr(sheet, f.name))
            for f in fields(sheet)
        }
    if isinstance(sheet, tuple | list):
        return [as_json(item) for item in sheet]
    plain = sheet.item() if isinstance(sheet, np.generic) else sheet
    return None if isinstance(plain, float) and not math.isfinite(plain) else plain


def meanings(*kinds: type) -> dict[str, str]:
    """What each printed number of these dataclasses means, by its name in JSON."""
    return {
        key(f.name, f.metadata["unit"]): f.metadata["meaning"]
        for kind in kinds
        for f in fields(kind)
        if "meaning" in f.metadata
    }
