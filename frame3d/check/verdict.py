"""What a report comes to, in half a sentence: the same words wherever a frame is shown."""

from frame3d.check.report import Report


def verdict(report: Report) -> str:
    """How many joints fail, what runs into each other, and which other check fails."""
    failing = sum(not joint.passes for joint in report.joints)
    clashes = len(report.clashes)
    told = [f"{failing} of {len(report.joints)} joints fail"] if failing else []
    told += [f"{clashes} {'clash' if clashes == 1 else 'clashes'} between tubes"] if clashes else []
    told += [f"the check of {s.key} fails" for s in report.sections if not s.passes]
    return ", ".join(told) or "all joints pass"
