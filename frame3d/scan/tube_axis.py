"""The tube's axis in a scan: a cylinder found among clutter, then fitted robustly."""

from dataclasses import dataclass

import numpy as np
from scipy.optimize import least_squares
from scipy.spatial import cKDTree

from frame3d.scan.read import ScanError
from frame3d.surfaces.surface import Array

UNITS = {"mm": 1.0, "cm": 10.0, "in": 25.4, "m": 1000.0}
UNIT_WORDS = {"mm": "mm", "cm": "cm", "in": "inches", "m": "metres"}
# How many neighbours give a point's normal, and how near, as a share of the radius, a point lies
# on the cylinder that is looked for. A coarse scan shows outside and bore as one rough skin.
LOOKS = ((12, 0.015), (24, 0.015), (80, 0.05))
TRIES = 800
TRIED_ON = 4000
LOOKED_AT = 40_000  # points among which neighbours are found: closer ones show noise, not a normal
FITTED_FROM, FITTED_ON = 60_000, 15_000  # points, and of the outside: more only make it slower
ROUGHLY_ON = 3000  # of both skins
# The bore of a tube that is larger than drawn may pass for its outside: that is the outermost skin
# with a good share of the points of the fullest one, of layers of so many to a wall, so far out.
SKIN_SHARE, LAYERS_A_WALL, LOOKED_BEYOND = 0.5, 8, 0.15
OTHER_SKIN = 0.25  # of the wall: an outside farther off is another skin
OTHER_STARTS = np.arange(-2, 5) / 2  # walls beyond the drawn outside
OD_OFF = 0.04  # a radius may differ from the drawn one by this share; own choice
LEAST_SHARE = 0.1  # of all points that must lie on the tube
SOFT_MM = 0.05
LEAST_ACROSS = 0.3  # sine between two normals that fix an axis
OFF_SQUARE = 0.15  # a normal on the tube stands square to the axis within this cosine
MOST_ROUNDS = 20
SETTLED = 0.1  # of the noise: an axis that moves less has been found


@dataclass(frozen=True, eq=False)
class TubeAxis:
    """point, along: (3,), mm and unit, in the scan's own axes; radius: mm; noise: mm; unit: of the
    file; centre: (3,) what was taken off the file's points; points: (N, 3) all, mm; covariance:
    (4, 4) of how the axis leans and stands off in the two directions of `local`, radians and mm."""

    point: Array
    along: Array
    radius: float
    noise: float
    unit: str
    centre: Array
    points: Array
    covariance: Array

    def local(self) -> Array:
        """The points (N, 3), mm, with the axis as their third direction, right-handed."""
        return self._laid(self.points)

    def local_of(self, points: Array) -> Array:
        """The same of points (N, 3) of the file."""
        return self._laid((points - self.centre) * UNITS[self.unit])

    def _laid(self, points: Array) -> Array:
        relative = points - self.point
        return np.asarray(relative @ np.stack([*_square(self.along), self.along]).T)


def leaning(local: Array, change: Array) -> Array:
    """`local` points (N, 3), were the axis found leaned and moved by `change` (4,): to first order,
    radians and mm."""
    x, y, along = local.T
    return np.stack(
        [
            x - change[0] * along - change[2],
            y - change[1] * along - change[3],
            along + change[0] * x + change[1] * y,
        ],
        axis=1,
    )


def find_axis(points: Array, radius: float, wall: float) -> TubeAxis:
    """The axis of a tube of outside radius `radius` and `wall`, mm, in points of any unit.

    Raises ScanError where no such tube is in the scan.
    """
    centre = np.median(points, axis=0)
    start = _cylinder(points - centre, radius, wall)
    if start is None:
        raise ScanError("no round tube is found in the scan")
    point, along, found = start
    off = {name: float(_off(found * scale, radius, wall)) for name, scale in UNITS.items()}
    unit = min(UNITS, key=off.__getitem__)
    if off[unit] > OD_OFF:
        sizes = ", ".join(
            f"{2 * found * scale:.2f} if in {UNIT_WORDS[name]}" for name, scale in UNITS.items()
        )
        raise ScanError(
            f"the tube in the scan has another diameter than the job's {2 * radius:g} mm: {sizes}"
        )
    scale = UNITS[unit]
    axis = _fitted(points, centre, point * scale, along, radius, wall, unit)
    if _beside_outside(axis, wall):
        axis = _of_another_size(points, axis, radius, wall)
    if abs(axis.radius - radius) > OD_OFF * radius:
        raise ScanError(
            f"the tube in the scan has an outside of {2 * axis.radius:.2f} mm, the job's "
            f"{2 * radius:g} mm: is it another tube, or is the scan's scale off?"
        )
    return axis


def _of_another_size(points: Array, axis: TubeAxis, radius: float, wall: float) -> TubeAxis:
    """The axis found from the outside of another size that most points are near, if there is one,
    else `axis`."""
    best, most = axis, 0.0
    for start in radius + OTHER_STARTS * wall:
        try:
            found = _fitted(points, axis.centre, axis.point, axis.along, start, wall, axis.unit)
        except ScanError:
            continue
        near = abs(np.hypot(*found.local()[:, :2].T) - found.radius) < wall / LAYERS_A_WALL
        if near.mean() > most and not _beside_outside(found, wall):
            best, most = found, float(near.mean())
    return best


def _beside_outside(axis: TubeAxis, wall: float) -> bool:
    """Whether the skin that was found is not the outermost."""
    return abs(_outside(axis, wall) - axis.radius) > OTHER_SKIN * wall


def _outside(axis: TubeAxis, wall: float) -> float:
    """Radius, mm, of the outermost of the skins about the axis."""
    away = np.hypot(*axis.local()[:, :2].T)
    away = away[abs(away - axis.radius) < LOOKED_BEYOND * axis.radius]
    layers = np.floor(away / wall * LAYERS_A_WALL).astype(int)
    count = np.bincount(layers)
    last = int(np.flatnonzero(count >= SKIN_SHARE * count.max())[-1])
    first = max(last - LAYERS_A_WALL // 2, 0)
    fullest = first + int(count[first : last + 1].argmax())
    return float(np.median(away[abs(layers - fullest) <= 1]))


def _off(found: Array | float, radius: float, wall: float) -> Array:
    """How far rough radii are beyond the outside or the bore, as a share; in a noisy scan both
    skins together pass for one between them."""
    return np.asarray(np.maximum(np.abs(found - radius + wall / 2) - wall / 2, 0.0) / radius)


def _cylinder(points: Array, radius: float, wall: float) -> tuple[Array, Array, float] | None:
    """Axis point, direction and radius with most points on it: two points with their normals fix
    a cylinder - its axis is square to both normals, and meets both. Points on one that is
    the tube's in some unit count double: a table under the tube may have more."""
    found = [_looked_for(points, neighbours, near, radius, wall) for neighbours, near in LOOKS]
    rank, point, axis, size = max(found, key=lambda one: one[0])
    return (point, axis, size) if rank >= LEAST_SHARE else None


def _looked_for(
    points: Array, neighbours: int, close: float, radius: float, wall: float
) -> tuple[float, Array, Array, float]:
    """The best cylinder of one way to look, after the share of points on it, as they count."""
    rng = np.random.default_rng(0)
    few = points[rng.permutation(len(points))[:TRIED_ON]]
    thin = points[rng.permutation(len(points))[:LOOKED_AT]]
    _, near = cKDTree(thin).query(few, neighbours)
    local = thin[near] - thin[near].mean(axis=1, keepdims=True)
    # A normal points where the neighbours scatter least: the first eigenvector of their scatter.
    normals = np.linalg.eigh(local.transpose(0, 2, 1) @ local)[1][:, :, 0]
    i, j = rng.integers(0, len(few), (TRIES, 2)).T
    axes = np.cross(normals[i], normals[j])
    size = np.linalg.norm(axes, axis=1)
    across = size > LEAST_ACROSS
    i, j, axes, size = i[across], j[across], axes[across] / size[across, None], size[across]
    apart = few[j] - few[i]
    steps = [(apart * np.cross(normals[one], axes)).sum(axis=1) / size for one in (j, i)]
    middle = few[i] + steps[0][:, None] * normals[i]
    radii = np.abs(steps).mean(axis=0)
    meet = abs(abs(steps[0]) - abs(steps[1])) < 2 * close * radii
    middle, axes, radii = middle[meet], axes[meet], radii[meet]
    if not len(radii):
        return 0.0, np.zeros(3), np.zeros(3), 1.0
    along = few @ axes.T - (middle * axes).sum(axis=1)
    square = (few**2).sum(axis=1)[:, None] - 2 * few @ middle.T + (middle**2).sum(axis=1) - along**2
    away = abs(np.sqrt(np.maximum(square, 0.0)) / radii - 1)
    # A point counts if its normal too is the cylinder's: clutter rarely has that.
    share = ((away < close) & (abs(normals @ axes.T) < OFF_SQUARE)).mean(axis=0)
    off = np.min([_off(radii * scale, radius, wall) for scale in UNITS.values()], axis=0)
    rank = share * np.where(off <= OD_OFF, 2.0, 1.0)
    best = int(rank.argmax())
    return float(rank[best]), middle[best], axes[best], float(radii[best])


def _fitted(
    points: Array,
    centre: Array,
    point: Array,
    along: Array,
    radius: float,
    wall: float,
    unit: str,
) -> TubeAxis:
    """The axis by least squares from a rough one, in three stages, each until it moves no more.

    "wall": outside and bore as one thick skin, since a rough axis mistakes one for the other;
    "skins": each point for the nearer one; "outside": alone, for a bore may stand off centre. The
    radius is the drawn one until then.
    """
    size, noise = radius, np.inf
    points = (points - centre) * UNITS[unit]
    few = points[np.random.default_rng(0).permutation(len(points))[:FITTED_FROM]]
    stages = ["wall", "skins", "outside"]
    for _ in range(MOST_ROUNDS):
        first, second = _square(along)
        relative = few - point
        height = relative @ along
        depth = size - np.hypot(relative @ first, relative @ second)
        skin = {
            "wall": np.full(len(few), wall / 2),
            "skins": np.where(depth > wall / 2, wall, 0.0),
            "outside": np.zeros(len(few)),
        }[stages[0]]
        band = wall if stages[0] == "wall" else min(0.6 * wall, max(6 * noise, 0.15))
        on = abs(depth - skin) < band
        if on.mean() < LEAST_SHARE / 2:
            raise ScanError(f"the outside of the tube, {2 * radius:g} mm, is not in the scan")
        low, high = np.quantile(height[on], [0.02, 0.98])
        on &= (height > low - size) & (height < high + size)
        middle = float(np.median(height[on]))
        chosen = np.flatnonzero(on)[: FITTED_ON if stages[0] == "outside" else ROUGHLY_ON]
        near, below = relative[chosen] - middle * along, skin[chosen]

        def left(p: Array, near: Array = near, below: Array = below, along: Array = along) -> Array:
            one, two = _square(along)
            axis = along + p[0] * one + p[1] * two
            axis = axis / np.linalg.norm(axis)
            moved = near - p[2] * one - p[3] * two
            square = moved - np.outer(moved @ axis, axis)
            return np.asarray(np.linalg.norm(square, axis=1) + below - p[4:].sum() - radius)

        free = 5 if stages[0] == "outside" else 4
        start = np.array([0.0, 0.0, 0.0, 0.0, size - radius])[:free]
        fit = least_squares(left, start, loss="soft_l1", f_scale=SOFT_MM)
        p = fit.x
        point = point + middle * along + p[2] * first + p[3] * second
        along = along + p[0] * first + p[1] * second
        along = along / np.linalg.norm(along)
        size = radius + float(p[4:].sum())
        noise = float(1.4826 * np.median(abs(fit.fun)))
        if np.hypot(p[0], p[1]) * (high - low) + np.hypot(p[2], p[3]) < SETTLED * noise:
            stages = stages[1:]
        if not stages:
            break
    covariance = np.linalg.inv(fit.jac.T @ fit.jac)[:4, :4] * noise**2
    return TubeAxis(point, along, size, noise, unit, centre, points, covariance)


def _square(axis: Array) -> tuple[Array, Array]:
    """Two unit vectors square to `axis` and to each other, right-handed with it."""
    least = np.eye(3)[np.argmin(abs(axis))]
    first = np.cross(axis, least)
    first /= np.linalg.norm(first)
    return first, np.cross(axis, first)
