"""How a bought part fits the tube that was picked for it."""

from dataclasses import dataclass


@dataclass(frozen=True)
class PartFit:
    """Diameters in mm.

    part:    what goes in or on, and where
    tube:    its name
    wanted:  the bore that the part wants, or the outside
    found:   the tube's own
    depth:   how deep the part can go in at most, reamed where it must be, mm; None where that is of
             no interest
    reasons: why it cannot be used so; notes: what has to be done, though it can
    """

    part: str
    tube: str
    wanted: float
    found: float
    depth: float | None = None
    reasons: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()

    @property
    def passes(self) -> bool:
        return not self.reasons

    def as_json(self) -> dict[str, object]:
        """As it stands in the report, to a nanometre."""
        return {
            "part": self.part,
            "tube": self.tube,
            "wanted_mm": round(self.wanted, 6),
            "found_mm": round(self.found, 6),
            "depth_mm": None if self.depth is None else round(self.depth, 6),
            "verdict": "pass" if self.passes else "fail",
            "reasons": list(self.reasons),
            "notes": list(self.notes),
        }
