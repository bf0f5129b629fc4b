"""Lay a scanned end on its tube, find how its cut stands, and predict its gap.

The axis comes from the tube's outside. About and along it the end is laid down by its rim, first
roughly, against the nominal one, from any start. Then the tools are displaced until they lie on
the points of the end face: that gives the angle, centring and size of the cut that was made. The
rest that no displaced tool explains - filing, chatter - is kept as waves around the end.
"""

from dataclasses import dataclass, replace

import numpy as np
from scipy.optimize import least_squares

from frame3d.fit.budget.cut import Cut, Setups, cut, motion_of, seated
from frame3d.fit.budget.target import Target, target_of
from frame3d.fit.scan.axis import TubeAxis, find_axis
from frame3d.fit.scan.read import ScanError
from frame3d.surfaces.cope import Cope
from frame3d.surfaces.surface import Array

BINS = 120  # around the rim
LEAST_SEEN = 0.7  # of the bins; a third of an end that nobody saw is not guessed
LEAST_FACE = 150  # points on the end face
ROUGH_MM = 1.0  # a rim that differs more from the nominal one, in the middle, is another end
GATES_MM = (1.5, 0.6, 0.25)  # points of the end face are taken this near, round by round
SOFT_MM = 0.05
LEAST_STEEP = 0.1
OTHER_TURN = np.radians(30.0)  # turns further apart are different ways to lay the end
ALIKE_MM = 0.1
WAVES = range(2, 9)
WAVE_MM = 0.05  # what a file leaves, before anything is seen: as in tables/setup_errors.csv
FACE_BINS = 36
LEAST_FACE_SEEN = 0.5
DRAWS = 200  # of the fit's uncertainty


@dataclass(frozen=True, eq=False)
class ScanFit:
    """What a scan tells.

    tilt, centring, growth: (K,) of each tool: degrees, mm, mm of its radius
    tilt_error: standard error of the first tilt, degrees
    od:         of the tube as scanned, mm; unit: of the file; noise: of the scan, mm
    seen:       share of the rim that was scanned, and face_seen: of the cut face of the wall
    alike:      the end looks nearly alike turned about its axis: clock positions may be the
                other ones
    cut:        the end as it is, one set-up, seated
    gap, gap_error: predicted worst gap and its standard error, mm
    face:       (N, 3) points of the end face in the end's frame, mm; left: (N,) what the displaced
                tools leave unexplained, mm, positive where metal is missing
    """

    tilt: Array
    centring: Array
    growth: Array
    tilt_error: float
    od: float
    unit: str
    noise: float
    seen: float
    cut: Cut
    gap: float
    gap_error: float
    face: Array
    left: Array
    face_seen: float
    alike: bool = False


def fit_scan(points: Array, cope: Cope) -> ScanFit:
    """Predict the fit of a scanned end of the joint that `cope` is the nominal end of.

    Raises ScanError where the scan does not show the tube or enough of its end.
    """
    target = target_of(cope)
    tube = cope.tube
    station = tube.length if cope.end == "end" else 0.0
    radius, wall = float(tube.od(station)) / 2, float(tube.wall(station))
    axis = find_axis(points, radius, wall)
    laid, seen, alike = _laid(axis, target, wall)
    away = np.hypot(laid[:, 0], laid[:, 1])
    within = (away < axis.radius - 3 * axis.noise) & (away > axis.radius - wall + 3 * axis.noise)
    return replace(_fitted(laid[within], target, axis, seen), alike=alike)


def _laid(axis: TubeAxis, target: Target, wall: float) -> tuple[Array, float, bool]:
    """All points in the end's frame, roughly; the share of the rim that was seen; and whether the
    end could as well be laid another way round."""
    turn, away, height = axis.across()
    outside = abs(away - axis.radius) < max(4 * axis.noise, 0.15 * wall)
    sense = 1.0 if target.cope.end == "end" else -1.0
    found = []
    for way in (1.0, -1.0):  # which end of the scan is the cope, and which where the scan stops
        theta = sense * way * turn
        rim, at = _rim(theta[outside], way * height[outside])
        if len(rim) < LEAST_SEEN * BINS:
            found.append((np.inf, 0.0, 0.0, theta, way, len(rim) / BINS, False))
            continue
        shift, lift, off, alike = _nearest_turn(at, rim, target)
        found.append((off, shift, lift, theta, way, len(rim) / BINS, alike))
    off, shift, lift, theta, way, seen, alike = min(found, key=lambda one: one[0])
    if not np.isfinite(off):
        raise ScanError(
            f"the scan shows {360 * seen:.0f} of 360 degrees of the tube's outside at the end, "
            f"expected {360 * LEAST_SEEN:.0f} or more: scan all around"
        )
    # A coarse scan misses the rim by about the distance between its points.
    spacing = float(np.sqrt(2 * np.pi * axis.radius * np.ptp(height[outside]) / outside.sum()))
    if off > ROUGH_MM + spacing:
        raise ScanError(
            f"the scanned end differs from the one of the job by {off:.1f} mm in the middle: is it "
            f"the {target.cope.end} of {target.cope.tube.name}?"
        )
    at_ = theta + shift
    laid = np.stack([away * np.cos(at_), away * np.sin(at_), way * height + lift], axis=1)
    return laid, seen, alike


def _rim(theta: Array, height: Array) -> tuple[Array, Array]:
    """Height of the rim in each bin that has points, and the bin's angle; single points far
    beyond the others, as clutter leaves them, are passed over."""
    bin_ = np.floor((theta % (2 * np.pi)) / (2 * np.pi) * BINS).astype(int) % BINS
    rims, angles = [], []
    for one in range(BINS):
        own = np.sort(height[bin_ == one])
        if len(own) >= 5:
            rims.append(own[-2])
            angles.append((one + 0.5) * 2 * np.pi / BINS)
    return np.array(rims), np.array(angles)


def _nearest_turn(at: Array, rim: Array, target: Target) -> tuple[float, float, float, bool]:
    """Turn and lift that lay the rim on the nominal one, the middle difference, mm, and whether
    another turn does nearly as well."""
    turns = np.radians(np.arange(0.0, 360.0, 1.0))
    lifts, offs = np.empty_like(turns), np.empty_like(turns)
    for i, shift in enumerate(turns):
        wanted = target.cope.position(at + shift, np.ones_like(at))
        lifts[i] = np.median(wanted - rim)
        offs[i] = np.mean(np.minimum(abs(wanted - rim - lifts[i]), 3.0))
    best = int(offs.argmin())
    far = abs((turns - turns[best] + np.pi) % (2 * np.pi) - np.pi) > OTHER_TURN
    alike = bool(offs[far].min() < offs[best] + ALIKE_MM)
    return float(turns[best]), float(lifts[best]), float(offs[best]), alike


def _fitted(points: Array, target: Target, axis: TubeAxis, seen: float) -> ScanFit:
    count = len(target.sawn)
    free = 2 + 3 * count + 2 * (count - 1)
    p = np.zeros(free)
    used = points
    for gate in GATES_MM:
        used = points[abs(_left(p, points, target, axis)) < gate]
        if len(used) < LEAST_FACE:
            raise ScanError(
                f"the scan has {len(used)} points on the end face of the wall, expected "
                f"{LEAST_FACE} or more: scan the rim more finely"
            )
        fit = least_squares(
            _left, p, args=(used, target, axis), loss="soft_l1", f_scale=SOFT_MM, x_scale="jac"
        )
        p = fit.x
    left = _left(p, used, target, axis)
    noise = max(float(1.4826 * np.median(abs(left))), 1e-6)
    covariance = np.linalg.pinv(fit.jac.T @ fit.jac) * noise**2
    theta = np.arctan2(used[:, 1], used[:, 0]) + p[0]
    waves, waves_covariance = _waves(theta, left, noise)
    face_seen = _share_seen(theta)
    if face_seen < LEAST_FACE_SEEN:
        raise ScanError(
            f"the scan shows {360 * face_seen:.0f} of 360 degrees of the wall's end face, expected "
            f"{360 * LEAST_FACE_SEEN:.0f} or more: scan the cut itself, from the end"
        )
    growth = axis.radius - float(np.hypot(*target.lines.basis[:2])[-1])
    drawn = np.random.default_rng(1).multivariate_normal(p, covariance, DRAWS)
    drawn[:, 2::1][:, :1] += axis.tilt_error * np.random.default_rng(2).standard_normal((DRAWS, 1))
    every = np.concatenate([p[None], drawn])
    done = cut(target, _setups(every, target, growth))
    rng = np.random.default_rng(3)
    fields = rng.multivariate_normal(waves, waves_covariance, DRAWS)
    fields = np.concatenate([waves[None], fields])
    done = _with_waves(done, fields)
    gaps = done.gap()
    tools = _tools(p, target)
    one = replace(
        done, setups=done.setups.part(slice(0, 1)), stop=done.stop[:1], seat=done.seat[:1]
    )
    turned = np.stack(
        [
            np.hypot(used[:, 0], used[:, 1]) * np.cos(theta),
            np.hypot(used[:, 0], used[:, 1]) * np.sin(theta),
            used[:, 2] + p[1],
        ],
        axis=1,
    )
    return ScanFit(
        np.degrees(tools[:, 0]),
        tools[:, 1],
        tools[:, 2],
        float(np.degrees(np.hypot(covariance[2, 2] ** 0.5, axis.tilt_error))),
        2 * axis.radius,
        axis.unit,
        axis.noise,
        seen,
        one,
        float(gaps[0]),
        float(gaps[1:].std()),
        turned,
        left,
        face_seen,
    )


def _tools(p: Array, target: Target) -> Array:
    """(..., K, 5): tilt, centring, growth, phase and depth of each tool. The first tool's phase
    and depth are those of the whole end: p[0], p[1]."""
    count = len(target.sawn)
    own = p[..., 2 : 2 + 3 * count].reshape(*p.shape[:-1], count, 3)
    rest = p[..., 2 + 3 * count :].reshape(*p.shape[:-1], count - 1, 2)
    zero = np.zeros((*p.shape[:-1], 1, 2))
    return np.concatenate([own, np.concatenate([zero, rest], axis=-2)], axis=-1)


def _setups(p: Array, target: Target, growth: float) -> Setups:
    tools = _tools(p, target)
    normal, out = target.normals, np.array([0.0, 0.0, 1.0])
    turn = tools[..., :1] * normal + tools[..., 3:4] * out
    shift = tools[..., 1:2] * normal + tools[..., 4:5] * out
    count = len(p)
    return Setups(turn, shift, tools[..., 2], np.zeros(tools.shape[:2]), np.full(count, growth))


def _left(p: Array, points: Array, target: Target, axis: TubeAxis) -> Array:
    """Signed distance (N,) of points of the end face to the nearest displaced tool."""
    turned = np.stack(
        [
            points[:, 0] * np.cos(p[0]) - points[:, 1] * np.sin(p[0]),
            points[:, 0] * np.sin(p[0]) + points[:, 1] * np.cos(p[0]),
            points[:, 2] + p[1],
        ],
        axis=1,
    )
    setups = _setups(p[None], target, 0.0)
    nearest = np.full(len(points), np.inf)
    for k, tool in enumerate(target.tools):
        grown = float(setups.tool[0, k])
        away = tool.distance(turned, grown, motion_of(target, setups, k))
        nearest = np.minimum(nearest, away)
    return nearest


def _share_seen(theta: Array) -> float:
    """Share of the way around that has points."""
    turn = np.floor(theta % (2 * np.pi) / (2 * np.pi) * FACE_BINS).astype(int) % FACE_BINS
    return len(np.unique(turn)) / FACE_BINS


def _basis(theta: Array) -> Array:
    order = np.array(WAVES)[:, None] * theta
    return np.concatenate([np.cos(order), np.sin(order)])


def _waves(theta: Array, left: Array, noise: float) -> tuple[Array, Array]:
    """Waves (2 W,) square to the surface, mm, of what is left, and their covariance.

    By Bayes' rule from a prior of WAVE_MM each, so that where the face was not seen the waves stay
    small and their doubt large. Nil unless they stand clear of the noise (three deviations of
    their common chi-square).
    """
    basis = _basis(theta)
    weight = 1 / (1 + (left / (3 * noise)) ** 2)
    seen = (basis * weight) @ basis.T / noise**2
    covariance = np.asarray(np.linalg.inv(seen + np.eye(len(seen)) / WAVE_MM**2), np.float64)
    found = covariance @ ((basis * weight) @ left) / noise**2
    size = float(found @ seen @ found)
    clear = size > len(found) + 3 * (2 * len(found)) ** 0.5
    return (np.asarray(found), covariance) if clear else (0 * found, np.zeros_like(seen))


def _with_waves(done: Cut, waves: Array) -> Cut:
    """The cut with waves (N, 2 W), square to its surface, taken off along the axis, reseated."""
    target = done.target
    field = np.repeat(waves @ _basis(target.theta), len(target.depth), axis=1)
    return seated(target, done.setups, done.stop - field / steepness(target))


def steepness(target: Target) -> Array:
    """How square the nominal end face stands to the axis at each line: (G,), at most 1; not less
    than LEAST_STEEP, since along a grazing surface a millimetre of metal means nothing."""
    cope = target.cope
    theta, depth = (g.ravel() for g in np.meshgrid(target.theta, target.depth, indexing="ij"))
    points = cope.points(theta, depth)
    step = 1e-4 * cope.frame.out
    distances = [
        (
            tool.distance(points - cope.seat * cope.frame.out + step)
            - tool.distance(points - cope.seat * cope.frame.out - step)
        )
        / 2e-4
        for tool in cope.tools
    ]
    nearest = np.argmin(
        [abs(tool.distance(points - cope.seat * cope.frame.out)) for tool in cope.tools], axis=0
    )
    slope = np.take_along_axis(np.array(distances), nearest[None], axis=0)[0]
    return np.asarray(np.maximum(-slope, LEAST_STEEP))
