"""What helps a cut end that does not close: where to file, or which saw to cut it again with."""

import numpy as np

from frame3d.model import Frame, Joint
from frame3d.surfaces.surface import Array
from frame3d.tolerance.displaced_cut import Cut, Setups, cut
from frame3d.tolerance.filing import filing
from frame3d.tolerance.filing import words as filing_words


def remedies(frame: Frame, joint: Joint, done: Cut, short: float, limit: float) -> tuple[str, ...]:
    """In words, what helps the single end `done` that stays open by more than `limit`, mm; `short`
    is what it is drawn back, mm, since the tube is too short."""
    if float(done.gap()[0]) <= limit:
        return (
            f"by itself the end fits: the tube is {2 * short:.2f} mm too short between its ends, "
            "which no file mends; cut another",
        )
    told = filing_words(filing(done, limit), limit)
    if short:
        told.append(
            f"the tube is {2 * short:.2f} mm too short as it is, so that there is nothing to spare "
            "for a file or a new cut: cut another"
        )
        return tuple(told)
    return (*told, _again(frame, joint, done, limit))


def _again(frame: Frame, joint: Joint, done: Cut, limit: float) -> str:
    """Cut again where the job has it: by what, the gap then, and what it takes off."""
    setups = done.setups
    tools: dict[str, Array] = {}
    if None not in joint.saws and len(set(joint.saws)) == 1:
        own = joint.saws[0]
        assert own is not None
        for od in sorted({own, *(saw.od for saw in frame.shop.saws)}):
            tools[f"the {od:g} mm saw"] = np.full_like(setups.tool, (od - own) / 2)
    else:
        by = "the job's saws" if any(done.target.sawn) else "a new guide or wrap"
        tools[by] = np.zeros_like(setups.tool)
    nothing = np.zeros_like(setups.turn)
    again = {
        by: cut(done.target, Setups(nothing, nothing, tool, setups.mate, setups.tube))
        for by, tool in tools.items()
    }
    by, best = min(again.items(), key=lambda one: float(one[1].gap()[0]))
    gap = float(best.gap()[0])
    off = max(float((best.stop - done.stop).max()), 0.0)
    text = f"cut again as drawn by {by}, {off:.2f} mm further in, the gap is {gap:.3f} mm"
    return text if gap <= limit else f"{text}, still over {limit:.3f}: it needs another saw"
