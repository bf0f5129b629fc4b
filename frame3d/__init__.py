"""3D frame model and fit checker with mesh export.

    import frame3d

    frame = frame3d.load("job.toml")
    report = frame3d.check(frame)          # report.passes, report.joints, report.as_json()
    solids = frame3d.cut(frame)            # solids.tubes["rail"].solid is a manifold3d.Manifold
    frame3d.write_meshes(solids, folder)   # STL, 3MF and GLB

What is heavy is imported when it is called.
"""

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from frame3d.fit.report import Report
    from frame3d.model import Frame
    from frame3d.solids.frame import Solids

__version__ = "0.1.0"


def load(path: "str | Path") -> "Frame":
    """Read a job file, and the shop file that it names. Raises frame3d.jobs.JobError."""
    from frame3d.fit.saws import with_shop_saws
    from frame3d.jobs import frame_of, read_tables
    from frame3d.jobs.extras import check_measured_saws

    job = read_tables(path)
    if job.tables.bicycle is None and job.tables.rider is None:
        frame = with_shop_saws(frame_of(job))
        check_measured_saws(job, frame.joints)
        return frame

    from frame3d.bicycle.facts import facts
    from frame3d.bicycle.fits import part_fits
    from frame3d.bicycle.job import bicycle_frame, read_plan
    from frame3d.bicycle.wheels import with_wheels

    plan = read_plan(job)
    frame = with_shop_saws(bicycle_frame(job, plan))
    check_measured_saws(job, frame.joints)
    fits = part_fits(plan.bicycle, frame.tubes, frame.plates)
    return replace(with_wheels(frame, plan.bicycle), facts=facts(plan, frame.tubes), fits=fits)


def cut(frame: "Frame", chord: float | None = None) -> "Solids":
    """Every tube of the frame as a finished solid; chord: chord error of the facets, mm."""
    from frame3d.solids.facets import CHORD_MM
    from frame3d.solids.frame import frame_solids
    from frame3d.surfaces.cope import copes_of

    return frame_solids(frame, copes_of(frame), CHORD_MM if chord is None else chord)


def check(frame: "Frame", made: "Solids | None" = None) -> "Report":
    """Check every joint; `made` saves the time to cut the solids again."""
    from frame3d.shop.all_checks import check_all
    from frame3d.surfaces.cope import copes_of

    return check_all(frame, copes_of(frame), cut(frame) if made is None else made)


def write_meshes(made: "Solids", folder: "str | Path") -> None:
    """Write meshes/<tube>.stl, frame.3mf and frame.glb into an existing folder."""
    from frame3d.share.meshes import write_meshes as write

    write(made, Path(folder))
