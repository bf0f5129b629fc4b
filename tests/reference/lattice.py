"""A generated lattice of any number of tubes, each ten of them alike."""

from reference.frames import frame, tube

from frame3d.build import Build
from frame3d.check.report import Report
from frame3d.model import Frame
from frame3d.solids.frame_solids import Solids

BAY_MM = 240.0
CHORD_MM = 0.5  # coarser than the default, so that a thousand tubes take seconds
HEIGHTS = range(0, 320, 40)


def lattice(count: int) -> Frame:
    """Cells of two posts and eight rungs with a cope at both ends; the topmost rung leads from the
    one cell to the next, or stays within the last."""
    tubes, joints = [], []
    cells = count // 10
    for cell in range(cells):
        x, y = 2 * BAY_MM * (cell % 10), 2 * BAY_MM * (cell // 10)
        first, second = f"first post {cell}", f"second post {cell}"
        tubes.append(tube(first, (x, y, -30), (x, y, 340), 30.0, 1.2))
        tubes.append(tube(second, (x + BAY_MM, y, -30), (x + BAY_MM, y, 340), 30.0, 1.2))
        for height in HEIGHTS:
            name = f"rung {cell}, {height}"
            mates, low, high = (first, second), x, x + BAY_MM
            if height == max(HEIGHTS) and cell % 10 < 9 and cell + 1 < cells:
                mates = (second, f"first post {cell + 1}")
                low, high = x + BAY_MM, x + 2 * BAY_MM
            tubes.append(tube(name, (low, y, height), (high, y, height + 12), 20.0, 0.9))
            joints += [(name, "start", {mates[0]: 31.0}), (name, "end", {mates[1]: 31.0})]
    return frame(f"lattice of {count}", tubes, joints)


def built(made: Frame) -> tuple[Solids, Report]:
    build = Build(made, chord=CHORD_MM)
    return build.solids(), build.report
