"""The pictures on the guide sheet show the whole guide, each its own."""

from pathlib import Path

import numpy as np
from PIL import Image

import frame3d
from frame3d.guides.plan import printed_guides
from frame3d.view.guide_pictures import SIZE, guide_pictures

EXAMPLES = Path(__file__).parents[3] / "examples"


def test_each_guide_is_drawn_whole_and_as_large_as_it_may(tmp_path: Path) -> None:
    frame = frame3d.open(EXAMPLES / "diamond" / "job.toml").frame
    guides = [each.guide for each in printed_guides(frame)[0]]
    names = ("seat tube start", "left seat stay start")
    chosen = [next(guide for guide in guides if guide.name == name) for name in names]
    pictures = []
    for path in guide_pictures(chosen, tmp_path):
        with Image.open(path) as image:
            assert image.size == SIZE
            pictures.append(np.asarray(image.convert("L")) < 235)
    for drawn in pictures:
        rows, columns = np.flatnonzero(drawn.any(axis=1)), np.flatnonzero(drawn.any(axis=0))
        assert rows[0] > 2 and rows[-1] < SIZE[1] - 3 and columns[0] > 2
        assert columns[-1] < SIZE[0] - 3, "cut off by the picture's edge"
        assert max(np.ptp(rows) / SIZE[1], np.ptp(columns) / SIZE[0]) > 0.85
    assert (pictures[0] != pictures[1]).mean() > 0.02
