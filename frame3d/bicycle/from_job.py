"""From the tables [bicycle] and [rider] of a job to the frame's tubes and joints."""

from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, fields, replace
from typing import Any, TypeVar

from frame3d.bicycle.bicycle_error import BicycleError
from frame3d.bicycle.bought_parts import Headset
from frame3d.bicycle.diamond import MUST, SECTIONS, diamond
from frame3d.bicycle.fork import rake_from_bend
from frame3d.bicycle.geometry import Bicycle, read_bicycle, read_headset
from frame3d.bicycle.rider import (
    fit_points,
    read_rider,
    steerer_above_head_tube,
)
from frame3d.bicycle.solve import agree
from frame3d.bicycle.structure import Section
from frame3d.jobs import Job, frame_of
from frame3d.jobs.bicycle_tables import BicycleTable, ForkLayout, RearLayout
from frame3d.jobs.validation import nearest
from frame3d.model import Frame, Profile, Tube
from frame3d.model.rider import Cockpit, Rider

NOWHERE = (0.0, 0.0, 0.0)

Layout = TypeVar("Layout", RearLayout, ForkLayout)
CUP_MM = 25.0  # of a head tube's end, straight for a headset's cup: common practice, no source
PAIRS = ("chain stay", "seat stay", "fork blade")
# A rider's head tube angle that itself hangs on the rider is closed in on by steps.
MOST_STEPS, SETTLED_DEG = 50, 1e-10


@dataclass(frozen=True)
class Plan:
    """What the tables say. cockpit_assumed: what of the cockpit the rider's table leaves to what is
    usual."""

    bicycle: Bicycle
    rider: Rider | None
    cockpit: Cockpit | None
    rear: RearLayout
    fork: ForkLayout
    cockpit_assumed: tuple[str, ...] = ()


def read_plan(job: Job) -> Plan:
    """The bicycle and the rider of a job. Raises JobError with file, line and key."""
    table = job.tables.bicycle
    if table is None or not table.model_fields_set:
        job.refuse(("bicycle",), "is missing")
    rear, fork = table.rear, table.fork
    with _refusing(job, "bicycle"):
        head = read_headset(table, job.parts)
        table = _with_rake(job, table)
    if job.tables.rider is None:
        with _refusing(job, "bicycle"):
            return Plan(read_bicycle(table, job.parts), None, None, rear, fork)
    with _refusing(job, "rider"):
        rider, cockpit = read_rider(job.tables.rider, head.upper.stack if head else None)
    with _refusing(job, "bicycle"):
        bicycle = _for_rider(table, job.parts, rider, cockpit)
    if "steerer_above" not in fork.model_fields_set:
        fork = fork.model_copy(update={"steerer_above": steerer_above_head_tube(cockpit)})
    said = job.tables.rider.model_fields_set
    assumed = tuple(f.name for f in fields(cockpit) if f.name not in said)
    return Plan(bicycle, rider, cockpit, rear, fork, assumed)


def _with_rake(job: Job, table: BicycleTable) -> BicycleTable:
    """The rake that the blades' bend makes, as one more of the bicycle's numbers."""
    fork, said = table.fork, table.given()
    if not fork.blade_bend_angle:
        return table
    if not (fork.blade_bend_radius and fork.blade_straight):
        raise BicycleError(
            "blade_bend_angle makes the rake together with blade_bend_radius and blade_straight: "
            "give all three, or leave out the angle, which then follows from the rake",
            "fork",
        )
    if "fork_length" not in said:
        raise BicycleError("blade_bend_angle makes the rake of a fork of a given fork_length")
    crown = next((tube for tube in job.tables.tube if tube.name == "crown"), None)
    if crown is None:
        raise BicycleError('blade_bend_angle makes the rake below a crown: pick a [[tube]] "crown"')
    radius = crown.on_axis(NOWHERE, NOWHERE).od.greatest / 2
    made = rake_from_bend(fork, said["fork_length"], radius)
    if "rake" in said:
        off = said["rake"] - made
        if not agree(said["rake"], made):
            raise BicycleError(
                f"rake is given as {made + off:g} mm, but the blades' bend in [bicycle.fork] makes "
                f"it {made:.2f} mm: {abs(off):.2f} mm too {'much' if off > 0 else 'little'}; leave "
                f"out one of them",
                "rake",
            )
    return table.model_copy(update={"rake": made})


def all_picked(job: Job, plan: Plan) -> bool:
    """Whether every tube that a frame must have is picked."""
    return {*_of_parts(plan.bicycle), *(t.name for t in job.tables.tube)}.issuperset(MUST)


def bicycle_frame(job: Job, plan: Plan) -> Frame:
    """The frame of a bicycle and of what else the job says.

    A [[tube]] named as one of SECTIONS stands where the geometry has it. Shell and head tube, where
    the job does not pick them, are those of the shell's standard and of the headset.
    """
    index: dict[str, int] = {}
    for number, table in enumerate(job.tables.tube):
        if table.name in index:
            problem = f'found "{table.name}" a second time, expected a name of its own'
            job.refuse(("tube", number, "name"), problem)
        if table.name in SECTIONS:
            index[table.name] = number
        elif table.start is None or table.end is None:
            problem = f'found "{table.name}" without start and end, which only a tube of the'
            advice = nearest(table.name, SECTIONS)
            job.refuse(("tube", number, "name"), f"{problem} bicycle may leave out; {advice}")
    picked = {name: job.tables.tube[number] for name, number in index.items()}
    sections = {
        **_of_parts(plan.bicycle),
        **{
            name: _section(t.on_axis(NOWHERE, NOWHERE), t.start, t.end)
            for name, t in picked.items()
        },
    }
    with _refusing(job, "bicycle", sections=index):
        made = diamond(
            plan.bicycle,
            sections,
            _by_plates(job, "rear", "rear", plan.rear),
            _by_plates(job, "front", "fork", plan.fork),
        )
    placed: list[tuple[int | None, Tube]] = []
    for tube in made.tubes:
        at = index.get(_kind(tube.name))
        if at is not None:
            own = job.tables.tube[at].on_axis(tube.start, tube.end)
            tube = replace(own, name=tube.name, oval=tube.oval, bends=tube.bends)
        placed.append((at, tube))
    return frame_of(job, placed, made.joints, made.dropouts)


def _by_plates(job: Job, axle: str, key: str, layout: Layout) -> Layout:
    """The layout with the thickness of the dropouts that the job draws for an axle."""
    found = [
        (table.thickness, index, table.name)
        for index, table in enumerate(job.tables.plate)
        if table.axle == axle
    ]
    if not found:
        return layout
    thickness, _, name = found[0]
    for other, index, _ in found:
        if other != thickness:
            problem = f'found {other:g} mm, and {thickness:g} mm for "{name}"'
            job.refuse(("plate", index, "thickness"), f"{problem}, expected the same on both sides")
    said = layout.dropout_thickness
    if "dropout_thickness" in layout.model_fields_set and said != thickness:
        problem = f'found {said:g} mm, but the plate "{name}" is {thickness:g} mm thick'
        place = ("bicycle", key, "dropout_thickness")
        job.refuse(place, f"{problem}; leave it out: the plate says it")
    return layout.model_copy(update={"dropout_thickness": thickness})


def _kind(tube: str) -> str:
    """The section's name of a tube: once for both sides."""
    side, _, kind = tube.partition(" ")
    return kind if side in ("left", "right") and kind in PAIRS else tube


def _section(tube: Tube, start: Any, end: Any) -> Section:
    return Section(tube.od, tube.wall, tube.material, tube.oval, tube.bends, start, end)


def _of_parts(bicycle: Bicycle) -> dict[str, Section]:
    """Head tube and shell as the bought parts want them."""
    found = {}
    if bicycle.headset is not None:
        found["head tube"] = _head_tube(bicycle.headset, bicycle.geometry["head_tube_length"])
    if bicycle.shell is not None:
        od = bicycle.shell.od
        found["shell"] = Section.plain(od, (od - bicycle.shell.bore) / 2)
    return found


def _head_tube(headset: Headset, length: float) -> Section:
    """Outside and bore as each half wants them, over the length of its cup; even between."""
    deep = min(CUP_MM, length / 3)
    lower, upper = headset.lower, headset.upper
    at = (0.0, deep, length - deep, length)

    def along(low: float, high: float) -> Profile:
        return Profile.constant(low) if low == high else Profile(at, (low, low, high, high))

    walls = [(half.head_tube_od - half.bore) / 2 for half in (lower, upper)]
    return Section(along(lower.head_tube_od, upper.head_tube_od), along(*walls))


def _for_rider(
    table: BicycleTable,
    own: Mapping[str, Sequence[Mapping[str, object]]],
    rider: Rider,
    cockpit: Cockpit,
) -> Bicycle:
    """Stack, reach and seat tube angle, where the table leaves them open, as the rider needs them.

    They hang on the head tube's angle, which may hang on them in turn.
    """
    head = table.given().get("head_tube_angle", 72.0)
    for _ in range(MOST_STEPS):
        points = fit_points(rider, cockpit, head)
        fallback = {f.name: getattr(points, f.name) for f in fields(points)}
        bicycle = read_bicycle(table, own, fallback)
        before, head = head, bicycle.geometry["head_tube_angle"]
        if abs(head - before) < SETTLED_DEG:
            return bicycle
    raise BicycleError(
        "the head tube's angle does not settle for this rider; give head_tube_angle",
        "head_tube_angle",
    )


@contextmanager
def _refusing(job: Job, *place: str, sections: Mapping[str, int] | None = None) -> Iterator[None]:
    """Tell what is wrong with numbers where they stand in the job.

    place: the table; sections: numbers of the [[tube]] tables by name.
    """
    try:
        yield
    except BicycleError as error:
        key, problem = error.key, str(error)
        table: Any = job.data
        for step in place:
            table = table.get(step, {}) if isinstance(table, dict) else {}
        if key is not None:
            problem = problem.removeprefix(f"{key}: ")
        if key is not None and sections and key in sections:
            job.refuse(("tube", sections[key]), problem)
        if key is not None and isinstance(table, dict) and key in table:
            job.refuse((*place, key), problem)
        job.refuse(place, problem)
