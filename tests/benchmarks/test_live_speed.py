"""Live mode on the touring frame: an edit against a fresh start, in one run."""

import shutil
from pathlib import Path
from time import process_time

from frame3d.build import Build
from frame3d.view.scene import VIEW_CHORD_MM

EXAMPLES = Path(__file__).parents[2] / "examples"
STRUT = "od    = 9.0\nwall  = "
# Edits: what is replaced by what, two values to put there, and how many times faster than a fresh
# start they have to be shown, and shown with the whole check.
EDITS = {
    "paint": (("[[tube]]     ", '[paint]\nframe = "{}"\n[[tube]]'), ("navy", "teal"), 12.0, 12.0),
    "wall": ((f"{STRUT}1.0", f"{STRUT}{{}}"), (0.8, 0.9), 8.0, 6.0),
    "saw": (
        ('onto = ["right rail"]\n', 'onto = ["right rail"]\nsaw = {}\n'),
        (10.0, 11.0),
        8.0,
        7.0,
    ),
    # It moves most tubes, and what is kept saves less since ends are shaped twice as fast.
    "head angle": (("head_tube_angle   = 72.0", "head_tube_angle = {}"), (72.2, 72.4), 1.8, 1.5),
}


def seconds(job: Path, after: Build | None = None) -> tuple[float, float, Build]:
    """Until the picture can be shown, and until all of it is checked; and what was made."""
    start = process_time()
    build = Build.of_job(job, after, VIEW_CHORD_MM)
    build.version(gaps=True, judged=False)
    shown = process_time()
    build.version(gaps=True)
    return shown - start, process_time() - start, build


def test_an_edit_is_shown_in_a_fraction_of_a_fresh_start(tmp_path: Path, record_property) -> None:
    shutil.copytree(EXAMPLES, tmp_path / "examples")
    job = tmp_path / "examples" / "touring" / "job.toml"
    text = job.read_text(encoding="utf-8")
    seconds(job)
    _, fresh, first = min((seconds(job) for _ in range(2)), key=lambda found: found[1])
    for name, ((old, new), values, *least) in EDITS.items():
        assert old in text
        taken = []
        for value in values:
            job.write_text(text.replace(old, new.format(value), 1), encoding="utf-8")
            taken.append(seconds(job, first)[:2])
        for what, spent, times in zip(
            ("shown", "checked"), zip(*taken, strict=True), least, strict=True
        ):
            record_property(f"{name}: times faster {what}", fresh / min(spent))
            print(
                f"{name} {what}: {min(spent):.3f} of {fresh:.3f} s, {fresh / min(spent):.1f} times"
            )
            assert times * min(spent) < fresh, (name, what)
