"""3D frame model and fit checker with mesh export.

    import frame3d

    build = frame3d.open("job.toml")
    build.report.passes                    # and .joints, .tubes, .as_json()
    build.solids().tubes["rail"].solid     # a manifold3d.Manifold
    build.write_meshes("out")              # STL, 3MF and GLB, into a folder that is there
    build.odds(samples=2000).whole.chance  # will it close in a real shop?
    build.scanned("end.stl", "rail", "start").gap
    guides, refused = build.guides()       # .parts of each, to print
    build.pages().tubes                    # all numbers of the mill's pages

What is heavy is imported when it is called.
"""

from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from frame3d.bicycle.facts import BicycleFacts
    from frame3d.build import Build
    from frame3d.check.report import JointReport, Report, TubeReport
    from frame3d.guides.guide_error import GuideError
    from frame3d.jobs import JobError
    from frame3d.model import Frame, Joint, Tube
    from frame3d.scan.read import ScanError

__version__ = "0.1.0"

__all__ = [
    "BicycleFacts",
    "Build",
    "Frame",
    "GuideError",
    "JobError",
    "Joint",
    "JointReport",
    "Report",
    "ScanError",
    "Tube",
    "TubeReport",
    "open",
]

# Where each name comes from, when it is first asked for.
_HOMES = {
    "BicycleFacts": "frame3d.bicycle.facts",
    "Build": "frame3d.build",
    "Frame": "frame3d.model",
    "GuideError": "frame3d.guides.guide_error",
    "JobError": "frame3d.jobs",
    "Joint": "frame3d.model",
    "JointReport": "frame3d.check.report",
    "Report": "frame3d.check.report",
    "ScanError": "frame3d.scan.read",
    "Tube": "frame3d.model",
    "TubeReport": "frame3d.check.report",
}


def open(job: "str | Path") -> "Build":
    """A job file, and the shop and tube files that it names, as the one build that all results are
    of. Raises JobError where a file cannot be used."""
    from frame3d.build import Build

    return Build.of_job(job)


# A type checker takes the names from the imports above, and refuses others.
if not TYPE_CHECKING:

    def __getattr__(name: str) -> object:
        if name not in _HOMES:
            raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
        return getattr(import_module(_HOMES[name]), name)
