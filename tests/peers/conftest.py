"""Other programs as judges: where one is missing its tests skip, or fail if peers are required."""

import importlib.util
import os
import shutil

import pytest


def need(program_or_module: str) -> None:
    """Skip the test unless there is such a module or program.

    With FRAME3D_REQUIRE_PEERS=1 in the environment a missing one is a failure.
    """
    if importlib.util.find_spec(program_or_module) or shutil.which(program_or_module):
        return
    reason = f"{program_or_module} is not installed"
    if os.environ.get("FRAME3D_REQUIRE_PEERS") == "1":
        pytest.fail(reason)
    pytest.skip(reason)


@pytest.fixture(name="need")
def _need() -> object:
    return need
