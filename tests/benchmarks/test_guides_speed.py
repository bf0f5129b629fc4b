"""Speed of guides: each against its bare kernel calls in one run, and where the time goes."""

from pathlib import Path
from time import perf_counter

import numpy as np
from manifold3d import CrossSection, Manifold, OpType

import frame3d
from frame3d.guides import layout, plan, sleeve
from frame3d.guides.face import behind_face
from frame3d.guides.plan import Guide
from frame3d.solids.tidy import tidied

TOURING = Path(__file__).parents[2] / "examples" / "touring" / "job.toml"
MOST_TIMES_KERNEL = 2.5


def bare_kernel(guide: Guide) -> float:
    """Seconds of the boolean kernel for the same bodies, all made before the clock runs."""
    made = guide.sleeve
    plain, height = made.section.outline(), made.top
    flat = CrossSection()
    for k, line in enumerate(made.label):
        flat = flat + line.outline.translate((made.label_from, -2.2 - 5.0 * k - line.cap))
    bodies = [
        plain.extrude(height),
        made.grip.ears(),
        sleeve.embossed(flat, made.section.radius, 1),
    ]
    cuts = [
        sleeve.bore_solid(made.place, made.clearance, made.length, height),
        made.grip.openings(height),
        sleeve.mark_window(made.grip.lean, made.section.radius),
        sleeve.datum_line(made.section.radius, height),
    ]
    for body in (*bodies, *cuts):
        body.num_tri()  # the kernel works only when asked
    start = perf_counter()
    blank, letters = Manifold.batch_boolean(bodies[:2], OpType.Add), bodies[2]
    blank.num_tri()
    lowered = blank.translate((0.0, 0.0, -made.length))
    face = [each.translate((0.0, 0.0, made.length)) for each in behind_face(lowered, made.place)]
    mesh = (Manifold.batch_boolean([blank, *cuts, *face], OpType.Subtract) + letters).to_mesh64()
    taken = perf_counter() - start
    assert len(mesh.tri_verts) > 1000
    return taken


def test_a_guide_costs_a_small_multiple_of_its_kernel_calls(monkeypatch, record_property):
    frame = frame3d.load(TOURING)
    clock = {"layout": 0.0, "tidy": 0.0}

    def timed(name, work):
        def call(*words):
            start = perf_counter()
            result = work(*words)
            clock[name] += perf_counter() - start
            return result

        return call

    plan.printed_guides(frame)  # fonts and letters are read once a process
    monkeypatch.setattr(plan, "sleeve_for", timed("layout", layout.sleeve_for))
    monkeypatch.setattr(sleeve, "tidied", timed("tidy", tidied))
    start = perf_counter()
    printed, _ = plan.printed_guides(frame)
    ours = perf_counter() - start
    kernel = float(np.sum([bare_kernel(each.guide) for each in printed]))
    clock["kernel"] = kernel
    print(f"{len(printed)} guides, {ours / len(printed) * 1000:.0f} ms each")
    for name, taken in clock.items():
        print(f"  {name}: {100 * taken / ours:.0f} %")
        record_property(f"{name}, share", taken / ours)
    record_property("times the kernel", ours / kernel)
    assert ours / kernel < MOST_TIMES_KERNEL
