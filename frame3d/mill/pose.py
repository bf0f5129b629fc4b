"""How a tube lies under the spindle for one cut: exact numbers, not yet rounded."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from frame3d.surfaces.cope import Cope
from frame3d.surfaces.cylinder import Cylinder
from frame3d.surfaces.surface import Array

LEVEL_DEG = 5e-5  # a smaller tilt prints as zero, and either side may then face up


@dataclass(frozen=True, eq=False)
class Pose:
    """The spindle is the saw's axis, so the mate's direction stands upright, x points along the
    tube's end in plan, y away. Lengths mm, angles radians.

    cope, which: the end and the number of the tool that this cut is for
    rise:        tilt of the outward axis above level, negative where the cut end is low
    up:          unit direction (3,) in world axes, square to the tube, of the line that faces up
    """

    cope: Cope
    which: int
    rise: float
    up: Array

    @property
    def saw(self) -> Cylinder:
        tool = self.cope.tools[self.which]
        assert isinstance(tool, Cylinder)
        return tool

    @property
    def radius(self) -> float:
        """Of the saw."""
        return self.saw.radius

    @property
    def is_level(self) -> bool:
        return abs(float(np.degrees(self.rise))) < LEVEL_DEG

    @cached_property
    def away(self) -> Array:
        """World direction (3,) that points to the column: z cross x."""
        return np.cross(self.up, self.cope.frame.out)

    @cached_property
    def line_up(self) -> float:
        """Angle of the line that faces up from the datum, radians, right-handed start to end."""
        frame = self.cope.frame
        return float(np.arctan2(self.up @ frame.side, self.up @ frame.datum))

    @cached_property
    def _saw_point(self) -> Array:
        """A point of the saw's axis from the axis's end point, along (out, away, up).

        The end slides `seat` outward after the cut, or, what is the same for the tube, the saw
        stands that much farther out.
        """
        frame = self.cope.frame
        point = self.saw.point + self.cope.seat * frame.out - frame.origin
        return np.array([point @ frame.out, point @ self.away, point @ self.up])

    @cached_property
    def y(self) -> float:
        """The saw's axis from the tube's, positive to the column."""
        return float(self._saw_point[1])

    @cached_property
    def x(self) -> float:
        """The saw's axis in plan, from the tube's end point on its axis, positive outward."""
        return float(
            self._saw_point[0] * np.cos(self.rise) - self._saw_point[2] * np.sin(self.rise)
        )

    def along(self, x: float | Array, height: float | Array) -> Array:
        """How far out along the tube a point lies, mm, from its place in plan and its height
        square to the axis."""
        return np.asarray((x + height * np.sin(self.rise)) / np.cos(self.rise))

    def turned_over(self) -> "Pose":
        """The same cut with the opposite line up; only a level tube gives the choice."""
        return Pose(self.cope, self.which, -self.rise, -self.up)


def pose_of(cope: Cope, which: int, *, cut_end_high: bool) -> Pose:
    """Stand the saw's axis upright, with the cut end on the wanted side of level."""
    out = cope.frame.out
    tool = cope.tools[which]
    assert isinstance(tool, Cylinder)
    upright = tool.axis if (tool.axis @ out >= 0) == cut_end_high else -tool.axis
    square = upright - (upright @ out) * out
    size = float(np.linalg.norm(square))
    return Pose(cope, which, float(np.arctan2(upright @ out, size)), square / size)
