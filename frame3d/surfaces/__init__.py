"""Exact outer surfaces: where a line enters one, and the signed distance to it."""
