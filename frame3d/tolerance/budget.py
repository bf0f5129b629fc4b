"""A frame's whole error budget, as data and as JSON."""

import os
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import asdict, dataclass

from frame3d.check.report_section import number
from frame3d.model import Frame, Printer
from frame3d.surfaces.cope import Copes
from frame3d.tables import rows
from frame3d.tolerance.budget_text import JointBudget, words
from frame3d.tolerance.by_hand import FRAMES, ByHand, FrameByHand, by_hand
from frame3d.tolerance.care import CARE_WORK, TRIAL_WORK, Care, cares_of
from frame3d.tolerance.chance import Estimate, FrameChance, frame_chance
from frame3d.tolerance.halving import FRAMES as FRAMES_HALVED
from frame3d.tolerance.halving import Halved, frame_halved, halved_gaps, joints_halved
from frame3d.tolerance.hand_fit_limits import room_by_hand
from frame3d.tolerance.setup_errors import GRIP, Spreads, errors_of, sizes_at, unit
from frame3d.tolerance.simulate import Key, Targets, drawn, gaps, target_or_reason
from frame3d.tolerance.single_error import Alone, errors_alone
from frame3d.tolerance.target import Target
from frame3d.tolerance.worker_pool import Crew

FORMAT = "frame3d-errors/1"
WANTED = 0.95
# Set-ups that take as long, for the progress bar: as a joint's shares, as its tube moved by hand.
SHARES_WORK, HELD_WORK, HALVED_WORK = 4_000, 5_000, 6_000


@dataclass(frozen=True)
class Size:
    """An error as it is taken: by the shop file's name for it, its least and largest size at the
    frame's joints, as the shop file takes it, and on whose word.

    within: the same in words; of a normal one 19 of 20 are, else all are
    """

    name: str
    key: str
    shape: str
    unit: str
    sizes: tuple[float, float]
    within: str
    meaning: str
    standing: str


@dataclass(frozen=True, eq=False)
class Budget:
    """by_hand: None where it is not asked for; halved: what halving each error everywhere does to
    the frame's chance, most helpful first; left_out: joints that cannot be drawn, with the
    reason in words."""

    frame: Frame
    spreads: Spreads
    seed: int
    wanted: float
    whole: FrameChance
    by_hand: FrameByHand | None
    halved: tuple[Halved, ...]
    targets: Targets
    joints: dict[Key, JointBudget]
    left_out: dict[Key, str]

    @property
    def passes(self) -> bool:
        """Whether every joint closes with the wanted chance, by hand where that is worked out."""
        chances = [joint.best.value for joint in self.joints.values()]
        return not self.left_out and all(chance >= self.wanted for chance in chances)

    def sizes(self) -> list[Size]:
        """The errors that act on any joint, in the table's order."""
        acting: dict[str, list[float]] = {}
        for target in self.targets.values():
            for name in errors_of(target):
                sizes = sizes_at(self.frame, target, self.spreads, name)
                acting.setdefault(name, []).extend(sizes.tolist())
        table = [row for row in rows("setup_errors") if row["error"] in acting]
        return [self._size(row, acting[row["error"]]) for row in table]

    def _size(self, row: dict[str, str], sizes: list[float]) -> Size:
        name, shape = row["error"], row["shape"]
        bounds = min(sizes), max(sizes)
        low, high = (f"{bound:.2g}" for bound in bounds)
        within = low if low == high else f"{low} to {high}"
        sign = "0 to " if shape == "one-sided" else "±"
        shop, standing = self.frame.shop, row["source"]
        if name in dict(shop.errors):
            standing = "your shop file"
        elif name == GRIP and shop.printer.clearance != Printer().clearance:
            standing = "your shop file, [printer] clearance"
        mark = {"deg": "°"}.get(row["unit"], f" {row['unit']}")
        told = f"{sign}{within}{mark}" + ("" if shape == "normal" else ", all")
        key = name.replace(" ", "_")
        return Size(name, key, shape, row["unit"], bounds, told, row["meaning"], standing)


def error_budget(
    frame: Frame,
    copes: Copes,
    spreads: Spreads,
    samples: int,
    seed: int,
    wanted: float = WANTED,
    with_care: bool = True,
    with_hand_fit: bool = True,
    with_curves: bool = True,
    done: Callable[[int], None] = lambda count: None,
) -> Budget:
    """Chance, shares and care of every joint. `done` hears how many set-ups are measured.

    Raises ValueError where the frame has no joint that can be drawn at random.
    """
    found = {key: target_or_reason(cope) for key, cope in copes.items()}
    targets = {key: target for key, target in found.items() if isinstance(target, Target)}
    left_out = {key: reason for key, reason in found.items() if isinstance(reason, str)}
    for joint in frame.joints:
        if (joint.tube, joint.end) not in copes:
            left_out[joint.tube, joint.end] = "the axes are too near parallel to shape an end"
    if not targets:
        reasons = "; ".join(f"{tube}, {end}: {why}" for (tube, end), why in left_out.items())
        raise ValueError(f"there is nothing to draw: {reasons or 'the job has no joint'}")
    whole = frame_chance(frame, targets, spreads, samples, seed, done)
    nominal = {key: float(gap[0]) for key, gap in gaps(targets, {}).items()}

    def shares_of(key: Key) -> tuple[Alone, ...]:
        return errors_alone(frame, targets, spreads, key, nominal[key], seed)

    cares: dict[Key, Care] = {}
    groups = [[key] for key in targets]
    held: FrameByHand | None = None
    shares: dict[Key, tuple[Alone, ...]] = {}
    with ThreadPoolExecutor(os.cpu_count()) as pool:
        crew = Crew(pool, done)
        if with_curves:
            shares = crew.each(shares_of, targets, SHARES_WORK)
        if with_care:
            cares, groups = cares_of(
                frame, targets, spreads, seed, wanted, targets, whole.pooled, crew
            )
        halved = {}
        if with_care:
            errors = drawn(frame, targets, spreads, min(FRAMES_HALVED, samples), seed)
            halved = halved_gaps(targets, errors, whole, crew)
            done(HALVED_WORK * len(targets))
        if with_hand_fit:
            errors = drawn(frame, targets, spreads, min(FRAMES, samples), seed)
            held = by_hand(targets, errors, whole, crew)
            done(HELD_WORK * len(targets))
    ranked = {key: joints_halved(halved, whole, group, wanted) for group in groups for key in group}
    joints = {
        key: JointBudget(
            nominal[key],
            whole.joints[key],
            shares.get(key, ()),
            ranked[key],
            cares.get(key),
            held and held.joints[key],
            target.as_wide,
        )
        for key, target in targets.items()
    }
    return Budget(
        frame,
        spreads,
        seed,
        wanted,
        whole,
        held,
        frame_halved(halved, whole),
        targets,
        joints,
        left_out,
    )


def work_of(
    joints: int, samples: int, with_care: bool, with_hand_fit: bool, with_curves: bool
) -> int:
    """Set-ups that a budget's work comes to, as `done` hears of them."""
    each = samples + (SHARES_WORK if with_curves else 0)
    each += TRIAL_WORK + CARE_WORK + HALVED_WORK if with_care else 0
    return joints * (each + (HELD_WORK if with_hand_fit else 0))


def as_json(budget: Budget) -> dict[str, object]:
    whole, held = budget.whole, budget.by_hand
    return {
        "format": FORMAT,
        "job": budget.frame.name,
        "samples": whole.count,
        "seed": budget.seed,
        "wanted": budget.wanted,
        "settled": whole.settled,
        "sizes": [
            {
                "name": size.name,
                "key": size.key,
                "size": size.sizes[0] if size.sizes[0] == size.sizes[1] else size.sizes,
                "unit": size.unit,
                "shape": size.shape,
                "within": size.within,
                "meaning": size.meaning,
                "standing": size.standing,
            }
            for size in budget.sizes()
        ],
        "chance": _estimate(whole.chance),
        "by_hand": held and _by_hand(held) | {"room": asdict(room_by_hand())},
        "halved": [_halved(one) for one in budget.halved],
        "reworks": _estimate(whole.reworks),
        "joints": [_joint(key, joint, budget.wanted) for key, joint in budget.joints.items()],
        "left_out": [
            {"tube": tube, "end": end, "reason": reason}
            for (tube, end), reason in budget.left_out.items()
        ],
    }


def _joint(key: Key, joint: JointBudget, wanted: float) -> dict[str, object]:
    return {
        "tube": key[0],
        "end": key[1],
        "nominal_mm": number(joint.nominal),
        "limit_mm": number(joint.chance.limit),
        "median_mm": _estimate(joint.chance.quantile(0.5)),
        "p95_mm": _estimate(joint.chance.quantile(0.95)),
        "chance": _estimate(joint.chance.chance),
        "by_hand": joint.by_hand and _by_hand(joint.by_hand),
        "errors": [
            {
                "name": error.name,
                "size": error.size,
                "unit": unit(error.name),
                "opening_mm": number(error.opening),
                "share": number(error.share),
                "curve": [
                    [number(float(a)), number(float(g))]
                    for a, g in zip(error.at, error.gap, strict=True)
                ],
            }
            for error in joint.errors
        ],
        "halved": [_halved(one) for one in joint.halved],
        "as_wide_as_mate": joint.as_wide,
        "care": joint.care and _care(joint.care),
        "words": words(joint, wanted),
    }


def _care(care: Care) -> dict[str, object]:
    def size(value: float | None) -> float | str | None:
        return "free" if value == float("inf") else value

    alone = {
        f"{name.replace(' ', '_')}_{unit(name)}": size(one.within)
        for name, one in care.alone.items()
    }
    return {**alone, "both_factor": size(care.both)}


def _halved(one: Halved) -> dict[str, object]:
    return {"name": one.name, "chance": _estimate(one.chance), "gain": _estimate(one.gain)}


def _by_hand(held: ByHand) -> dict[str, object]:
    return {
        "chance": _estimate(held.chance),
        "p95_sideways_mm": number(held.moved.sideways),
        "p95_out_of_line_deg": number(held.moved.turned),
    }


def _estimate(estimate: Estimate) -> dict[str, float | None]:
    return {"value": number(estimate.value), "error": number(estimate.error)}
