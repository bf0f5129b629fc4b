"""Speed of set-ups: pairs in one run, ratios only; the figures are printed."""

from collections.abc import Callable
from time import perf_counter

import numpy as np

from frame3d.fit.budget.errors import shop_spreads
from frame3d.fit.budget.simulate import CHUNK, drawn, gaps, targets_of
from frame3d.fit.figures import gap_of
from frame3d.model import Frame, Joint, Limits, Profile, Shop, Tube
from frame3d.surfaces.cope import cope_of, copes_of

COUNT = 20_000
KEY = ("rail", "start")
# What the formulas of fit.budget.cut take for each line of a set-up with one mate: six products of
# five terms; sixteen passes of sums, products and comparisons; three square roots.
PRODUCTS, PASSES, ROOTS = 6, 16, 3


def frame() -> Frame:
    post = Tube("post", (0, 0, -100), (0, 0, 100), Profile.constant(36.0), Profile.constant(1.2))
    rail = Tube("rail", (0, 0, 0), (250, 0, 60), Profile.constant(28.6), Profile.constant(0.9))
    joint = Joint("rail", "start", ("post",), (37.0,))
    return Frame("t", "fillet-braze", (post, rail), (joint,), Limits(3, 10, 0.02, 1), Shop())


def seconds(work: Callable[[], object], times: int = 3) -> float:
    taken = []
    for _ in range(times):
        start = perf_counter()
        work()
        taken.append(perf_counter() - start)
    return min(taken)


def test_set_ups_by_thousands_beat_one_at_a_time() -> None:
    job = frame()
    targets = targets_of(copes_of(job))
    errors = drawn(job, targets, shop_spreads(), COUNT, 1)
    many = seconds(lambda: gaps(targets, errors, workers=1)) / COUNT
    one = seconds(lambda: gap_of(cope_of(job, job.joints[0])))
    print(f"\n{1 / many:.0f} set-ups a second on one core, {one / many:.0f} times one at a time")
    assert one / many > 100


def test_set_ups_keep_near_the_arithmetic_limit() -> None:
    """The same arithmetic on arrays in cache, without looking after any of it."""
    job = frame()
    targets = targets_of(copes_of(job))
    errors = drawn(job, targets, shop_spreads(), COUNT, 1)
    lines = targets[KEY].lines.basis.shape[1]  # type: ignore[index]
    left, right = np.ones((CHUNK, 5)), np.ones((5, lines))
    block, other = np.ones((CHUNK, lines)), np.ones((CHUNK, lines))

    def bare() -> None:
        for _ in range(COUNT // CHUNK):
            for _ in range(PRODUCTS):
                np.matmul(left, right, out=other)
            for _ in range(PASSES):
                np.add(block, other, out=other)
            for _ in range(ROOTS):
                np.sqrt(block, out=other)

    share = seconds(bare) / seconds(lambda: gaps(targets, errors, workers=1))
    print(f"\n{100 * share:.0f} % of the arithmetic limit of numpy on one core")
    assert share > 0.1
