"""The picture of a scanned end: its numbers can be read whatever the end's shape."""

from itertools import combinations
from types import SimpleNamespace

import numpy as np
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from frame3d.view.scan_plot import _end


@pytest.mark.parametrize("high", [0.1, 1.5, 6.0, 20.0, 40.0])
@pytest.mark.parametrize("radius", [7.0, 15.9])
def test_numbers_and_titles_of_the_scanned_end_stand_apart(high: float, radius: float) -> None:
    theta = np.linspace(0.0, 2 * np.pi, 72, endpoint=False)
    rim = [radius * np.cos(theta), radius * np.sin(theta), -18.0 + high / 2 * np.cos(2 * theta)]
    target = SimpleNamespace(theta=theta)
    cut = SimpleNamespace(target=target, gaps=lambda: np.full((1, 72 * 3), 0.1))
    figure = Figure(figsize=(9.5, 5.2), layout="constrained")
    axes = figure.subplot_mosaic([["end", "gap"]], per_subplot_kw={"end": {"projection": "3d"}})
    _end(figure, axes["end"], SimpleNamespace(cut=cut, face=np.stack(rim, axis=1)), 0.4)
    FigureCanvasAgg(figure).draw()
    shown = axes["end"]
    for axis in (shown.xaxis, shown.yaxis, shown.zaxis):
        # A 3d axis hides what lies beyond its limits: only what is drawn counts.
        low, top = sorted(axis.get_view_interval())
        ticks = [tick for tick in axis.get_major_ticks() if low <= tick.get_loc() <= top]
        assert len(ticks) > 1
        texts = [tick.label1 for tick in ticks]
        if axis is shown.zaxis:  # the others' titles run aslant
            texts.append(axis.label)
        boxes = [text.get_window_extent() for text in texts]
        assert not any(one.overlaps(other) for one, other in combinations(boxes, 2))
