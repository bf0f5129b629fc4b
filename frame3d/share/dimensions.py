"""Dimensions of any tube: its length along its axis, drawn beside it."""

import numpy as np

from frame3d.model import Tube, direction, end_frame
from frame3d.share.scene import Dimension
from frame3d.surfaces.cope import Copes

ASIDE_MM = 14.0  # from a tube's side to its dimension line


def tube_dimension(tube: Tube, copes: Copes, length: float) -> Dimension:
    """The finished length of a tube, mm, tip to tip."""
    ends = []
    for end in ("start", "end"):
        at = end_frame(tube, end)
        cope = copes.get((tube.name, end))
        reach = cope.tip.value if cope else 0.0
        ends.append(at.origin + (reach if np.isfinite(reach) else 0.0) * at.out)
    axis = direction(tube)
    aside = np.array([-axis[2], 0.0, axis[0]])  # square to the axis as seen from the side
    size = np.linalg.norm(aside)
    aside = aside / size if size > 0.3 else np.array([0.0, 0.0, 1.0])
    aside = aside if aside[2] >= 0 else -aside
    aside = aside * (max(tube.od.value) / 2 + ASIDE_MM)
    a, b, c = (tuple(float(x) for x in v) for v in (*ends, aside))
    return Dimension("", f"{length:.1f}", a, b, c)  # type: ignore[arg-type]
