"""Speed of guides: each against its bare kernel calls in one run, and where the time goes."""

from collections import defaultdict
from collections.abc import Callable
from pathlib import Path
from time import perf_counter

from manifold3d import CrossSection, Manifold, OpType

import frame3d
from frame3d.check.frame_check import Judged
from frame3d.guides import guide_length, plan, sleeve
from frame3d.guides.face import behind_face
from frame3d.guides.guide_files import write_guides
from frame3d.guides.plan import Guide, guides_of_tube, printed_guides
from frame3d.guides.record import entries
from frame3d.paper.guide_sheet import write_guide_sheet
from frame3d.solids.simplify import tidied
from frame3d.view.guide_pictures import guide_pictures

TOURING = Path(__file__).parents[2] / "examples" / "touring" / "job.toml"
MOST_TIMES_KERNEL = 3.0  # each
MOST_TIMES_KERNEL_IN_ALL = 2.0
ROUNDS = 3


def bare_kernel(guide: Guide) -> Callable[[], None]:
    """The boolean kernel's work for the same bodies, all of which are made here."""
    made = guide.sleeve
    height = made.top
    flat = CrossSection()
    for k, line in enumerate(made.label):
        flat = flat + line.outline.translate((made.label_from, -2.2 - 5.0 * k - line.cap))
    letters = sleeve.embossed(flat, made.section.radius, 1)
    bodies = [made.section.outline().extrude(height), made.grip.ears()]
    cuts = [
        sleeve.bore_solid(made.place, made.clearance, made.length, height, made.grip.lean),
        made.grip.openings(height),
        sleeve.mark_window(made.grip.lean, made.section.radius, made.mark),
        sleeve.datum_line(made.section.radius, height),
    ]
    for body in (*bodies, *cuts, letters):
        body.num_tri()  # the kernel works only when asked

    def work() -> None:
        blank = Manifold.batch_boolean(bodies, OpType.Add)
        face = [
            each.translate((0.0, 0.0, made.length))
            for each in behind_face(blank.translate((0.0, 0.0, -made.length)), made.place)
        ]
        whole = Manifold.batch_boolean([blank, *cuts, *face], OpType.Subtract) + letters
        assert len(whole.to_mesh64().tri_verts) > 1000

    return work


def seconds(work: Callable[[], object]) -> float:
    start = perf_counter()
    work()
    return perf_counter() - start


def test_each_guide_costs_a_small_multiple_of_its_kernel_calls(monkeypatch, record_property):
    frame = frame3d.open(TOURING).frame
    printer = frame.shop.printer
    printed, refused = printed_guides(frame)  # fonts and letters are read once a process
    assert len(printed) >= 20 and not refused
    clock: dict[str, float] = defaultdict(float)

    def timed(name, work):
        def call(*words):
            start = perf_counter()
            result = work(*words)
            clock[name] += perf_counter() - start
            return result

        return call

    monkeypatch.setattr(plan, "sleeve_for", timed("layout", guide_length.sleeve_for))
    monkeypatch.setattr(sleeve, "tidied", timed("tidy", tidied))
    ours, kernel, worst = 0.0, 0.0, 0.0
    for name in dict.fromkeys(each.guide.place.tube.name for each in printed):
        tube = frame.tube(name)
        joints = [joint for joint in frame.joints if joint.tube == name]
        bare = [bare_kernel(p.guide) for p in printed if p.guide.place.tube.name == name]
        for work in bare:
            work()
        # The two are timed in turn, the least of each counts: the machine has other work too.
        made = [
            (
                seconds(lambda: guides_of_tube(frame, tube, joints, printer)),  # noqa: B023
                sum(seconds(work) for work in bare),
            )
            for _ in range(ROUNDS)
        ]
        whole, alone = (min(times) for times in zip(*made, strict=True))
        ours, kernel, worst = ours + whole, kernel + alone, max(worst, whole / alone)
    print(f"{len(printed)} guides, {ours / len(printed) * 1000:.0f} ms each")
    for name, taken in {**{k: v / ROUNDS for k, v in clock.items()}, "kernel": kernel}.items():
        print(f"  {name}: {100 * taken / ours:.0f} %")
        record_property(f"{name}, share", taken / ours)
    print(f"  times the kernel: {ours / kernel:.2f} in all, {worst:.2f} at most")
    record_property("times the kernel", ours / kernel)
    assert worst < MOST_TIMES_KERNEL
    assert ours / kernel < MOST_TIMES_KERNEL_IN_ALL


def test_files_pictures_and_sheet_do_not_dominate(tmp_path, record_property):
    """On one core; the command spreads guides, files and pictures over all."""
    frame = frame3d.open(TOURING).frame
    printed, refused = printed_guides(frame)
    guides = [each.guide for each in printed]
    guide_pictures(guides[:1], tmp_path)  # opening the window counts once a process
    stages: dict[str, float] = {}
    stages["guides"] = seconds(lambda: printed_guides(frame))
    files: list = []
    stages["files"] = seconds(
        lambda: files.extend(write_guides(list(entries(printed)), frame.shop.printer, tmp_path))
    )
    stages["sheet with pictures"] = seconds(
        lambda: write_guide_sheet(
            frame, files, refused, Judged({}, "", None), tmp_path / "guides.pdf"
        )
    )
    whole = sum(stages.values())
    for name, taken in stages.items():
        print(f"  {name}: {100 * taken / whole:.0f} %")
        record_property(f"{name}, share", taken / whole)
    assert stages["files"] < 1.5 * stages["guides"]
    assert stages["sheet with pictures"] < 2.5 * stages["guides"]
