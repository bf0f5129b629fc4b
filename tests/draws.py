"""How many random cases a law is tried on: a few, the same in every run; where FRAME3D_LONG is set,
many, and others each time."""

import os

from hypothesis import HealthCheck, settings

LONG = bool(os.environ.get("FRAME3D_LONG"))
QUIET = [HealthCheck.filter_too_much, HealthCheck.too_slow, HealthCheck.data_too_large]


def draws(few: int, many: int) -> settings:
    return settings(
        max_examples=many if LONG else few,
        deadline=None,
        derandomize=not LONG,
        suppress_health_check=QUIET,
    )
