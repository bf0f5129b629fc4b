"""Whether the tube fits into the saw's cup, and what waste to take away first if it does not."""

from dataclasses import dataclass

import numpy as np

from frame3d.mill.metal import LEAST_LEFT_MM, Depth, Metal, takes_metal, tip_of, waste_to_saw_off
from frame3d.mill.pose import Pose
from frame3d.mill.printed_numbers import length
from frame3d.model import Frame

CHIPS_MM = 2.0  # room for chips above the metal in the saw's cup; own choice, no source
LEAST_PASS_MM = 5.0  # a shorter pass is not worth raising the saw for; own choice, no source


@dataclass(frozen=True)
class Cup:
    """cup: the depth that the saw needs; clear: after how much of the run to raise the saw and
    snip off the waste inside it, 0 where it need not be; mm. words: where even so it is too shallow
    """

    cup: float
    clear: float
    words: str = ""


def saw_off(frame: Frame, poses: tuple[Pose, ...], metal: Metal) -> float:
    """How much to saw square off an end before its cuts, so that all of them fit, mm.

    Where sawing off alone does not do, as much as may go.
    """
    over = frame.shop.mill.overtravel + CHIPS_MM
    most, state = 0.0, metal
    for pose in poses:
        saw = frame.shop.saw(2 * pose.radius)
        if not takes_metal(pose, state):
            continue
        if saw.depth is not None:
            waste = waste_to_saw_off(pose, state, saw, over)
            tip = tip_of(pose)
            if waste is None:
                waste = max(metal.square - tip - 1.0, 0.0)
                most = max(most, float(np.floor(waste)))
            elif waste > 0.0:
                whole = float(np.ceil(waste))
                most = max(
                    most,
                    whole if metal.square - whole > tip + LEAST_LEFT_MM else length(waste) + 0.001,
                )
        state = state.after(pose)
    return most


def cup_of(frame: Frame, pose: Pose, depth: Depth) -> Cup:
    """What a cut asks of its saw."""
    over = frame.shop.mill.overtravel + CHIPS_MM
    whole = length(depth.tall + over)
    known = frame.shop.saw(2 * pose.radius).depth
    if known is None or whole <= known:
        return Cup(whole, 0.0)
    clear = float(np.floor(known - CHIPS_MM - depth.above))
    if clear >= LEAST_PASS_MM:  # in even steps
        run = depth.run + frame.shop.mill.overtravel
        clear = float(np.ceil(run / np.ceil(run / clear)))
    where = f"{pose.cope.end}, {2 * pose.radius:g} mm saw"
    needs = f"it cuts {known:g} mm deep, this cut takes {whole:.1f} mm"
    if clear < LEAST_PASS_MM:
        return Cup(whole, 0.0, f"{where}: {needs}: use a deeper saw")
    words = (
        f"{where}: {needs} in one run: cut in steps of {clear:g} mm and snip off the waste inside "
        "the saw between them, or use a deeper saw"
    )
    return Cup(length(depth.above + clear + CHIPS_MM), clear, words)
