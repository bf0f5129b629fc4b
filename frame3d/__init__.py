"""3D frame model and fit checker with mesh export.

    import frame3d

    build = frame3d.open("job.toml")
    build.report.passes                    # and .joints, .tubes, .as_json()
    build.solids().tubes["rail"].solid     # a manifold3d.Manifold
    build.write_meshes("out")              # STL, 3MF and GLB

What is heavy is imported when it is called.
"""

from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from frame3d.build import Build

__version__ = "0.1.0"


def open(job: "str | Path") -> "Build":
    """A job file, and the shop and tube files that it names, as the one build that all results are
    of. Raises frame3d.jobs.JobError where a file cannot be used."""
    from frame3d.build import Build

    return Build.of_job(job)
