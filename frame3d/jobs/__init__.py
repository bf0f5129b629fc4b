"""The job file and the shop file, read into the model."""

from frame3d.jobs.job import Job
from frame3d.jobs.job_error import JobError
from frame3d.jobs.read import frame_of, read_shop, read_tables

__all__ = ["Job", "JobError", "frame_of", "read_shop", "read_tables"]
