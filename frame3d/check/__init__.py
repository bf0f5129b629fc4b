"""All that can fail a job: joints, trim, holes, parts, clearances, clashes; the report."""
