"""Colours as numbers, and the scale on which a gap is shown."""

from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

SCALE_STEPS = 256


def rgb(colour: str) -> tuple[float, float, float]:
    """Red, green, blue from 0 to 1 of "#rrggbb"."""
    red, green, blue = (int(colour[k : k + 2], 16) / 255 for k in (1, 3, 5))
    return red, green, blue


@cache
def cividis() -> Array:
    """The scale's colours (256, 3), 0 to 1, dark blue to yellow.

    Perceptually uniform, and nearly the same to eyes with red-green deficiency: Nuñez, Anderton
    and Renslow, "Optimizing colormaps with consideration for color vision deficiency", PLoS ONE
    13 (2018) e0199239; the values are matplotlib's.
    """
    from matplotlib import colormaps

    return np.asarray(colormaps["cividis"](np.linspace(0.0, 1.0, SCALE_STEPS)))[:, :3]


@dataclass(frozen=True)
class GapScale:
    """From no gap to `top`, mm; limits: the gaps that just pass, mm, smallest first."""

    top: float
    limits: tuple[float, ...]

    @staticmethod
    def around(limits: list[float]) -> "GapScale":
        """Twice the largest limit at the top, so that a limit never stands at the scale's end."""
        distinct = sorted({round(limit, 4) for limit in limits}) or [0.4]
        return GapScale(2 * distinct[-1], tuple(distinct))

    def colours(self, gap: Array) -> Array:
        """Colours (N, 3), 0 to 1, of gaps (N,), mm; beyond the scale its end colours."""
        where = np.clip(np.nan_to_num(gap, nan=0.0, neginf=0.0) / self.top, 0.0, 1.0)
        return np.asarray(cividis()[np.rint(where * (SCALE_STEPS - 1)).astype(int)])
