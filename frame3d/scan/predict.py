"""The fit of an end whose cut was found in a scan: what of the cut is sure, and its gap."""

from dataclasses import dataclass

import numpy as np

from frame3d.scan.cut_face import Face, likely, setups
from frame3d.scan.tube_axis import TubeAxis
from frame3d.surfaces.surface import Array
from frame3d.tolerance.displaced_cut import Cut, cut, seated
from frame3d.tolerance.target import Target

WAVES = range(2, 9)
CLEAR = 4.0  # deviations of the waves' common chi-square
WAVE_MM = 0.05  # what a file leaves, before anything is seen: as in tables/setup_errors.csv
STRETCHES = 72  # around: points of one share their noise, as those between a mesh's vertices do
ROUNDS_OF_NOISE = 3  # the noise is what the waves leave, and says how far they are believed
ROUNDS = 200
SURE = 1e12  # a precision, 1 over mm^2 or radians^2, at which a number is nil
DRAWS = 200  # of the fit's uncertainty
LEAST_STEEP = 0.1


@dataclass(frozen=True, eq=False)
class Prediction:
    """found, error: (P,) as `Face.found`, and standard errors; cut: the end as it is, one set-up,
    seated; gap, gap_error: its worst gap and what that may be off, mm; around: (T,) the same
    doubt of the widest gap at each of the target's angles; left: (N,) what neither
    tools nor waves explain, mm"""

    found: Array
    error: Array
    cut: Cut
    gap: float
    gap_error: float
    around: Array
    left: Array


def predict(face: Face, target: Target, axis: TubeAxis) -> Prediction:
    """The gap of the end that was found, with what the scan's noise makes of it.

    A gap is the widest of many, so that noise alone would open one: of a cut as drawn its doubts
    would be told as a gap. So what is found of each error of the cut counts as far as it stands
    clear of its own doubt (`sure`).
    """
    waves, doubt, covariance, left = _waved(face, target)
    covariance = covariance + face.response @ axis.covariance @ face.response.T
    best = face.found.copy()
    best[2:] = sure(best[2:], covariance[2:, 2:])  # the scan's own phase and lift are no errors
    rng = np.random.default_rng(1)
    every = np.concatenate([best[None], rng.multivariate_normal(best, covariance, DRAWS)])
    fields = np.concatenate([waves[None], rng.multivariate_normal(waves, doubt, DRAWS)])
    growth = axis.radius - float(np.hypot(*target.lines.basis[:2])[-1])
    done = _with_waves(cut(target, setups(every, target, growth)), fields)
    gaps = done.gap()
    one = Cut(target, done.setups.part(slice(0, 1)), done.stop[:1], done.seat[:1])
    widest = done.gaps().reshape(len(gaps), len(target.theta), -1).max(axis=2)
    gap_error, around = (
        np.sqrt(np.mean((each[1:] - each[0]) ** 2, axis=0)) for each in (gaps, widest)
    )
    error = np.sqrt(np.diag(covariance))
    return Prediction(face.found, error, one, float(gaps[0]), float(gap_error), around, left)


def sure(found: Array, covariance: Array) -> Array:
    """Numbers (P,), each drawn to nil as far as its doubt asks for; one that stands alone at z
    deviations becomes (1 - 1/z^2) of itself, and nil below one.

    Each number has a normal prior of its own about nil, whose spread the data tell: MacKay's
    automatic relevance determination (Neural Computation 4, 1992, 415-447, from memory).
    """
    information = np.linalg.pinv(covariance)
    precision = 1 / (found**2 + np.diag(covariance))
    known = found
    for _ in range(ROUNDS):
        own = np.linalg.inv(information + np.diag(precision))
        known = own @ information @ found
        share = 1 - precision * np.diag(own)
        precision = np.minimum(share / np.maximum(known**2, 1 / SURE), SURE)
    return np.asarray(known)


def _waved(face: Face, target: Target) -> tuple[Array, Array, Array, Array]:
    """Waves (2 W,) in what the tools leave, square to the surface, mm, and their covariance; the
    covariance (P, P) of the tools; and the rest of the distances (N,), mm.

    Waves are sought by Bayes' rule from a prior of WAVE_MM each, so that where the face was not
    seen they stay small and their doubt large; and believed where they stand clear of the noise.
    Then waves as large as they may have passed for tools too, and that is in the tools' doubt.
    """
    waves = _basis(face.theta)
    count = waves.shape[1]
    seen = (waves.T * face.chance) @ waves
    noise = _noise(face, waves, face.left)
    for _ in range(ROUNDS_OF_NOISE):
        known = seen / noise**2 + np.eye(count) / WAVE_MM**2
        covariance = np.asarray(np.linalg.inv(known), np.float64)
        found = covariance @ (waves.T @ (face.chance * face.left)) / noise**2
        left = face.left - waves @ found
        noise = _noise(face, waves, left)
    if found @ seen @ found / noise**2 < count + CLEAR * (2 * count) ** 0.5:
        found, covariance, left = np.zeros(count), np.zeros((count, count)), face.left
    noise = _noise(face, face.slope, left)
    tools = np.asarray(np.linalg.pinv(face.known / noise**2 + likely(target)), np.float64)
    passed = tools @ (face.slope.T * face.chance) @ waves / noise**2
    return found, covariance, tools + passed @ passed.T * (found**2).mean(), left


def _basis(theta: Array) -> Array:
    """Waves of 1 mm at angles (N,): (N, 2 W)."""
    order = theta[:, None] * np.array(WAVES)
    return np.hstack([np.cos(order), np.sin(order)])


def _noise(face: Face, slope: Array, left: Array) -> float:
    """Noise of a point, mm, as it counts in a fit of numbers with these slopes (N, P).

    Points share noise, as those between a mesh's vertices do: it is as much larger as what whole
    stretches of the face pull at the fit scatters more than single points would. Of a mesh whose
    triangles are wider than the wall, unlike a scanner's, this tells about two thirds of it.
    """
    noise = np.sqrt(np.average(left**2, weights=face.chance))
    stretch = np.floor(face.theta % (2 * np.pi) / (2 * np.pi) * STRETCHES).astype(int) % STRETCHES
    pull = np.zeros((STRETCHES, slope.shape[1]))
    np.add.at(pull, stretch, (face.chance * left)[:, None] * slope)
    alone = np.linalg.pinv((slope.T * face.chance) @ slope) / noise**2
    count, free = len(np.unique(stretch)), slope.shape[1]
    sharing = np.trace(alone @ pull.T @ pull) / free * count / (count - free)
    return float(noise * np.sqrt(max(1.0, sharing)))


def _with_waves(done: Cut, waves: Array) -> Cut:
    """The cut with waves (N, 2 W), square to its surface, taken off along the axis, reseated."""
    target = done.target
    field = np.repeat(waves @ _basis(target.theta).T, len(target.depth), axis=1)
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
