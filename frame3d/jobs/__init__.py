"""The job file and the shop file, read into the model."""

from frame3d.jobs.errors import JobError
from frame3d.jobs.read import read_job, read_shop

__all__ = ["JobError", "read_job", "read_shop"]
