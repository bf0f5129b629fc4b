"""What the numbers of a bicycle say, as the report tells it: plain data, units in the keys."""

from collections.abc import Iterable
from dataclasses import asdict, dataclass, fields
from pathlib import Path
from typing import Any

import numpy as np

from frame3d.bicycle.bought_part_fits import part_fits
from frame3d.bicycle.from_job import Plan, all_picked, bicycle_frame, read_plan
from frame3d.bicycle.handling import handling, head_and_fork, jig_table, standover
from frame3d.bicycle.rider import FitPoints, place_rider, stem_for
from frame3d.jobs import JobError, read_tables
from frame3d.model import PartFit, Tube
from frame3d.tables import row

Facts = dict[str, object]


def facts(plan: Plan, tubes: Iterable[Tube] = ()) -> dict[str, Facts]:
    """The report's keys geometry, jig, handling, head_and_fork, parts and rider.

    tubes: the frame's, as far as they are picked. mm and degrees; see bicycle_measures.csv.
    """
    named = {tube.name: tube for tube in tubes}
    geometry = plan.bicycle.geometry
    jig = jig_table(geometry)
    riders = [field.name for field in fields(FitPoints)] if plan.rider else []
    steering: Facts = _mm(asdict(handling(geometry)))
    if "top tube" in named:
        over = standover(named["top tube"], geometry["shell_height"])
        steering["standover_mm"] = _rounded(over)
    found: dict[str, Facts] = {
        "geometry": {
            **{f"{key}_{_unit(key)}": _rounded(value) for key, value in geometry.values.items()},
            "assumed": [f"{key}_{_unit(key)}" for key in geometry.assumed if key not in riders],
            "from_rider": [f"{key}_{_unit(key)}" for key in geometry.assumed if key in riders],
        },
        "jig": {
            "nodes_mm": {name: [_rounded(v) for v in at] for name, at in jig.nodes.items()},
            "angles_deg": {name: _rounded(v) for name, v in jig.angles.items()},
            "lengths_mm": {name: _rounded(v) for name, v in jig.lengths.items()},
        },
        "handling": steering,
        "head_and_fork": {**_mm(asdict(head_and_fork(geometry))), **_blade(named)},
        "parts": _parts(plan, named),
    }
    if plan.rider is not None and plan.cockpit is not None:
        found["rider"] = _rider(plan)
    return found


def _blade(named: dict[str, Tube]) -> Facts:
    """How a raked blade is bent: along its axis, from the crown's."""
    blade = named.get("left fork blade")
    if blade is None or len(blade.bends) != 1:
        return {}
    line = blade.centreline
    (bent,) = np.flatnonzero(line.curvature)
    return {
        "blade_length_mm": _rounded(line.length),
        "blade_straight_mm": _rounded(float(line.stations[bent])),
        "blade_bend_radius_mm": _rounded(float(1 / line.curvature[bent])),
        "blade_bend_angle_deg": _rounded(
            float(np.degrees(line.lengths[bent] * line.curvature[bent]))
        ),
        "blade_past_bend_mm": _rounded(float(line.length - line.stations[bent + 1])),
    }


@dataclass(frozen=True)
class JobFacts:
    """What the numbers of a job say. facts: the report's keys; problem: why its tubes, though all
    are picked, cannot stand so; without them the numbers are told all the same."""

    name: str
    facts: dict[str, Any]
    problem: JobError | None = None


def facts_of_job(path: str | Path) -> JobFacts:
    """The facts of a job's bicycle, of whose tubes some may still have to be picked, and how its
    bought parts fit them. Raises JobError for numbers that make no bicycle."""
    job = read_tables(path)
    plan = read_plan(job)
    tubes: tuple[Tube, ...] = ()
    fits: tuple[PartFit, ...] = ()
    problem = None
    if all_picked(job, plan):
        try:
            frame = bicycle_frame(job, plan)
            tubes, fits = frame.tubes, part_fits(plan.bicycle, frame.tubes, frame.plates)
        except JobError as error:
            problem = error
    said = [fit.as_json() for fit in fits]
    found = {**facts(plan, tubes), **({"fits": said} if said else {})}
    return JobFacts(job.tables.job.name, found, problem)


def _rider(plan: Plan) -> Facts:
    """What the rider asks for, where the frame puts them, and the stem that mends the hands."""
    assert plan.rider is not None and plan.cockpit is not None
    g, cockpit = plan.bicycle.geometry, plan.cockpit
    stack, reach, head = (g[key] for key in ("stack", "reach", "head_tube_angle"))
    placed = place_rider(
        stack, reach, head, g["seat_tube_angle"], cockpit, plan.rider.saddle_height
    )
    length, spacers = stem_for(plan.rider, cockpit, stack, reach, head)
    unit = {key: "deg" if key == "stem_angle" else "mm" for key in asdict(cockpit)}
    return {
        "wanted": _mm(asdict(plan.rider)),
        "placed": _mm(asdict(placed)),
        "cockpit": {
            **{f"{key}_{unit[key]}": _rounded(value) for key, value in asdict(cockpit).items()},
            "assumed": [f"{key}_{unit[key]}" for key in plan.cockpit_assumed],
        },
        "stem_length_mm": cockpit.stem_length,
        "spacers_mm": cockpit.spacers,
        "stem_length_for_hands_mm": _rounded(length),
        "spacers_for_hands_mm": _rounded(spacers),
    }


def _parts(plan: Plan, named: dict[str, Tube]) -> Facts:
    """The parts named, and beside the bores that they want those that the tubes have."""
    bicycle = plan.bicycle
    found: Facts = {}
    for end, wheel in (("front", bicycle.front_wheel), ("rear", bicycle.rear_wheel)):
        if wheel is not None:
            found[f"{end}_wheel"] = wheel.designation
    for end, hub in (("front", bicycle.front_hub), ("rear", bicycle.rear_hub)):
        if hub is not None:
            found[f"{end}_hub"] = hub.name
            found[f"{end}_dropout"] = hub.dropout
    if bicycle.shell is not None:
        found["shell"] = bicycle.shell.name
        found["shell_thread"] = bicycle.shell.thread
        if "shell" in named:
            found["shell_bore_mm"] = {"wanted": bicycle.shell.bore, "tube": _bore(named["shell"])}
    if bicycle.headset is not None:
        found["headset"] = bicycle.headset.code
        head = named.get("head tube")
        for end, bore in (
            ("upper", bicycle.headset.upper_bore),
            ("lower", bicycle.headset.lower_bore),
        ):
            at = 0.0 if end == "lower" or head is None else head.length
            found[f"head_tube_{end}_bore_mm"] = {"wanted": bore, "tube": _bore(head, at)}
    if bicycle.seat_post is not None:
        seat = named.get("seat tube")
        found["seat_post_mm"] = bicycle.seat_post.diameter
        found["seat_tube_bore_mm"] = {
            "wanted": bicycle.seat_post.bore,
            "tube": _bore(seat, seat.length if seat else 0.0),
        }
    return found


def _bore(tube: Tube | None, at: float = 0.0) -> float | None:
    return None if tube is None else _rounded(float(tube.od(at)) - 2 * float(tube.wall(at)))


def _unit(measure: str) -> str:
    return row("bicycle_measures", measure)["unit"]


def _mm(values: dict[str, float]) -> Facts:
    return {f"{key}_mm": _rounded(value) for key, value in values.items()}


def _rounded(value: float) -> float:
    """To a nanometre, since more digits are noise; -0.0 becomes 0.0."""
    return round(value, 6) + 0.0
