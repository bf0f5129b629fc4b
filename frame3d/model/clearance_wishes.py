"""What turns in and beside a frame, and how much room a job wants it to have."""

from dataclasses import dataclass

from frame3d.model.tube import Point


@dataclass(frozen=True)
class Cranks:
    """Cranks, chain ring, pedals and shoes about the shell's axis, which lies along y. Mm; `out`
    means from the middle of the frame. Usual measures stand in tables/crank_measures.csv.

    centre:        middle of the shell
    length:        shell's axis to the pedal's
    arm_inner:     inner side of the arms, out
    arm_width:     of the arms, along y
    arm_end:       how far an arm goes past the pedal's axis
    ring_teeth:    of the largest ring, for a chain of 12.7 mm pitch; 0 without a ring
    ring_line:     middle of the largest ring, out
    ring_width:    of ring and chain, along y
    pedal_centre:  out
    pedal_outer:   outer end of the pedal, out
    pedal_below:   underside of the pedal below its axis
    heel_behind:   middle of the heel behind the pedal's axis
    heel_above:    and above it
    heel_width:    of the shoe at the heel
    """

    centre: Point
    length: float
    arm_inner: float
    arm_width: float
    arm_end: float
    ring_teeth: float
    ring_line: float
    ring_width: float
    pedal_centre: float
    pedal_outer: float
    pedal_below: float
    heel_behind: float
    heel_above: float
    heel_width: float


@dataclass(frozen=True)
class Pair:
    """Two parts of the job, by name, that must stand at least so far apart, mm."""

    between: tuple[str, str]
    least: float


@dataclass(frozen=True)
class Room:
    """What a job wants to be measured.

    cranks:         None where it says nothing of them and is no bicycle
    usual_cranks:   they are only what is usual: what follows from them is told, not judged
    limits:         its own limits by clearance; others stand in tables/clearance_limits.csv
    pairs:          parts whose distance it wants
    head_tube:      the tube that the front wheel is steered in
    foot_retention: pedals that hold the foot: toe clearance is then told, not judged
    mudguard:       width and outside radius of the front mudguard, mm, if it has one
    """

    cranks: Cranks | None = None
    limits: tuple[tuple[str, float], ...] = ()
    pairs: tuple[Pair, ...] = ()
    head_tube: str = "head tube"
    foot_retention: bool = False
    mudguard: tuple[float, float] | None = None
    usual_cranks: bool = False


NOTHING_WANTED = Room()
