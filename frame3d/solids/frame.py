"""All tubes of a frame as finished solids, and the volume that any two share."""

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from frame3d.model import ENDS, Frame
from frame3d.solids.facets import CHORD_MM
from frame3d.solids.tube import FinishedTube, finished_tube
from frame3d.surfaces.cope import Copes


@dataclass(frozen=True)
class Clash:
    """Two tubes that stand in each other, and by how much, mm3."""

    tubes: tuple[str, str]
    volume: float


@dataclass(frozen=True, eq=False)
class Solids:
    """Finished tubes by name, in the job's order."""

    tubes: dict[str, FinishedTube]

    @cached_property
    def boxes(self) -> NDArray[np.float64]:
        """(T, 2, 3): least and greatest corner of each tube, mm."""
        return np.array([t.solid.bounding_box() for t in self.tubes.values()]).reshape(-1, 2, 3)


def frame_solids(
    frame: Frame,
    copes: Copes,
    chord: float = CHORD_MM,
    done: Callable[[str], None] = lambda name: None,
) -> Solids:
    """Cut every tube; `done` hears the name of each."""
    tubes = {}
    for tube in frame.tubes:
        own = {end: copes[tube.name, end] for end in ENDS if (tube.name, end) in copes}
        tubes[tube.name] = finished_tube(tube, own, chord)
        done(tube.name)
    return Solids(tubes)


def clashes(frame: Frame, solids: Solids) -> list[Clash]:
    """Pairs of tubes that stand in each other by more than the limit.

    A coped tube and its mate only touch: the cope ends it at the first entry, and the seat takes
    back what a saw left too long. All other pairs are measured.
    """
    joined = {frozenset((joint.tube, name)) for joint in frame.joints for name in joint.onto}
    names = list(solids.tubes)
    low, high = solids.boxes[:, 0], solids.boxes[:, 1]
    meet = (low[:, None] < high[None]).all(axis=2) & (low[None] < high[:, None]).all(axis=2)
    found = []
    for i, j in np.argwhere(np.triu(meet, 1)):
        pair = names[i], names[j]
        if frozenset(pair) in joined:
            continue
        volume = (solids.tubes[pair[0]].solid ^ solids.tubes[pair[1]].solid).volume()
        if volume > frame.limits.clash_mm3:
            found.append(Clash(pair, float(volume)))
    return found
