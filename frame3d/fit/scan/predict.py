"""The fit of an end whose cut was found in a scan: what of the cut is sure, and its gap."""

from dataclasses import dataclass

import numpy as np

from frame3d.fit.budget.cut import Cut, cut, seated
from frame3d.fit.budget.target import Target
from frame3d.fit.scan.axis import TubeAxis
from frame3d.fit.scan.face import Face, setups
from frame3d.surfaces.surface import Array

WAVES = range(2, 9)
WAVE_MM = 0.05  # what a file leaves, before anything is seen: as in tables/setup_errors.csv
STRETCHES = 72  # around: points of one share their noise, as those between a mesh's vertices do
ROUNDS = 200
SURE = 1e12  # a precision, 1 over mm^2 or radians^2, at which a number is nil
DRAWS = 200  # of the fit's uncertainty
LEAST_STEEP = 0.1


@dataclass(frozen=True, eq=False)
class Prediction:
    """cut: the end as it is, one set-up, seated; gap, gap_error: its worst gap and what that may be
    off, mm; covariance: (P, P) of the numbers that were found; left: (N,) what neither tools nor
    waves explain, mm"""

    cut: Cut
    gap: float
    gap_error: float
    covariance: Array
    left: Array


def predict(face: Face, target: Target, axis: TubeAxis) -> Prediction:
    """The gap of the end that was found, with what the scan's noise makes of it.

    A gap is the widest of many, so that noise alone would open one: of a cut as drawn its doubts
    would be told as a gap. So what is found of each error of the cut counts as far as it stands
    clear of its own doubt (`sure`).
    """
    waves, waves_covariance, left = _waves(face)
    noise = np.sqrt(np.average(left**2, weights=face.chance))
    noise *= np.sqrt(_sharing(face, face.slope, left, noise))
    covariance = noise**2 * face.spread + face.response @ axis.covariance @ face.response.T
    best = face.found.copy()
    best[2:] = sure(best[2:], covariance[2:, 2:])
    rng = np.random.default_rng(1)
    every = np.concatenate([best[None], rng.multivariate_normal(best, covariance, DRAWS)])
    fields = rng.multivariate_normal(waves, waves_covariance, DRAWS)
    growth = axis.radius - float(np.hypot(*target.lines.basis[:2])[-1])
    done = cut(target, setups(every, target, growth))
    done = _with_waves(done, np.concatenate([waves[None], fields]))
    gaps = done.gap()
    one = Cut(target, done.setups.part(slice(0, 1)), done.stop[:1], done.seat[:1])
    error = float(np.sqrt(np.mean((gaps[1:] - gaps[0]) ** 2)))
    return Prediction(one, float(gaps[0]), error, covariance, left)


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


def _sharing(face: Face, slope: Array, left: Array, noise: float) -> float:
    """How many points, on average, have one noise in common, at least 1: the scatter of what
    stretches of the face pull at the fit, against that of single points."""
    stretch = np.floor(face.theta % (2 * np.pi) / (2 * np.pi) * STRETCHES).astype(int) % STRETCHES
    pull = np.zeros((STRETCHES, slope.shape[1]))
    np.add.at(pull, stretch, (face.chance * left)[:, None] * slope)
    alone = np.linalg.pinv((slope.T * face.chance) @ slope) / noise**2
    count, free = len(np.unique(stretch)), slope.shape[1]
    scatter = float(np.trace(alone @ pull.T @ pull)) / free
    return float(max(1.0, scatter * count / (count - free)))


def _basis(theta: Array) -> Array:
    order = np.array(WAVES)[:, None] * theta
    return np.concatenate([np.cos(order), np.sin(order)])


def _waves(face: Face) -> tuple[Array, Array, Array]:
    """Waves (2 W,) square to the surface, mm, of what is left, their covariance, and the rest.

    By Bayes' rule from a prior of WAVE_MM each, so that where the face was not seen the waves stay
    small and their doubt large. Nil unless they stand clear of the noise (three deviations of
    their common chi-square).
    """
    basis = _basis(face.theta)
    prior = np.eye(len(basis)) / WAVE_MM**2
    normal = (basis * face.chance) @ basis.T
    found, noise = np.zeros(len(basis)), face.noise
    for _ in range(3):  # the noise is what the waves leave
        covariance = np.asarray(np.linalg.inv(normal / noise**2 + prior), np.float64)
        found = covariance @ ((basis * face.chance) @ face.left) / noise**2
        rest = face.left - found @ basis
        alone = np.sqrt(np.average(rest**2, weights=face.chance))
        noise = float(alone * np.sqrt(_sharing(face, basis.T, rest, alone)))
    size = float(found @ normal @ found) / noise**2
    if size > len(found) + 3 * (2 * len(found)) ** 0.5:
        return found, covariance, rest
    return np.zeros(len(found)), np.zeros_like(covariance), face.left


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
