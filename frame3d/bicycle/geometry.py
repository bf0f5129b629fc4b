"""The side view of a bicycle, from whatever the builder knows of it."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Any, TypeVar

import numpy as np

from frame3d.bicycle.bicycle_error import BicycleError
from frame3d.bicycle.bought_parts import (
    Headset,
    Hub,
    Row,
    SeatPost,
    Shell,
    Wheel,
    headset,
    hub,
    seat_post,
    shell,
    wheel,
)
from frame3d.bicycle.plane import BASIS, MEASURES, points
from frame3d.bicycle.solve import solve
from frame3d.jobs.bicycle_tables import BicycleTable
from frame3d.model.tube import Point

TABLES = ("rims", "headset_bores", "steerers", "shells", "seat_posts", "hubs")

T = TypeVar("T")


@dataclass(frozen=True)
class Geometry:
    """A frame seen from the side: every measure (mm, degrees; see the table bicycle_measures).

    assumed: what was not given and filled by a default; rounded: what was given though it follows
    from the rest, and differs by its rounding alone.
    """

    values: Mapping[str, float]
    assumed: Mapping[str, float] = field(default_factory=lambda: MappingProxyType({}))
    rounded: Mapping[str, float] = field(default_factory=lambda: MappingProxyType({}))

    def __getitem__(self, measure: str) -> float:
        return self.values[measure]

    def nodes(self) -> dict[str, Point]:
        """Every axis crossing, mm from the shell's centre: x forward, y left (all 0), z up."""
        at = points({key: self.values[key] for key in BASIS})
        return {name: (float(x), 0.0, float(z)) for name, (x, z) in at.items()}

    def steering_axis(self) -> tuple[Point, Point]:
        """The axle's foot on the steering axis, and the unit vector along it, upwards."""
        head = np.radians(self["head_tube_angle"])
        axle = self.nodes()["front axle"]
        foot = (axle[0] - self["rake"] * np.sin(head), 0.0, axle[2] - self["rake"] * np.cos(head))
        return (float(foot[0]), 0.0, float(foot[2])), (
            -float(np.cos(head)),
            0.0,
            float(np.sin(head)),
        )


@dataclass(frozen=True)
class Bicycle:
    """Geometry, and the parts that the builder named (None where not)."""

    geometry: Geometry
    front_wheel: Wheel | None = None
    rear_wheel: Wheel | None = None
    headset: Headset | None = None
    shell: Shell | None = None
    seat_post: SeatPost | None = None
    front_hub: Hub | None = None
    rear_hub: Hub | None = None


def read_bicycle(
    table: BicycleTable,
    extra: Mapping[str, Sequence[Row]] | None = None,
    fallback: Mapping[str, float] = MappingProxyType({}),
) -> Bicycle:
    """A bicycle from its table in a job.

    extra:    the builder's own rows by table name (TABLES)
    fallback: measures to take where the table leaves something open, before all other defaults
    Raises BicycleError with the key.
    """
    own: dict[str, Sequence[Row]] = {**dict.fromkeys(TABLES, ()), **(extra or {})}
    said = table.given()
    front_wheel = _part(table, "front_wheel", lambda v: wheel(v, own["rims"]))
    rear_wheel = _part(table, "rear_wheel", lambda v: wheel(v, own["rims"]))
    head = read_headset(table, own)
    given = {key: said[key] for key in MEASURES if key in said}
    for end, named in (("front", front_wheel), ("rear", rear_wheel)):
        if named is not None:
            given.setdefault(f"{end}_wheel_radius", named.radius)  # a measured radius wins
        elif f"{end}_wheel_radius" not in given:
            raise BicycleError(
                f'no {end} wheel: give {end}_wheel, such as "32-622", or {end}_wheel_radius',
                f"{end}_wheel",
            )
    # A bought part's measure comes before what is only wished for.
    of_headset = {"lower_headset_stack": head.lower.stack} if head else {}
    within = {"lower_headset_stack": head.lower_stack_within} if head else {}
    solution = solve(given, {**of_headset, **fallback}, within)
    return Bicycle(
        geometry=Geometry(solution.values, solution.assumed, solution.rounded),
        front_wheel=front_wheel,
        rear_wheel=rear_wheel,
        headset=head,
        shell=_part(table, "shell", lambda v: shell(v, own["shells"])),
        seat_post=_part(table, "seat_post", lambda v: seat_post(v, own["seat_posts"])),
        front_hub=_part(table, "front_hub", lambda v: hub(v, "front", own["hubs"])),
        rear_hub=_part(table, "rear_hub", lambda v: hub(v, "rear", own["hubs"])),
    )


def read_headset(table: BicycleTable, own: Mapping[str, Sequence[Row]]) -> Headset | None:
    """The headset of a bicycle's table, if it names one. Raises BicycleError with the key."""
    bores, steerers = own.get("headset_bores", ()), own.get("steerers", ())
    return _part(table, "headset", lambda v: headset(v, bores, steerers))


def _part(table: BicycleTable, key: str, read: Callable[[Any], T]) -> T | None:
    """What `read` makes of the key's value, its errors with the key named; None without the key."""
    value = getattr(table, key)
    if value is None:
        return None
    try:
        return read(value)
    except ValueError as error:
        raise BicycleError(f"{key}: {error}", key) from None
