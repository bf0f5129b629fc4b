"""What the commands that show a frame say about it at the end."""

import sys
from typing import TYPE_CHECKING

from frame3d.check.verdict import verdict

from .common import FAILS, console

if TYPE_CHECKING:
    from collections.abc import Iterable

    from frame3d.view.version import Version


def end_with(versions: "Iterable[Version]") -> None:
    """End the command with 1 where a frame does not pass, and say so."""
    failing = [version for version in versions if not version.report.passes]
    for version in failing:
        text = f"{version.frame.name}: {verdict(version.report)}; see frame3d check"
        console(err=True).print(text, markup=False)
    if failing:
        sys.exit(FAILS)
