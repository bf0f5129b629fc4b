"""How wide a gap a joint may have: the job's own word, or the process's."""

from frame3d.model import Frame, Joint
from frame3d.tables import row


def gap_limit(frame: Frame, joint: Joint) -> float:
    """Largest gap that passes, mm. Sources stand in tables/process_limits.csv."""
    if frame.limits.gap_mm is not None:
        return frame.limits.gap_mm
    limit = row("process_limits", frame.process)
    if limit["gap_mm"]:
        return float(limit["gap_mm"])
    tube = frame.tube(joint.tube)
    walls = [float(tube.wall(tube.length if joint.end == "end" else 0.0))]
    walls += [frame.tube(name).wall.least for name in joint.onto]
    return float(limit["gap_per_wall"]) * min(walls)
