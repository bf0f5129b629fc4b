"""Other programs as judges: where one is missing its tests skip, or fail if peers are required."""

import importlib.util
import os
import shutil
from pathlib import Path

import pytest


def node_modules() -> Path:
    """Where packages from npm stand: FRAME3D_NODE_MODULES, or the working folder's own."""
    return Path(os.environ.get("FRAME3D_NODE_MODULES", "node_modules")).resolve()


def need(name: str) -> None:
    """Skip the test unless there is such a Python module, program or npm package.

    With FRAME3D_REQUIRE_PEERS=1 in the environment a missing one is a failure.
    """
    if importlib.util.find_spec(name) or shutil.which(name) or (node_modules() / name).is_dir():
        return
    reason = f"{name} is not installed"
    if os.environ.get("FRAME3D_REQUIRE_PEERS") == "1":
        pytest.fail(reason)
    pytest.skip(reason)
