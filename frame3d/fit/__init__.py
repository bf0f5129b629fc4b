"""Gaps, seat, limits, verdicts, error budget."""
