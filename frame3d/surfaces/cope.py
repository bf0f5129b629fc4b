"""The exact shape of a coped end: where its metal stops, and how far it slides to its seat."""

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from frame3d.cache import cached
from frame3d.model import (
    End,
    EndFrame,
    Frame,
    Joint,
    Tube,
    angle_between,
    end_frame,
    phase,
)
from frame3d.model.tube_section import lateral
from frame3d.surfaces.extremes import Peak, largest
from frame3d.surfaces.fixed_point import settled
from frame3d.surfaces.outer import outer_surface, saw_surface
from frame3d.surfaces.surface import Array, Surface


@dataclass(frozen=True)
class Grid:
    """Steps over the end face: angles around it and depths through the wall; closing_in: whether
    what lies between them is found too."""

    angles: int
    depths: int
    closing_in: bool


FINE = Grid(360, 9, closing_in=True)
COARSE = Grid(72, 3, closing_in=False)
SETTLED_MM = 1e-8  # a line along a wall that changes is found so closely
BESIDE_MM = 1.0  # the solids' tools stand over the wall, by less than this


@dataclass(frozen=True, eq=False)
class Cope:
    """A coped end as it is finished: cut, and slid along its axis to its seat.

    mates: outer surfaces of the tubes it meets, in the joint's order
    tools: what shapes it, in the same order: a saw's cylinder, or the mate's own surface
    theta, depth: steps of a grid over the end face, angles (T,) and depths (D,)
    seat:  slide along the axis, mm, positive towards the mates
    """

    tube: Tube
    end: End
    frame: EndFrame
    mates: tuple[Surface, ...]
    tools: tuple[Surface, ...]
    theta: Array
    depth: Array
    seat: float = 0.0

    @cached_property
    def follows_mates(self) -> bool:
        """Whether the mates themselves shape it: then it touches them all around."""
        return all(tool is mate for tool, mate in zip(self.tools, self.mates, strict=True))

    @cached_property
    def entered(self) -> tuple[Surface, ...]:
        """The tools, as lines along the tube enter them, within BESIDE_MM of it."""
        return tuple(self._met(tool) for tool in self.tools)

    @cached_property
    def _entered_mates(self) -> tuple[Surface, ...]:
        return tuple(self._met(mate) for mate in self.mates)

    def _met(self, surface: Surface) -> Surface:
        frame = self.frame
        return surface.met_by(frame.origin, frame.out, self.tube.widest + BESIDE_MM)

    @cached_property
    def face_stop(self) -> Array:
        """`position` on the grid of `face`."""
        return self.position(*self.face())

    @cached_property
    def met(self) -> tuple[bool, ...]:
        """Whether any line of the end runs into each tool, from the middle of the tube outward."""
        if len(self.entered) == 1:
            return (bool(np.isfinite(self.face_stop).any()),)
        return tuple(
            bool(np.isfinite(self._stop((tool,), self.seat, *self.face())).any())
            for tool in self.entered
        )

    @cached_property
    def tip(self) -> Peak:
        """The farthest point of the end; -inf where nothing is shaped."""
        return self._farthest(1.0)

    @cached_property
    def throat(self) -> Peak:
        """The deepest point of the end, as a peak of its negative position."""
        return self._farthest(-1.0)

    def _farthest(self, sense: float) -> Peak:
        def reach(stop: Array) -> Array:
            return np.where(np.isfinite(stop), sense * stop, -np.inf)

        return largest(
            lambda theta, depth: reach(self.position(theta, depth)),
            self.theta,
            self.depth,
            reach(self.face_stop),
        )

    def face(self) -> tuple[Array, Array]:
        """Angles and depths (N,) of a grid all over the end face."""
        theta, depth = np.meshgrid(self.theta, self.depth, indexing="ij")
        return theta.ravel(), depth.ravel()

    def position(self, theta: Array, depth: Array) -> Array:
        """Where the metal stops along the axis, mm outward from the axis's end point: (N,).

        theta (N,) radians from the datum; depth (N,) 0 at the bore to 1 at the outside.
        inf for a line that no tool reaches; -frame.run for one cut away behind the middle.
        """
        return self._stop(self.entered, self.seat, theta, depth)

    def position_across(self, offsets: Array) -> Array:
        """`position` for offsets (N, 2) from the axis along the datum and side directions, mm."""
        return self._first_entry(self.tools, self.seat, offsets)

    def positions_across(self, offsets: Array) -> Array:
        """Where lines at offsets (N, 2) from the axis, along the datum and side directions, mm,
        enter each tool for itself: (T, N), mm outward from the axis's end point, or inf. Within
        BESIDE_MM of the tube."""
        return np.stack([self._first_entry((tool,), self.seat, offsets) for tool in self.entered])

    def face_points(self) -> Array:
        """The finished end's points (N, 3) on the grid of `face`, world coordinates; nan where the
        end is not shaped."""
        theta, depth = self.face()
        return self._points_at(self.face_stop, theta, depth)

    def points(self, theta: Array, depth: Array) -> Array:
        """The finished end's points (N, 3), world coordinates; nan where the end is not shaped."""
        return self._points_at(self.position(theta, depth), theta, depth)

    def _points_at(self, stop: Array, theta: Array, depth: Array) -> Array:
        stop = np.where(np.isfinite(stop), stop, np.nan)
        return self._world(self._offsets(stop, theta, depth), stop)

    def outside_tools(self, stop: Array, theta: Array, depth: Array) -> Array:
        """Whether points (N,) at positions `stop` along the axis, mm, stand clear of all tools."""
        points = self._world(self._offsets(stop, theta, depth), stop - self.seat)
        return np.asarray(np.min([tool.distance(points) for tool in self.tools], axis=0) > 0)

    def lack_of_room(self, theta: Array, depth: Array) -> Array:
        """How far each point of the end would have to slide back to just touch a mate: (N,), mm.

        Negative where it could slide on; -inf where it never meets a mate, or was never shaped.
        """
        shaped = self._stop(self.entered, self.seat, theta, depth)
        met = self._stop(self._entered_mates, 0.0, theta, depth)
        counts = np.isfinite(shaped) & np.isfinite(met) & (shaped > -self.frame.run)
        with np.errstate(invalid="ignore"):
            return np.where(counts, shaped - met, -np.inf)

    def gap(self, theta: Array, depth: Array) -> Array:
        """Signed distance of the end to the nearest mate: (N,), mm; -inf where it is not shaped."""
        stop = self.position(theta, depth)
        shaped = np.isfinite(stop)
        result = np.full(len(stop), -np.inf)
        points = self._world(self._offsets(stop, theta, depth)[shaped], stop[shaped])
        result[shaped] = np.min([mate.distance(points) for mate in self.mates], axis=0)
        return result

    def _stop(self, tools: tuple[Surface, ...], seat: float, theta: Array, depth: Array) -> Array:
        def met(stop: Array) -> Array:
            return self._first_entry(tools, seat, self._offsets(stop, theta, depth))

        stop = met(np.zeros(len(theta)))
        return stop if self._is_even(stop) else settled(met, stop, SETTLED_MM)

    @cached_property
    def is_even(self) -> bool:
        """Whether the tube's section is the same all along the end."""
        return self._is_even(self.face_stop)

    def _is_even(self, stop: Array) -> bool:
        """Whether the section is the same from the axis's end point to all positions `stop`."""
        low, high = self._even
        stop = stop.clip(-self.frame.run, self.frame.run)
        return bool(low <= stop.min(initial=0.0) and stop.max(initial=0.0) <= high)

    @cached_property
    def _even(self) -> tuple[float, float]:
        """From which to which position the section is what it is at the axis's end point, mm."""
        low, high = self.tube.even_about(self.tube.length if self.end == "end" else 0.0)
        return (
            (low - self.tube.length, high - self.tube.length)
            if self.end == "end"
            else (-high, -low)
        )

    def _first_entry(self, tools: tuple[Surface, ...], seat: float, offsets: Array) -> Array:
        """Position (N,) of the first entry into any of `tools`, moved outward by `seat`."""
        origins = self._world(offsets, np.full(len(offsets), -self.frame.run - seat))
        entries = [tool.entry(origins, self.frame.out) for tool in tools]
        return np.asarray(np.min(entries, axis=0) - self.frame.run)

    def _offsets(self, stop: Array, theta: Array, depth: Array) -> Array:
        stop = np.clip(stop, -self.frame.run, self.frame.run)
        station = self.tube.length + stop if self.end == "end" else -stop
        return lateral(self.tube, station, theta, depth)

    def _world(self, offsets: Array, stop: Array) -> Array:
        across = offsets @ np.stack([self.frame.datum, self.frame.side])
        return np.asarray(self.frame.origin + across + stop[:, None] * self.frame.out)


Copes = dict[tuple[str, End], Cope]


def cope_of(frame: Frame, joint: Joint, grid: Grid = FINE) -> Cope:
    """The finished end of a joint, seated."""
    mating = tuple(frame.tube(name) for name in joint.onto)
    return _cope(frame.tube(joint.tube), joint.end, mating, joint.saws, grid)


@cached
def _cope(
    tube: Tube, end: End, mating: tuple[Tube, ...], saws: tuple[float | None, ...], grid: Grid
) -> Cope:
    frame_of_end = end_frame(tube, end)
    mates = tuple(outer_surface(mate) for mate in mating)
    tools = tuple(
        surface if saw is None else saw_surface(mate, saw, frame_of_end.origin)
        for mate, surface, saw in zip(mating, mates, saws, strict=True)
    )
    # Starting the grid in the plane of the axes puts its sides, where a saw runs out, on the grid.
    first = np.radians(phase(tube, mating[0], end))
    theta = first + np.arange(grid.angles) * (2 * np.pi / grid.angles)
    depth = np.linspace(0.0, 1.0, grid.depths)
    return seated(Cope(tube, end, frame_of_end, mates, tools, theta, depth), grid.closing_in)


def copes_of(frame: Frame) -> Copes:
    """All finished ends. Left out are those whose axes are too near parallel to shape one."""
    return {
        (joint.tube, joint.end): cope_of(frame, joint)
        for joint in frame.joints
        if not too_parallel(frame, joint)
    }


def too_parallel(frame: Frame, joint: Joint) -> tuple[str, ...]:
    """The mates whose axes are nearer to parallel with the tube's than the limit."""
    tube = frame.tube(joint.tube)
    least = frame.limits.least_angle_deg
    return tuple(
        name for name in joint.onto if angle_between(tube, frame.tube(name), joint.end) < least
    )


def seated(cope: Cope, closing_in: bool = True) -> Cope:
    """Slide the end along its axis until it first touches: the greatest lack of room becomes 0.

    closing_in: between the points of its grid too
    """
    if cope.follows_mates:
        return cope
    # A bore or outside that changes along the axis changes the end as it slides; thrice settles it.
    for _ in range(3):
        if closing_in:
            least = -largest(cope.lack_of_room, cope.theta, cope.depth).value
        else:
            least = -float(cope.lack_of_room(*cope.face()).max())
        if not np.isfinite(least):
            return cope
        cope = replace(cope, seat=cope.seat + least)
        if cope.is_even:
            break
    return cope
