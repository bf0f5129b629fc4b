"""The hole saws of a shop."""

from dataclasses import dataclass, replace

# Over the set of the teeth of bi-metal hole saws: 1.3 to 1.8 mm. From memory, no source read.
USUAL_TOOTH_MM = (1.3, 1.8)


@dataclass(frozen=True)
class ProvedSpeed:
    """A spindle speed, rpm, that has cut this material in walls up to `wall`, mm, in this shop."""

    material: str
    wall: float
    rpm: float


@dataclass(frozen=True)
class Saw:
    """A hole saw. Lengths mm.

    od:     outside diameter as measured over the teeth
    depth:  how deep it cuts, if known
    tooth:  least and greatest thickness of the teeth over their set; equal where it was measured
    teeth:  how many it has, if known
    proved: speeds that it has cut at in this shop
    kind:   by the names of tables/saw_kinds.csv
    """

    od: float
    depth: float | None = None
    tooth: tuple[float, float] = USUAL_TOOTH_MM
    teeth: int | None = None
    proved: tuple[ProvedSpeed, ...] = ()
    kind: str = "hole saw"

    def with_tooth(self, thickness: float) -> "Saw":
        """The same with teeth measured to be so thick, mm."""
        return replace(self, tooth=(thickness, thickness))

    def proved_in(self, material: str, wall: float) -> float | None:
        """The speed proved in the thinnest wall that is not thinner than this one, rpm."""
        fit = [p for p in self.proved if p.material == material and p.wall >= wall - 1e-6]
        return min(fit, key=lambda p: p.wall).rpm if fit else None
