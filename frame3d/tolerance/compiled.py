"""Loops over set-ups and lines, compiled: numpy would read and write an array for each of their
thirty sums, products and roots. Compiled once on a machine where its cache can be written."""

from collections.abc import Callable
from typing import TypeVar

from numba import boolean, float64, intp, njit, types

Loop = TypeVar("Loop", bound=Callable[..., object])

number, flag = float64, boolean
one, two, three = (types.Array(float64, d, "A", readonly=True) for d in (1, 2, 3))  # any layout
rows, lines = (types.Array(float64, d, "C", readonly=True) for d in (2, 1))
blocks = types.Array(float64, 3, "C", readonly=True)
places = types.Array(intp, 1, "C", readonly=True)
out, out_rows = (types.Array(float64, d, "C") for d in (1, 2))


def compiled(*takes: types.Type, gives: types.Type = types.void) -> Callable[[Loop], Loop]:
    """Most loops fill their last argument. Other threads run meanwhile. Infinities and nan are what
    they are in numpy; a product and its sum may be rounded once."""

    def made(loop: Loop) -> Loop:
        options = {"nogil": True, "error_model": "numpy", "fastmath": {"contract"}}
        signature = gives(*takes)
        try:
            return njit(signature, cache=True, **options)(loop)  # type: ignore[no-any-return]
        except RuntimeError:  # no folder for its cache can be written
            return njit(signature, **options)(loop)  # type: ignore[no-any-return]

    return made
