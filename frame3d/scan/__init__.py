"""A scan of a cut end: read, laid on its tube, and its gap predicted."""
