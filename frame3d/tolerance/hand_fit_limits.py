"""How far a tube may be moved by hand from its place in the jig."""

from dataclasses import dataclass

from frame3d.tables import row


@dataclass(frozen=True)
class Room:
    """Each way: shift of any end sideways, mm; turn out of the tube's axis and roll about it,
    degrees."""

    shift: float
    turn: float
    roll: float


def room_by_hand() -> Room:
    return Room(*(float(row("hand_fit", name)["value"]) for name in ("shift", "turn", "roll")))
