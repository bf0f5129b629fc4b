"""Which block holds which end of a tube, and what to do where none can."""

from typing import Literal

from frame3d.mill.blocks import Placing, clear_of, place
from frame3d.mill.outside_lines import mark_step
from frame3d.mill.pose import Pose
from frame3d.model import ENDS, End, Mill, Tube

Poses = dict[End, tuple[Pose, ...]]
Seats = dict[Literal["start", "end", "both"], Placing]


def held(
    tube: Tube, poses: Poses, order: tuple[End, End], mill: Mill
) -> tuple[Seats, Poses, tuple[str, ...]]:
    """Blocks, the cuts that can be made so, and advice.

    A round straight tube without a place for a block can still be held otherwise and set by the
    same numbers. A bent or an oval one cannot: its cuts fall away.
    """
    seats: Seats = {}
    advice: list[str] = []
    shaped = tube.oval is not None or bool(tube.bends)
    kept = dict(poses)
    for end in order:
        if not poses[end] and (shaped or sum(map(len, poses.values())) < 2):
            continue  # a second block only stands beside one that is turned between two cuts
        placing, words = place(tube, end, poses[end], mill)
        if placing is not None:
            seats[end] = placing
        elif shaped:
            kept[end] = ()
        if words and words not in advice and (poses[end] or placing is not None):
            advice.append(words)
    sawn = [end for end in order if poses[end]]
    if len(seats) == 2 and sum(p.inner + mark_step(mill) for p in seats.values()) > tube.length:
        if len(sawn) == 1:
            return {sawn[0]: seats[sawn[0]]}, kept, tuple(advice)
        both = [p for end in order if (p := seats[end]) and _clears(tube, p, poses, mill)]
        seats = {"both": both[0]} if both else {}
        advice.append(
            "too short for two blocks: one block holds it for both ends; set each cut's line under "
            "the middle of the face that is up"
            if both
            else "too short for a block between the saws of both ends: cut its first end on a "
            "blank left longer, saw it to length, and hold it on a stub in its bore for the other"
        )
    return seats, kept, tuple(advice)


def _clears(tube: Tube, placing: Placing, poses: Poses, mill: Mill) -> bool:
    """Whether a block placed for one end clears the saws of the other as well."""
    other = next(end for end in ENDS if end != placing.end)
    return tube.length - placing.inner >= clear_of(poses[other], placing.block, mill)
