"""What speaks against a scan: a scale that its tube's class does not allow, a table in it."""

import numpy as np

from frame3d.model import End, Tube
from frame3d.surfaces.surface import Array
from frame3d.tolerance.setup_errors import tolerance

TRIED_ON, TRIES = 4000, 400
FLAT = 0.002  # of the scan's size: points so near a plane lie on it
A_TABLE = 0.2  # share of points on one plane; a tube's end and lines give a tenth at most


def scale_doubt(tube: Tube, end: End, od: float, noise: float) -> str:
    """Why a scan that shows an outside of `od`, mm, with this noise, mm, cannot be judged: "" where
    the tube may be so by its class (tables/tube_tolerances.csv)."""
    drawn = float(tube.od(tube.length if end == "end" else 0.0))
    allowed = tolerance(tube)
    if abs(od - drawn) <= allowed + noise:
        return ""
    return (
        f"the outside is {od:.2f} mm in the scan, {abs(od - drawn):.2f} mm off the drawn "
        f"{drawn:.2f} mm, and a tube's class allows {allowed:.2f} mm: the scan's scale is "
        f"{100 * (od / drawn - 1):+.1f} % off, or it is another tube. Measure the tube: if it is "
        f"{drawn:.2f} mm, scale the scan by {drawn / od:.4f}; if not, write its od into the job"
    )


def table_hint(points: Array) -> str:
    """What to crop where one plane holds a good share of the points (N, 3); else "".

    Planes through three points at random, the fullest of them (RANSAC, Fischler and Bolles 1981,
    from memory).
    """
    rng = np.random.default_rng(0)
    few = points[rng.permutation(len(points))[:TRIED_ON]]
    size = float(np.linalg.norm(np.quantile(few, 0.98, axis=0) - np.quantile(few, 0.02, axis=0)))
    one, two, three = few[rng.integers(0, len(few), (3, TRIES))]
    normal = np.cross(two - one, three - one)
    length = np.linalg.norm(normal, axis=1)
    wide = length > 0.01 * size**2  # three points close together fix no plane
    if not wide.any():
        return ""
    normal = normal[wide] / length[wide, None]
    away = abs(few @ normal.T - (one[wide] * normal).sum(axis=1))
    share = float((away < FLAT * size).mean(axis=0).max())
    if share < A_TABLE:
        return ""
    return (
        f"{100 * share:.0f} % of the scan's points lie on one plane, as of a table: crop the scan "
        "to the tube, and it tells more"
    )
