"""Lay a scanned end on its tube, find how its cut stands, and predict its gap.

The axis comes from the tube's outside (`axis`). About and along it the end is laid by its rim, from
any start (`lay`). Then the tools are displaced until they lie on the points of the end face
(`face`): that gives the angle, centring and size of the cut that was made. What no displaced tool
explains - filing, chatter - is kept as waves around the end, and all of it makes the gap
(`predict`).
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from frame3d.scan.cut_face import Face, fit_face, tools
from frame3d.scan.predict import predict
from frame3d.scan.read import ScanError, Wanted
from frame3d.scan.rough_registration import ALIKE_MM, Way, alike, ways_to_lay
from frame3d.scan.tube_axis import find_axis
from frame3d.surfaces.cope import Cope
from frame3d.surfaces.surface import Array
from frame3d.tolerance.displaced_cut import Cut
from frame3d.tolerance.target import Target, target_of

MOST_WAYS = 4
FAR_ALONG = 0.5  # a scan with less of its points by the end reaches far along the tube
KEPT = 2.0  # diameters of the tube behind the end's throat
CLEARLY = 1.2  # a way to lay the scan is better than one with a nearer rim by this factor


@dataclass(frozen=True, eq=False)
class ScanFit:
    """What a scan tells.

    tilt, centring, growth: (K,) of each tool: degrees, mm, mm of its radius
    tilt_error, centring_error: (K,) their standard errors, degrees and mm
    od:         of the tube as scanned, mm; unit: of the file; noise: of the scan, mm
    seen:       share of the rim that was scanned, and face_seen: of the cut face of the wall
    cut:        the end as it is, one set-up, seated
    gap, gap_error: predicted worst gap and its standard error, mm; around: (T,) that of the widest
                gap at each angle of the cut's target
    face:       (N, 3) points of the end face in the end's frame, mm; left: (N,) what the displaced
                tools leave unexplained, mm, positive where metal is missing
    alike:      the end looks nearly alike turned about its axis: clock positions may be the
                other ones
    """

    tilt: Array
    tilt_error: Array
    centring: Array
    centring_error: Array
    growth: Array
    od: float
    unit: str
    noise: float
    seen: float
    face_seen: float
    cut: Cut
    gap: float
    gap_error: float
    around: Array
    face: Array
    left: Array
    alike: bool

    @property
    def angles(self) -> tuple[Array, Array]:
        """Between the tube and each mate, as drawn and as cut: (K,) each, degrees."""
        slope = np.array([mate.axis[2] for mate in self.cut.target.mates])
        drawn = np.degrees(np.arccos(abs(slope)))
        return drawn, drawn + np.where(slope < 0, -1.0, 1.0) * self.tilt


def fit_scan(points: Array, cope: Cope, part: Callable[[Wanted], Array] | None = None) -> ScanFit:
    """Predict the fit of a scanned end of the joint that `cope` is the nominal end of.

    part: gives a part of the scan alone, as `Scan.part` does, in case it reaches far along the tube

    Raises ScanError where the scan does not show the tube or enough of its end.
    """
    target = target_of(cope)
    tube = cope.tube
    station = tube.length if cope.end == "end" else 0.0
    radius, wall = float(tube.od(station)) / 2, float(tube.wall(station))
    axis = find_axis(points, radius, wall)
    local = axis.local()
    ways = ways_to_lay(axis, local, target, wall)
    if part is not None:
        behind = _behind(target, 2 * radius)
        if (_out(ways[0], local) > behind).mean() < FAR_ALONG:
            _one_end_only(ways, target)
            near = part(lambda scan: _out(ways[0], axis.local_of(scan)) > behind)
            return fit_scan(near, cope)
    face, seen, refused = None, 0.0, None
    for way in ways[:MOST_WAYS]:
        try:
            other = fit_face(axis, local, way, target, wall)
        except ScanError as error:
            refused = refused or error
            continue
        if face is None or _good(other) > CLEARLY * _good(face):
            face, seen = other, way.seen
    if face is None:
        assert refused is not None
        raise refused
    end = predict(face, target, axis)
    found, errors = tools(end.found, target), tools(end.error, target)
    return ScanFit(
        np.degrees(found[:, 0]),
        np.degrees(errors[:, 0]),
        found[:, 1],
        errors[:, 1],
        found[:, 2],
        2 * axis.radius,
        axis.unit,
        axis.noise,
        seen,
        face.seen,
        end.cut,
        end.gap,
        end.gap_error,
        end.around,
        face.points,
        end.left,
        alike(ways),
    )


def _out(way: Way, local: Array) -> Array:
    """How far out points (N, 3) lie along the tube: (N,), mm."""
    return np.asarray(way(local)[:, 2])


def _behind(target: Target, od: float) -> float:
    """Where along the tube what belongs to the end begins, mm."""
    return float(target.lines.stop.min()) - KEPT * od


def _one_end_only(ways: list[Way], target: Target) -> None:
    """Raise ScanError where the other end of the tube looks like the one in question."""
    best = ways[0]
    others = [way for way in ways if way.outward != best.outward]
    if others and others[0].off < best.off + ALIKE_MM:
        cope = target.cope
        raise ScanError(
            f"the scan holds both ends of the tube, and either may be the {cope.end} of "
            f"{cope.tube.name}: cut the scan down to that end"
        )


def _good(face: Face) -> float:
    """Many points close to a face speak for it."""
    return float(face.chance.sum()) / face.noise
