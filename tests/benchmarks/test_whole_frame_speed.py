"""Speed of a whole frame with butted and tapered tubes, against one of plain tubes, in one run."""

from pathlib import Path
from time import process_time

import frame3d

EXAMPLES = Path(__file__).parents[2] / "examples"


def seconds(name: str) -> float:
    """Reading, cutting and checking, the better of two runs, processor time."""
    taken = []
    for _ in range(2):
        start = process_time()
        assert frame3d.open(EXAMPLES / name / "job.toml").report.joints
        taken.append(process_time() - start)
    return min(taken)


def test_the_touring_frame_takes_at_most_twice_the_time_of_a_trailer(record_property) -> None:
    """The trailer has more tubes and joints, all plain, and is cut with saws. The touring frame's
    are butted and tapered, some slotted or plugged, with plates between them."""
    plain, touring = seconds("trailer"), seconds("touring")
    record_property("times the plain frame", touring / plain)
    print(f"touring {touring:.2f} s, plain {plain:.2f} s: {touring / plain:.2f} times")
    assert touring < 2 * plain
