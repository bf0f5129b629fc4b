"""Where the datum line of a tube faces."""

import numpy as np
from numpy.typing import NDArray

# Within this angle of vertical the datum faces +x, since +z no longer says where "up" is.
VERTICAL_DEG = 0.5


def datum(axis: NDArray[np.float64]) -> NDArray[np.float64]:
    """Unit vector (3,) square to the unit `axis`, towards +z, or +x for a vertical axis."""
    vertical = np.hypot(axis[0], axis[1]) < np.sin(np.radians(VERTICAL_DEG))
    up = np.array([1.0, 0.0, 0.0]) if vertical else np.array([0.0, 0.0, 1.0])
    square = up - (up @ axis) * axis
    return np.asarray(square / np.linalg.norm(square))
