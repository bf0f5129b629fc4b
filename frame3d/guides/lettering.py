"""Letters as flat outlines, for embossing.

matplotlib lays out text as outlines; `fonts` says of which font.
"""

from dataclasses import dataclass
from functools import cache

import numpy as np
from manifold3d import CrossSection, FillRule

from frame3d.fonts import font_file, spelled

FINE = 0.006  # curves of letters are drawn this closely, in heights of capitals
LEAST_CAP_MM = 3.0  # smaller capitals have strokes thinner than one printed line
BEST_CAP_MM = 5.0
CAP_PER_SIZE = 0.729  # height of capitals in DejaVu Sans over its size (font's own OS/2 table)


@dataclass(frozen=True, eq=False)
class Line:
    """One line of letters from (0, 0) to the right on its base line. width, cap: mm."""

    text: str
    outline: CrossSection
    width: float
    cap: float


def line(text: str, cap: float) -> Line:
    """`text` with capitals `cap` mm high."""
    if not text.strip():
        return Line(text, CrossSection(), 0.0, cap)
    outline = _outline(text).scale((cap, cap))
    return Line(text, outline, outline.bounds()[2], cap)


@cache
def _outline(text: str) -> CrossSection:
    """`text` with capitals of height 1, beginning at x = 0."""
    from matplotlib.font_manager import FontProperties
    from matplotlib.textpath import TextPath

    text = spelled(text)
    bold = FontProperties(fname=font_file(text, bold=True))
    # Curves become straight pieces at this size, a hundred times that of the outline.
    path = TextPath((0.0, 0.0), text, size=100.0 / CAP_PER_SIZE, prop=bold)
    polygons = [np.asarray(polygon, float)[:-1] / 100.0 for polygon in path.to_polygons()]
    # TrueType letters turn clockwise; where strokes overlap they still are one.
    outline = CrossSection(polygons, FillRule.NonZero).simplify(FINE)
    return outline.translate((-outline.bounds()[0], 0.0))


def arrow(cap: float) -> Line:
    """An arrow to the right, as high as capitals of `cap` mm."""
    shaft, half, length = 0.16 * cap, 0.5 * cap, 1.6 * cap
    neck = length - half
    points = [(0, -shaft), (neck, -shaft), (neck, -half), (length, 0)]
    points += [(x, -y) for x, y in reversed(points[:3])]
    outline = CrossSection([np.array(points, float)]).translate((0.0, half))
    return Line("→", outline, length, cap)


def fitted(text: str, width: float, best: float) -> Line:
    """`text` as large as `best` allows and as small as `width` demands, but not below the least."""
    full = line(text, best)
    if full.width <= width:
        return full
    return line(text, max(best * width / full.width, LEAST_CAP_MM))


def shortened(
    text: str, width: float, best: float, head: str = "", tail: str = "", most: float = 0.0
) -> Line:
    """`text` between `head` and `tail` as `fitted`, with letters of `text` left out at its end, or
    all of it, where even the least size is wider than `width` and than `most`."""
    head, tail = head.strip() and head, tail.strip() and tail
    made, widest = fitted(head + text + tail, width, best), max(width, most)
    while made.width > widest and len(text) > 1:
        text = text[: min(len(text) - 1, int(len(text) * widest / made.width) + 1)].rstrip()
        made = fitted(f"{head}{text}…{tail}", width, best)
    return made if made.width <= widest or not head else fitted(head.strip(), width, best)
