"""What the numbers of a bicycle say: typed, and as the report's JSON tells it."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, fields, replace
from pathlib import Path
from typing import TypeVar

import numpy as np

from frame3d.bicycle.bought_part_fits import part_fits
from frame3d.bicycle.from_job import Plan, all_picked, bicycle_frame, read_plan
from frame3d.bicycle.geometry import Geometry
from frame3d.bicycle.handling import (
    Handling,
    HeadAndFork,
    JigTable,
    handling,
    head_and_fork,
    jig_table,
    own_measures,
    standover,
)
from frame3d.bicycle.plane import MEASURES
from frame3d.bicycle.rider import FitPoints, place_rider, stem_for
from frame3d.jobs import JobError, read_tables
from frame3d.model import PartFit, Tube
from frame3d.model.rider import Cockpit, Rider
from frame3d.tables import row

FORMAT = "frame3d-geometry/1"

Lengths = TypeVar("Lengths", Handling, HeadAndFork, Rider, Cockpit)


@dataclass(frozen=True)
class Figure:
    """A measure by its name in the job file; unit: "mm" or "deg"."""

    name: str
    value: float
    unit: str

    @property
    def key(self) -> str:
        """Its name in JSON."""
        return _key(self.name)


@dataclass(frozen=True)
class Bore:
    """Diameters, mm: what a part wants, and the tube's own, None where it is not picked."""

    wanted: float
    tube: float | None


@dataclass(frozen=True)
class NamedParts:
    """The parts that the job names, None where it does not, and the bores that they want.

    seat_post: its diameter, mm.
    """

    front_wheel: str | None = None
    rear_wheel: str | None = None
    front_hub: str | None = None
    front_dropout: str | None = None
    rear_hub: str | None = None
    rear_dropout: str | None = None
    shell: str | None = None
    shell_thread: str | None = None
    shell_bore: Bore | None = None
    headset: str | None = None
    head_tube_upper_bore: Bore | None = None
    head_tube_lower_bore: Bore | None = None
    seat_post: float | None = None
    seat_tube_bore: Bore | None = None

    def told(self) -> dict[str, str | float | Bore]:
        """Those that there are, in order, by name."""
        values = ((f.name, getattr(self, f.name)) for f in fields(self))
        return {name: value for name, value in values if value is not None}


@dataclass(frozen=True)
class RiderFit:
    """What the rider asks for, where the frame puts them, and the stem that mends the hands.

    assumed: what of the cockpit is usual, not given; stem_for_hands, spacers_for_hands: mm.
    """

    wanted: Rider
    placed: Rider
    cockpit: Cockpit
    assumed: tuple[str, ...]
    stem_for_hands: float
    spacers_for_hands: float


@dataclass(frozen=True)
class BicycleFacts:
    """What a bicycle's numbers come to, mm and degrees.

    To a nanometre, since more digits are noise. assumed: measures that a default filled;
    from_rider: those that follow from the rider; own_axes: what measures come to on tubes that have
    a start or end of their own.
    """

    geometry: Geometry
    assumed: tuple[str, ...]
    from_rider: tuple[str, ...]
    own_axes: Mapping[str, float]
    jig: JigTable
    handling: Handling
    head_and_fork: HeadAndFork
    parts: NamedParts
    rider: RiderFit | None

    def as_json(self) -> dict[str, object]:
        """The report's keys geometry, jig, handling, head_and_fork, parts and rider."""
        parts = {
            name if isinstance(value, str) else f"{name}_mm": vars(value)
            if isinstance(value, Bore)
            else value
            for name, value in self.parts.told().items()
        }
        return {
            "geometry": {
                **_json(self.geometry.values),
                "assumed": [_key(name) for name in self.assumed],
                "from_rider": [_key(name) for name in self.from_rider],
                "rounded": _json(self.geometry.rounded),
                "own_axes": _json(self.own_axes),
            },
            "jig": {
                "nodes_mm": {name: list(at) for name, at in self.jig.nodes.items()},
                "angles_deg": self.jig.angles,
                "lengths_mm": self.jig.lengths,
            },
            "handling": _json(vars(self.handling)),
            "head_and_fork": _json(vars(self.head_and_fork)),
            "parts": parts,
            **({"rider": _rider_json(self.rider)} if self.rider else {}),
        }


def figures(values: Mapping[str, float | None]) -> tuple[Figure, ...]:
    """Measures with their units, without those that there are not."""
    return tuple(
        Figure(name, value, _unit(name)) for name, value in values.items() if value is not None
    )


def facts(plan: Plan, tubes: Iterable[Tube] = ()) -> BicycleFacts:
    """What the numbers come to. tubes: the frame's, as far as they are picked."""
    named = {tube.name: tube for tube in tubes}
    geometry = plan.bicycle.geometry
    jig = jig_table(geometry, named)
    riders = [field.name for field in fields(FitPoints)] if plan.rider else []
    steering = handling(geometry)
    if "top tube" in named:
        over = standover(named["top tube"], geometry["shell_height"])
        steering = replace(steering, standover=over)
    return BicycleFacts(
        geometry=replace(geometry, values=_all_rounded(geometry.values)),
        assumed=tuple(name for name in geometry.assumed if name not in riders),
        from_rider=tuple(name for name in geometry.assumed if name in riders),
        own_axes=_all_rounded(own_measures(geometry, named)),
        jig=JigTable(
            {
                name: (_rounded(x), _rounded(y), _rounded(z))
                for name, (x, y, z) in jig.nodes.items()
            },
            _all_rounded(jig.angles),
            _all_rounded(jig.lengths),
        ),
        handling=_to_nanometre(steering),
        head_and_fork=_to_nanometre(_with_blade(head_and_fork(geometry), named)),
        parts=_parts(plan, named),
        rider=_rider(plan),
    )


def _with_blade(head: HeadAndFork, named: Mapping[str, Tube]) -> HeadAndFork:
    """With how a raked blade is bent."""
    blade = named.get("left fork blade")
    if blade is None or len(blade.bends) != 1:
        return head
    line = blade.centreline
    (bent,) = np.flatnonzero(line.curvature)
    return replace(
        head,
        blade_length=line.length,
        blade_straight=float(line.stations[bent]),
        blade_bend_radius=float(1 / line.curvature[bent]),
        blade_bend_angle=float(np.degrees(line.lengths[bent] * line.curvature[bent])),
        blade_past_bend=float(line.length - line.stations[bent + 1]),
    )


@dataclass(frozen=True)
class JobFacts:
    """What the numbers of a job say, and how the bought parts fit. problem: why its tubes, though
    all are picked, cannot stand so; without them the numbers are told all the same."""

    name: str
    bicycle: BicycleFacts
    fits: tuple[PartFit, ...]
    problem: JobError | None = None

    @property
    def passes(self) -> bool:
        return self.problem is None and all(fit.passes for fit in self.fits)

    def as_json(self) -> dict[str, object]:
        """What `frame3d geometry --json` prints."""
        fits = [fit.as_json() for fit in self.fits]
        return {
            "format": FORMAT,
            "job": self.name,
            **self.bicycle.as_json(),
            **({"fits": fits} if fits else {}),
        }


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
    return JobFacts(job.tables.job.name, facts(plan, tubes), fits, problem)


def _rider(plan: Plan) -> RiderFit | None:
    if plan.rider is None or plan.cockpit is None:
        return None
    g, cockpit = plan.bicycle.geometry, plan.cockpit
    stack, reach, head = (g[key] for key in ("stack", "reach", "head_tube_angle"))
    placed = place_rider(
        stack, reach, head, g["seat_tube_angle"], cockpit, plan.rider.saddle_height
    )
    length, spacers = stem_for(plan.rider, cockpit, stack, reach, head)
    return RiderFit(
        _to_nanometre(plan.rider),
        _to_nanometre(placed),
        _to_nanometre(cockpit),
        plan.cockpit_assumed,
        _rounded(length),
        _rounded(spacers),
    )


def _rider_json(rider: RiderFit) -> dict[str, object]:
    return {
        "wanted": _json(vars(rider.wanted)),
        "placed": _json(vars(rider.placed)),
        "cockpit": {
            **_json(vars(rider.cockpit)),
            "assumed": [_key(name) for name in rider.assumed],
        },
        "stem_length_mm": rider.cockpit.stem_length,
        "spacers_mm": rider.cockpit.spacers,
        "stem_length_for_hands_mm": rider.stem_for_hands,
        "spacers_for_hands_mm": rider.spacers_for_hands,
    }


def _parts(plan: Plan, named: Mapping[str, Tube]) -> NamedParts:
    """The parts named, and beside the bores that they want those that the tubes have."""
    bicycle = plan.bicycle
    found = NamedParts(
        front_wheel=bicycle.front_wheel.designation if bicycle.front_wheel else None,
        rear_wheel=bicycle.rear_wheel.designation if bicycle.rear_wheel else None,
        front_hub=bicycle.front_hub.name if bicycle.front_hub else None,
        front_dropout=bicycle.front_hub.dropout if bicycle.front_hub else None,
        rear_hub=bicycle.rear_hub.name if bicycle.rear_hub else None,
        rear_dropout=bicycle.rear_hub.dropout if bicycle.rear_hub else None,
    )
    if bicycle.shell is not None:
        shell = named.get("shell")
        found = replace(
            found,
            shell=bicycle.shell.name,
            shell_thread=bicycle.shell.thread,
            shell_bore=Bore(bicycle.shell.bore, _bore(shell)) if shell else None,
        )
    if bicycle.headset is not None:
        head = named.get("head tube")
        top = head.length if head else 0.0
        found = replace(
            found,
            headset=bicycle.headset.code,
            head_tube_upper_bore=Bore(bicycle.headset.upper.bore, _bore(head, top)),
            head_tube_lower_bore=Bore(bicycle.headset.lower.bore, _bore(head)),
        )
    if bicycle.seat_post is not None:
        seat = named.get("seat tube")
        end = seat.length if seat else 0.0
        found = replace(
            found,
            seat_post=bicycle.seat_post.diameter,
            seat_tube_bore=Bore(bicycle.seat_post.bore, _bore(seat, end)),
        )
    return found


def _bore(tube: Tube | None, at: float = 0.0) -> float | None:
    return None if tube is None else _rounded(float(tube.od(at)) - 2 * float(tube.wall(at)))


def _unit(name: str) -> str:
    if name in MEASURES:
        return row("bicycle_measures", name)["unit"]
    return "deg" if name.endswith("_angle") else "mm"


def _key(name: str) -> str:
    return f"{name}_{_unit(name)}"


def _json(values: Mapping[str, float | None]) -> dict[str, object]:
    return {figure.key: figure.value for figure in figures(values)}


def _to_nanometre(values: Lengths) -> Lengths:
    return replace(values, **{f.name: f.value for f in figures(_all_rounded(vars(values)))})


def _all_rounded(values: Mapping[str, float | None]) -> dict[str, float]:
    return {name: _rounded(value) for name, value in values.items() if value is not None}


def _rounded(value: float) -> float:
    return round(value, 6) + 0.0  # -0.0 becomes 0.0
