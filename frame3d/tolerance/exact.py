"""One displaced set-up at a time by the surfaces themselves: slow, and what the fast ones are held
against."""

import numpy as np

from frame3d.surfaces.displaced import Displaced
from frame3d.surfaces.surface import Array, Surface
from frame3d.tolerance.displaced_cut import Setups, motion_of, outside_at
from frame3d.tolerance.patch import to_world
from frame3d.tolerance.target import Target

TRIAL_MM, TRIAL_RAD = 0.3, 0.005


def displaced_tool(target: Target, setups: Setups, i: int, k: int) -> Displaced:
    """Tool k as set-up i has it; the slide to the nominal seat is not in it."""
    from scipy.spatial.transform import Rotation  # only where a mate is shaped: it loads slowly

    cope = target.cope
    axes = np.stack([cope.frame.datum, cope.frame.side, cope.frame.out])
    motion = motion_of(target, setups, k)
    matrix = Rotation.from_rotvec(motion.turn[i]).as_matrix()
    about = cope.frame.origin + (motion.pivot - [0.0, 0.0, cope.seat]) @ axes
    return Displaced(
        cope.tools[k], axes.T @ matrix @ axes, about, motion.shift[i] @ axes, setups.tool[i, k]
    )


def grown_mate(target: Target, setups: Setups, i: int, k: int) -> Displaced:
    """Mate k of set-up i."""
    nothing = np.zeros(3)
    return Displaced(target.cope.mates[k], np.eye(3), nothing, nothing, setups.mate[i, k])


def exact_gap(target: Target, setups: Setups, i: int) -> float:
    """Worst gap, mm, of set-up i over the target's lines, seated; nan where a tool misses some of
    them, which leaves a fin that the surfaces alone have no end for."""
    frame, lines = target.cope.frame, target.lines
    grown = float(setups.tube[i])
    count = range(len(target.sawn))
    mates = [grown_mate(target, setups, i, k) for k in count]
    tools: list[Surface] = [displaced_tool(target, setups, i, k) for k in count]

    def entry(surfaces: list[Surface], lift: float, outside: list[float]) -> Array:
        found = []
        for surface, more in zip(surfaces, outside, strict=True):
            start = to_world(lines.at(np.full_like(lines.stop, -frame.run - lift), more), frame)
            found.append(surface.entry(start, frame.out))
        return np.asarray(np.min(found, axis=0) - frame.run)

    seen = [float(outside_at(target, setups, k)[i]) for k in count]
    stop = entry(tools, target.cope.seat, seen)
    if not np.isfinite(stop).all():
        return float("nan")
    met = entry(list(mates), 0.0, [grown] * len(mates))
    seat = -np.max(stop - met)
    points = to_world(lines.at(stop + seat, grown), frame)
    return float(np.max(np.min([mate.distance(points) for mate in mates], axis=0)))


def trial_setups(target: Target) -> Setups:
    """Six set-ups, off by as much as a poor shop's: beside and along the tube's axis, and tilted,
    either way."""
    count = len(target.sawn)
    turn, shift = np.zeros((6, count, 3)), np.zeros((6, count, 3))
    shift[0] = TRIAL_MM * target.normals
    shift[1] = -TRIAL_MM * target.normals
    turn[2] = TRIAL_RAD * target.normals
    turn[3] = -TRIAL_RAD * target.normals
    shift[4, :, 2], shift[5, :, 2] = TRIAL_MM, -TRIAL_MM
    nothing = np.zeros((6, count))
    return Setups(turn, shift, nothing, nothing, np.zeros(6))
