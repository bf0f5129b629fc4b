"""Speed of set-ups: pairs in one run, ratios only; the figures are printed."""

import os
from collections.abc import Callable
from functools import partial
from pathlib import Path
from time import perf_counter, process_time

import numpy as np
import pytest

import frame3d
from frame3d.check.gap import gap_of
from frame3d.model import Frame, Joint, Limits, Profile, Shop, Tube
from frame3d.model.tube import Bend, Oval
from frame3d.surfaces.cope import cope_of, copes_of
from frame3d.tolerance.budget import error_budget
from frame3d.tolerance.chance import frame_chance
from frame3d.tolerance.setup_errors import shop_spreads
from frame3d.tolerance.simulate import chunk_of, drawn, gaps, targets_of

COUNT = 20_000
FRAMES = 10_000
KEY = ("rail", "start")
EXAMPLES = Path(__file__).parents[2] / "examples"
# What the formulas of tolerance.displaced_cut take for each line of a set-up with one mate: six
# products of five terms; sixteen passes of sums, products and comparisons; three square roots.
PRODUCTS, PASSES, ROOTS = 6, 16, 3
ROUND = Profile.constant(36.0)


def frame(mate: Profile = ROUND, bends: tuple[Bend, ...] = (), oval: Oval | None = None) -> Frame:
    x = -30.0 if bends else 0.0
    post = Tube(
        "post", (x, 0, -100), (0, 0, 100), mate, Profile.constant(1.2), oval=oval, bends=bends
    )
    rail = Tube("rail", (0, 0, 0), (250, 0, 60), Profile.constant(28.6), Profile.constant(0.9))
    joint = Joint("rail", "start", ("post",), (37.0,))
    return Frame("t", "fillet-braze", (post, rail), (joint,), Limits(3, 10, 0.02, 1), Shop())


SHAPED = {
    "tapered": frame(Profile.through([(0, 34.0), (200, 38.0)])),
    "oval": frame(oval=Oval(Profile.constant(30.0), 20.0)),
    "bent": frame(bends=(Bend((0, 0, 0), 250.0),)),
}


def seconds(
    work: Callable[[], object], times: int = 3, clock: Callable[[], float] = perf_counter
) -> float:
    taken = []
    for _ in range(times):
        start = clock()
        work()
        taken.append(clock() - start)
    return min(taken)


def test_set_ups_by_thousands_beat_one_at_a_time() -> None:
    job = frame()
    targets = targets_of(copes_of(job))
    errors = drawn(job, targets, shop_spreads(), COUNT, 1)
    many = seconds(lambda: gaps(targets, errors, workers=1), clock=process_time) / COUNT
    one = seconds(lambda: gap_of(cope_of(job, job.joints[0])), clock=process_time)
    all_cores = seconds(lambda: gaps(targets, errors)) / COUNT
    print(
        f"\n{1 / many:.0f} set-ups a second of one core, {one / many:.0f} times one at a time; "
        f"{1 / all_cores:.0f} a second by the clock on {os.cpu_count()} cores"
    )
    assert one / many > 100


def test_one_worker_keeps_one_core_busy() -> None:
    """The cores share the set-ups; a linear algebra library that starts threads of its own for the
    products only makes them wait for each other."""
    job = frame3d.open(EXAMPLES / "touring" / "job.toml").frame
    targets = targets_of(copes_of(job))
    errors = drawn(job, targets, shop_spreads(), 1000, 1)

    def by(clock: Callable[[], float]) -> float:
        return seconds(lambda: gaps(targets, errors, workers=1), clock=clock)

    cores = by(process_time) / by(perf_counter)
    print(f"\none worker uses {cores:.2f} cores")
    assert cores < 1.3


def test_care_and_moves_by_hand_cost_a_few_times_the_frames_own_draws() -> None:
    job = frame3d.open(EXAMPLES / "touring" / "job.toml").frame
    copes = copes_of(job)
    spreads = shop_spreads(dict(job.shop.errors))

    def budget() -> None:
        error_budget(job, copes, spreads, FRAMES, 1, with_curves=False)

    targets = targets_of(copes)
    whole = seconds(budget, 1, process_time)
    draws = seconds(lambda: frame_chance(job, targets, spreads, FRAMES, 1), 1, process_time)
    print(f"\nwith care and hand fits {whole / draws:.1f} times the frame's own {FRAMES} draws")
    assert whole / draws < 6


def test_set_ups_keep_near_the_arithmetic_limit() -> None:
    """The same arithmetic on arrays in cache, without looking after any of it."""
    job = frame()
    targets = targets_of(copes_of(job))
    errors = drawn(job, targets, shop_spreads(), COUNT, 1)
    lines = targets[KEY].lines.basis.shape[1]  # type: ignore[index]
    chunk = chunk_of(targets.values())
    left, right = np.ones((chunk, 5)), np.ones((5, lines))
    block, other = np.ones((chunk, lines)), np.ones((chunk, lines))

    def bare() -> None:
        for _ in range(COUNT // chunk):
            for _ in range(PRODUCTS):
                np.matmul(left, right, out=other)
            for _ in range(PASSES):
                np.add(block, other, out=other)
            for _ in range(ROOTS):
                np.sqrt(block, out=other)

    own = seconds(lambda: gaps(targets, errors, workers=1), clock=process_time)
    share = seconds(bare, clock=process_time) / own
    print(f"\n{100 * share:.0f} % of the arithmetic limit of numpy on one core")
    assert share > 0.25  # passes of numpy over whole arrays were at 0.13


@pytest.mark.parametrize("shape", list(SHAPED))
def test_a_shaped_mate_costs_a_few_times_a_round_one(shape: str) -> None:
    rates = {}
    for name, job in (("round", frame()), (shape, SHAPED[shape])):
        targets = targets_of(copes_of(job))
        errors = drawn(job, targets, shop_spreads(), COUNT, 1)
        work = partial(gaps, targets, errors, workers=1)
        rates[name] = COUNT / seconds(work, clock=process_time)
    ratio = rates["round"] / rates[shape]
    print(
        f"\n{shape}: {rates[shape]:.0f} set-ups a second of one core, 1/{ratio:.1f} of a round one"
    )
    assert ratio < 4


def test_a_whole_touring_frame_keeps_the_rate_of_a_single_joint() -> None:
    """10,000 frames with all their joints, round and shaped; told as joints a second."""
    job = frame3d.open(EXAMPLES / "touring" / "job.toml").frame
    targets = targets_of(copes_of(job))
    spreads = shop_spreads(dict(job.shop.errors))
    whole = seconds(lambda: frame_chance(job, targets, spreads, FRAMES, 1), 1)
    plain = frame()
    one = targets_of(copes_of(plain))
    errors = drawn(plain, one, shop_spreads(), COUNT, 1)
    single = seconds(lambda: gaps(one, errors)) / COUNT
    each = whole / (FRAMES * len(targets))
    print(
        f"\ntouring: {FRAMES} frames of {len(targets)} joints in {whole:.1f} s, "
        f"{1 / each:.0f} joints a second, 1/{each / single:.1f} of a round joint's rate"
    )
    assert len(targets) == len(job.joints)
    assert each / single < 8
