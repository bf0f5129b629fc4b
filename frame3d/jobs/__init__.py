"""The job file and the shop file, read into the model."""
