"""Cost per tube on lattices of 10, 100 and 1000 tubes: copes, solids and the whole check."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

SIZES = {10: 5, 100: 2, 1000: 1}  # tubes, and how often they are timed
TESTS = Path(__file__).parents[1]

# Each size in a process of its own, so that none finds another's memory free to use again.
MEASURE = """
import json, sys
from time import process_time
from reference.lattice import built, lattice

def resident():
    return int(open("/proc/self/statm").read().split()[1])

count, times = map(int, sys.argv[1:])
built(lattice(10))
frame, taken, before, pages = lattice(count), [], resident(), None
for _ in range(times):
    start = process_time()
    solids, report = built(frame)
    taken.append(process_time() - start)
    pages = pages or resident() - before
    triangles = sum(t.solid.num_tri() for t in solids.tubes.values())
print(json.dumps({
    "tubes": len(solids.tubes), "joints": len(report.joints), "passes": report.passes,
    "seconds": min(taken), "pages": pages, "triangles": triangles,
}))
"""


@pytest.fixture(scope="module")
def measured() -> dict[int, dict[str, float]]:
    found = {}
    for count, times in SIZES.items():
        done = subprocess.run(
            [sys.executable, "-c", MEASURE, str(count), str(times)],
            capture_output=True,
            text=True,
            env={**os.environ, "PYTHONPATH": str(TESTS)},
        )
        assert done.returncode == 0, done.stderr
        found[count] = json.loads(done.stdout)
    return found


def test_every_lattice_is_whole_and_alike(measured):
    for count, found in measured.items():
        assert found["passes"]
        assert found["tubes"] == count
        assert found["joints"] == 1.6 * count
        assert found["triangles"] / count == pytest.approx(measured[10]["triangles"] / 10, rel=0.02)


def test_time_per_tube_stays_flat(measured, record_property):
    each = {count: found["seconds"] / count for count, found in measured.items()}
    for count in (100, 1000):
        ratio = each[count] / each[10]
        record_property(f"time a tube, {count} against 10", ratio)
        print(f"a tube of {count} takes {ratio:.2f} times as long as one of 10")
        assert ratio < 1.3


@pytest.mark.skipif(sys.platform != "linux", reason="memory is read from Linux's /proc")
def test_memory_per_tube_stays_flat(measured, record_property):
    """Ten tubes still fit into what the start of the program has left over."""
    each = {count: found["pages"] / count for count, found in measured.items()}
    record_property("memory a tube, 1000 against 100", each[1000] / each[100])
    print(f"a tube of 1000 holds {each[1000] / each[100]:.2f} times the memory of one of 100")
    assert each[1000] / each[100] < 1.3
    assert each[10] < 1.3 * each[1000]
