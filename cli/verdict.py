"""What the commands that show a frame say about its joints at the end."""

import sys
from typing import TYPE_CHECKING

from .common import FAILS, console, counted

if TYPE_CHECKING:
    from collections.abc import Iterable

    from frame3d.share.page import Version


def verdict(version: "Version") -> str:
    """Half a sentence."""
    failing = sum(not joint.passes for joint in version.report.joints)
    clashes = len(version.report.clashes)
    told = [f"{failing} of {len(version.report.joints)} joints fail"] if failing else []
    told += [f"{counted(clashes, 'clash', 'clashes')} between tubes"] if clashes else []
    told += [f"the check of {s.key} fails" for s in version.report.sections if not s.passes]
    return ", ".join(told) or "all joints pass"


def end_with(versions: "Iterable[Version]") -> None:
    """End the command with 1 where a frame does not pass, and say so."""
    failing = [version for version in versions if not version.report.passes]
    for version in failing:
        text = f"{version.frame.name}: {verdict(version)}; see frame3d check"
        console(err=True).print(text, markup=False)
    if failing:
        sys.exit(FAILS)
