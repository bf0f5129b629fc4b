"""The tube's axis in a scan: a cylinder found among clutter, then fitted robustly."""

from dataclasses import dataclass

import numpy as np
from scipy.optimize import least_squares
from scipy.spatial import cKDTree

from frame3d.fit.scan.read import ScanError
from frame3d.surfaces.surface import Array

UNITS = {"mm": 1.0, "cm": 10.0, "in": 25.4, "m": 1000.0}
# How many neighbours give a point's normal, and how near, as a share of the radius, a point lies
# on the cylinder that is looked for. A coarse scan shows outside and bore as one rough skin.
LOOKS = ((12, 0.015), (24, 0.015), (80, 0.05))
TRIES = 800
TRIED_ON = 4000
LOOKED_AT = 40_000  # points among which neighbours are found: closer ones show noise, not a normal
FITTED_ON = 15_000  # points of the outside: more only make it slower
OD_OFF = 0.04  # a radius may differ from the drawn one by this share; own choice
LEAST_SHARE = 0.1  # of all points that must lie on the tube
SOFT_MM = 0.05


@dataclass(frozen=True, eq=False)
class TubeAxis:
    """point, along: (3,), mm and unit, in the scan's own axes; radius: mm; noise: mm; unit: of the
    file; points: (N, 3) all points, mm; tilt_error: standard error of the direction, radians."""

    point: Array
    along: Array
    radius: float
    noise: float
    unit: str
    points: Array
    tilt_error: float

    def across(self) -> tuple[Array, Array, Array]:
        """Angle about the axis (N,), radians, right-handed; radius (N,); height (N,), mm."""
        first, second = _square(self.along)
        relative = self.points - self.point
        x, y = relative @ first, relative @ second
        return np.arctan2(y, x), np.hypot(x, y), relative @ self.along


def find_axis(points: Array, radius: float, wall: float) -> TubeAxis:
    """The axis of a tube of outside radius `radius` and `wall`, mm, in points of any unit.

    Raises ScanError where no such tube is in the scan.
    """
    centre = np.median(points, axis=0)
    start = _cylinder(points - centre)
    if start is None:
        raise ScanError("no round tube is found in the scan")
    point, along, found = start
    unit = min(UNITS, key=lambda name: _off(found * UNITS[name], radius, wall))
    sizes = ", ".join(f"{2 * found * scale:.2f} if in {name}" for name, scale in UNITS.items())
    other = f"the tube in the scan has another diameter than the job's {2 * radius:g} mm: {sizes}"
    if _off(found * UNITS[unit], radius, wall) > OD_OFF:
        raise ScanError(other)
    scale = UNITS[unit]
    axis = _fitted((points - centre) * scale, point * scale, along, radius, wall, unit)
    if abs(axis.radius - radius) > OD_OFF * radius:
        raise ScanError(other)
    return axis


def _off(found: float, radius: float, wall: float) -> float:
    """How far a rough radius is beyond the outside or the bore, as a share; in a noisy scan both
    skins together pass for one between them."""
    return max(found - radius, radius - wall - found, 0.0) / radius


def _cylinder(points: Array) -> tuple[Array, Array, float] | None:
    """Axis point, direction and radius with most points on it: two points with their normals fix
    a cylinder - its axis is square to both normals, and meets both."""
    found = [_looked_for(points, neighbours, near) for neighbours, near in LOOKS]
    share, point, axis, radius = max(found, key=lambda one: one[0])
    return (point, axis, radius) if share >= LEAST_SHARE else None


def _looked_for(points: Array, neighbours: int, close: float) -> tuple[float, Array, Array, float]:
    """The best cylinder of one way to look, after the share of points on it."""
    rng = np.random.default_rng(0)
    few = points[rng.permutation(len(points))[:TRIED_ON]]
    thin = points[rng.permutation(len(points))[:LOOKED_AT]]
    _, near = cKDTree(thin).query(few, neighbours)
    local = thin[near] - thin[near].mean(axis=1, keepdims=True)
    normals = np.linalg.svd(local, full_matrices=False)[2][:, 2]
    best = 0.0, np.zeros(3), np.zeros(3), 1.0
    for i, j in rng.integers(0, len(few), (TRIES, 2)):
        axis = np.cross(normals[i], normals[j])
        size = np.linalg.norm(axis)
        if size < 0.3:
            continue
        axis /= size
        first, second = _square(axis)
        plane = np.stack([first, second])
        (p, q), (n, m) = few[[i, j]] @ plane.T, normals[[i, j]] @ plane.T
        steps = np.linalg.solve(np.stack([n, -m], axis=1), q - p)
        middle = p + steps[0] * n
        radii = abs(steps)
        if abs(radii[0] - radii[1]) > 2 * close * radii.mean():
            continue
        away = abs(np.linalg.norm(few @ plane.T - middle, axis=1) / radii.mean() - 1)
        # A point counts if its normal too is the cylinder's: clutter rarely has that.
        square = abs(normals @ axis) < 0.15
        count = float(((away < close) & square).mean())
        if count > best[0]:
            best = count, middle @ plane, axis, float(radii.mean())
    return best


def _fitted(
    points: Array, point: Array, along: Array, radius: float, wall: float, unit: str
) -> TubeAxis:
    size, noise = radius, np.inf
    rng = np.random.default_rng(0)
    for last in (False, False, True):
        # At first both skins count, each point for the nearer one; in the end the outside alone.
        band = min(0.6 * wall, max(6 * noise, 0.15))
        first, second = _square(along)
        relative = points - point
        height = relative @ along
        away = np.hypot(relative @ first, relative @ second)
        inside = away < size - wall / 2
        on = abs(away - size + (0.0 if last else wall * inside)) < band
        if on.mean() < LEAST_SHARE / 2:
            raise ScanError(f"the outside of the tube, {2 * radius:g} mm, is not in the scan")
        low, high = np.quantile(height[on], [0.02, 0.98])
        on &= (height > low - size) & (height < high + size)
        middle = float(np.median(height[on]))
        chosen = np.flatnonzero(on)
        if len(chosen) > FITTED_ON:
            chosen = rng.permutation(chosen)[:FITTED_ON]
        used = relative[chosen] - middle * along
        skin: Array = np.zeros(len(used)) if last else wall * inside[chosen].astype(float)

        def left(p: Array, used: Array = used, along: Array = along, skin: Array = skin) -> Array:
            one, two = _square(along)
            axis = along + p[0] * one + p[1] * two
            axis = axis / np.linalg.norm(axis)
            moved = used - p[2] * one - p[3] * two
            square = moved - np.outer(moved @ axis, axis)
            return np.asarray(np.linalg.norm(square, axis=1) + skin - p[4])

        fit = least_squares(left, [0, 0, 0, 0, size], loss="soft_l1", f_scale=SOFT_MM)
        p = fit.x
        point = point + middle * along + p[2] * first + p[3] * second
        along = along + p[0] * first + p[1] * second
        along = along / np.linalg.norm(along)
        size = float(p[4])
        noise = float(1.4826 * np.median(abs(left(p))))
    covariance = np.linalg.inv(fit.jac.T @ fit.jac) * noise**2
    return TubeAxis(point, along, size, noise, unit, points, float(covariance[0, 0] ** 0.5))


def _square(axis: Array) -> tuple[Array, Array]:
    """Two unit vectors square to `axis` and to each other, right-handed with it."""
    least = np.eye(3)[np.argmin(abs(axis))]
    first = np.cross(axis, least)
    first /= np.linalg.norm(first)
    return first, np.cross(axis, first)
