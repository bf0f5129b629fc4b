"""The cut in a scan: the tools are displaced until they lie on the points of the end face.

A scanned point lies on the outside, in the bore, or on a face that one of the tools has cut, and
near an edge nobody can say on which. So each point belongs to each surface with a chance. With d_i
the distances to the surfaces, positive towards the metal, c_ij the cosine between two normals, s
the scan's noise, and phi, Phi the normal density and its integral, surface i alone has near the
point a density of

    phi(d_i / s) times the product over j of Phi((d_j - c_ij d_i) / (s sqrt(1 - c_ij^2)))

since noise along i and beside it are independent; a point's chances are in the ratio of these.
Weighted by them the distances to the face are nil on average right up to its edges, where taking
the points within some band would lose them, or lean. This is the EM algorithm (Dempster, Laird,
Rubin 1977, from memory); what the doubt itself costs in information is Louis' correction (1982,
from memory).
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import least_squares
from scipy.special import log_ndtr

from frame3d.scan.read import ScanError
from frame3d.scan.rough_registration import Way
from frame3d.scan.tube_axis import TubeAxis, leaning
from frame3d.surfaces.surface import Array
from frame3d.tolerance.displaced_cut import Setups, motion_of
from frame3d.tolerance.setup_errors import phases_shared
from frame3d.tolerance.target import Target

GATES_MM = (1.5, 0.6, 0.25)  # points of the wall are taken this near to the face, round by round
SOFT_MM = 0.05
LEAST_FACE = 150  # points on the end face
EDGE_MM = 0.3  # beside the wall: points so far out may still be the face's
BORE_MM = (0.5, 20.0)  # behind the face, where the bore is looked at
STRAY = 3.5  # deviations at which a point may as well be clutter
ROUNDS = 30
SETTLED = 0.02  # of their standard errors: tools that move less have been found
LEAST_NOISE_MM = 1e-3
LEAST_ASIDE = 0.1  # sine between two surfaces; along grazing ones no edge is to be seen
STEP = 1e-4  # mm and radians, for slopes
# What a tool is off by before anything is seen, as standard deviations: tilt, centring, growth,
# phase and depth, radians and mm. A poor shop's several times over, so that it counts only where a
# scan hardly tells, as of a mate that takes a narrow part of the end; own choice.
LIKELY = np.array([np.radians(0.5), 0.4, 0.15, np.radians(1.0), 0.5])
FACE_BINS = 36
LEAST_FACE_SEEN = 0.5


@dataclass(frozen=True, eq=False)
class Face:
    """The cut in a scan: how the tools stand that made it.

    found:    (P,) phase and lift of the scan, then of each tool what `tools` says
    known:    (P, P) what the points tell of it, as the inverse of a covariance for a noise of 1 mm
    response: (P, 4) how `found` follows the axis where it leans and moves
    points:   (N, 3) on the face, in the end's frame, mm; left: (N,) from there to the tools, mm,
              positive where metal is missing; chance: (N,) that a point is the face's; slope:
              (N, P) of the distance by `found`
    noise:    of `left`, mm; seen: share of the way around that has points
    """

    found: Array
    known: Array
    response: Array
    points: Array
    left: Array
    chance: Array
    slope: Array
    noise: float
    seen: float

    @property
    def theta(self) -> Array:
        return np.arctan2(self.points[:, 1], self.points[:, 0])


def fit_face(axis: TubeAxis, local: Array, way: Way, target: Target, wall: float) -> Face:
    """Find the cut in the points `local` of a tube, laid roughly.

    Raises ScanError where too little of the end face was scanned.
    """
    depth = axis.radius - np.hypot(local[:, 0], local[:, 1])
    at_wall = (depth > -EDGE_MM) & (depth < wall + EDGE_MM)
    local, depth = local[at_wall], depth[at_wall]
    p, noise = _roughly(way(local[_well_within(depth, wall, axis.noise)]), target)
    away = np.min(distances(p, way(local), target), axis=0)
    bore = _bore(local[(away > BORE_MM[0]) & (away < BORE_MM[1])], axis.radius, wall)
    local = local[abs(away) < GATES_MM[-1]]
    skins = _skins(local, axis.radius, bore)
    noise = max(noise, axis.noise, LEAST_NOISE_MM)
    p, noise, away, chance, slope = _closely(p, noise, local, way, skins, target)
    # What is in doubt of where a point belongs is lost: Louis' correction.
    certain = chance * (1 - (1 - chance) * (away / noise) ** 2)
    known = np.einsum("kn,knp,knq->pq", certain, slope, slope)
    by_axis = _slopes(lambda by: distances(p, way(leaning(local, by)), target), np.zeros(4))
    lean = np.einsum("kn,knp,kna->pa", chance, slope, by_axis)
    response = -np.linalg.pinv(known + noise**2 * likely(target)) @ lean
    own = chance.argmax(axis=0), np.arange(len(local))
    on = chance[own] > 0.5
    points = _laid(p, way(local))[on]
    seen = _share_seen(points)
    if seen < LEAST_FACE_SEEN:
        raise ScanError(
            f"the scan shows {360 * seen:.0f} of 360 degrees of the wall's end face, expected "
            f"{360 * LEAST_FACE_SEEN:.0f} or more: scan the cut itself, from the end"
        )
    left, sure, rise = (values[own][on] for values in (away, chance, slope))
    return Face(p, known, response, points, left, sure, rise, noise, seen)


def tools(p: Array, target: Target) -> Array:
    """(..., K, 5): tilt, centring, growth, phase and depth of each tool, radians and mm. The whole
    end is turned so that its cuts share what their phases are off, as it is in the jig: that turn
    is p[0]. The first tool's depth is the whole end's: p[1]."""
    count = len(target.sawn)
    own = p[..., 2 : 2 + 3 * count].reshape(*p.shape[:-1], count, 3)
    rest = p[..., 2 + 3 * count :].reshape(*p.shape[:-1], count - 1, 2)
    zero = np.zeros((*p.shape[:-1], 1, 2))
    phase_and_depth = np.concatenate([zero, rest], axis=-2)
    phase_and_depth[..., 0] = phases_shared(phase_and_depth[..., 0])
    return np.concatenate([own, phase_and_depth], axis=-1)


def likely(target: Target) -> Array:
    """What is known of the tools before anything is seen, as the inverse of a covariance (P, P);
    nothing of how the scan lies."""
    first, other = LIKELY[:3], LIKELY[3:]
    count = len(target.sawn)
    size = np.concatenate([[np.inf, np.inf], np.tile(first, count), np.tile(other, count - 1)])
    return np.diag(size**-2.0)


def setups(p: Array, target: Target, growth: float) -> Setups:
    """The set-ups of (N, P) cuts, and of a tube grown by `growth` in radius, mm."""
    each = tools(p, target)
    normal, out = target.normals, np.array([0.0, 0.0, 1.0])
    turn = each[..., :1] * normal + each[..., 3:4] * out
    shift = each[..., 1:2] * normal + each[..., 4:5] * out
    return Setups(turn, shift, each[..., 2], np.zeros(each.shape[:2]), np.full(len(p), growth))


def distances(p: Array, points: Array, target: Target) -> Array:
    """Signed distances (K, N) of points of the end face to each displaced tool, mm."""
    laid = _laid(p, points)
    setup = setups(p[None], target, 0.0)
    return np.stack(
        [
            tool.distance(laid, float(setup.tool[0, k]), motion_of(target, setup, k))
            for k, tool in enumerate(target.tools)
        ]
    )


def _laid(p: Array, points: Array) -> Array:
    c, s = np.cos(p[0]), np.sin(p[0])
    x, y, z = points.T
    return np.stack([x * c - y * s, x * s + y * c, z + p[1]], axis=1)


def _roughly(points: Array, target: Target) -> tuple[Array, float]:
    """The cut by points well within the wall, robustly, and the noise about it, mm."""
    prior = SOFT_MM * np.sqrt(np.diag(likely(target)))
    p = np.zeros(len(prior))

    def left(p: Array, points: Array = points) -> Array:
        return np.asarray(distances(p, points, target).min(axis=0))

    def left_and_prior(p: Array, used: Array) -> Array:
        return np.concatenate([left(p, used), prior * p])

    for gate in GATES_MM:
        used = points[abs(left(p)) < gate]
        _enough(len(used))
        p = least_squares(
            left_and_prior, p, args=(used,), loss="soft_l1", f_scale=SOFT_MM, x_scale="jac"
        ).x
    return p, float(1.4826 * np.median(abs(left(p, used))))


def _closely(
    p: Array, noise: float, local: Array, way: Way, skins: tuple[Array, Array], target: Target
) -> tuple[Array, float, Array, Array, Array]:
    """The cut and the noise about it, mm, from rough ones, each point by its chance to be of a
    tool's face; then distances and chances (K, N), and slopes (K, N, P)."""
    prior = likely(target)
    for _ in range(ROUNDS):
        away = distances(p, way(local), target)
        chance = _chances(away, _normals(p, local, way, target), *skins, noise)
        _enough(chance.sum())
        noise = max(float(np.sqrt((chance * away**2).sum() / chance.sum())), LEAST_NOISE_MM)
        slope = _slopes(lambda q: distances(q, way(local), target), p)
        pull = np.einsum("kn,kn,knp->p", chance, away, slope) + noise**2 * prior @ p
        weight = np.einsum("kn,knp,knq->pq", chance, slope, slope) + noise**2 * prior
        step = np.linalg.pinv(weight) @ pull
        p = p - step
        if step @ pull < (SETTLED * noise) ** 2:
            break
    return p, noise, away, chance, slope


def _enough(count: float) -> None:
    if count < LEAST_FACE:
        raise ScanError(
            f"the scan has {count:.0f} points on the end face of the wall, expected "
            f"{LEAST_FACE} or more: scan the rim more finely"
        )


def _well_within(depth: Array, wall: float, noise: float) -> NDArray[np.bool_]:
    return (depth > 3 * noise) & (depth < wall - 3 * noise)


def _bore(local: Array, radius: float, wall: float) -> Array:
    """Centre and radius (3,) of the bore, mm, across the axis; the drawn one where it was not
    scanned."""
    bore = np.array([0.0, 0.0, radius - wall])
    for near in (wall / 3, wall / 6):
        away = np.hypot(local[:, 0] - bore[0], local[:, 1] - bore[1])
        on = local[abs(away - bore[2]) < near]
        if len(on) < LEAST_FACE:
            return bore
        out = np.hypot(on[:, 0], on[:, 1])
        bore = np.linalg.lstsq(np.column_stack([on[:, :2] / out[:, None], np.ones(len(on))]), out)[
            0
        ]
    return bore


def _skins(local: Array, radius: float, bore: Array) -> tuple[Array, Array]:
    """Distances (2, N) to outside and bore, mm, and their normals (2, N, 3)."""
    x, y, _ = local.T
    out, bored = np.hypot(x, y), np.hypot(x - bore[0], y - bore[1])
    outward = np.stack([x / out, y / out, np.zeros_like(x)], axis=1)
    return np.stack([radius - out, bored - bore[2]]), np.stack([-outward, outward])


def _normals(p: Array, local: Array, way: Way, target: Target) -> Array:
    """How each tool's distance grows, in the axis's frame: (K, N, 3)."""
    return _slopes(lambda by: distances(p, way(local + by), target), np.zeros(3))


def _chances(faces: Array, normals: Array, skins: Array, square: Array, noise: float) -> Array:
    """Chance (K, N) of each point to lie on the face of each tool."""
    d, n = np.concatenate([faces, skins]), np.concatenate([normals, square])
    cosine = np.einsum("ani,bni->abn", n, n)
    aside = np.sqrt(np.maximum(1 - cosine**2, LEAST_ASIDE**2))
    inside = log_ndtr((d[None] - cosine * d[:, None]) / (aside * noise))
    inside[np.arange(len(d)), np.arange(len(d))] = 0.0
    density = np.exp(inside.sum(axis=1) - (d / noise) ** 2 / 2)
    return np.asarray(density[: len(faces)] / (density.sum(axis=0) + np.exp(-(STRAY**2) / 2)))


def _slopes(values: Callable[[Array], Array], at: Array) -> Array:
    """Slopes of `values` (K, N) by each number of `at` (P,): (K, N, P)."""
    return np.stack(
        [(values(at + step) - values(at - step)) / (2 * STEP) for step in STEP * np.eye(len(at))],
        axis=-1,
    )


def _share_seen(points: Array) -> float:
    theta = np.arctan2(points[:, 1], points[:, 0]) % (2 * np.pi)
    bins = np.floor(theta / (2 * np.pi) * FACE_BINS).astype(int) % FACE_BINS
    return len(np.unique(bins)) / FACE_BINS
