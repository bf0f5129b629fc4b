"""The report's section on bought parts: do they fit their tubes?"""

from dataclasses import dataclass

from frame3d.model import PartFit


@dataclass(frozen=True)
class PartFits:
    """All that was judged."""

    lines: tuple[PartFit, ...]
    key: str = "fits"

    @property
    def passes(self) -> bool:
        return all(line.passes for line in self.lines)

    def as_json(self) -> list[dict[str, object]]:
        return [line.as_json() for line in self.lines]
