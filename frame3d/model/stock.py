"""Raw tubes as they are bought or measured, and where one lies on the axis of its tube."""

from dataclasses import dataclass, replace

from frame3d.model.tube import Oval, Profile, Tube


@dataclass(frozen=True)
class Stock:
    """A raw tube. Lengths in mm; the profiles run along the distance from its start.

    length: from its start to its end, as it lies on the rack
    oval:   for a section that is not round
    """

    name: str
    length: float
    od: Profile
    wall: Profile
    material: str = "steel"
    oval: Oval | None = None

    def turned(self) -> "Stock":
        """The same raw tube, counted from its other end."""
        oval = self.oval and replace(self.oval, across=self.oval.across.mirrored(self.length))
        return replace(
            self, od=self.od.mirrored(self.length), wall=self.wall.mirrored(self.length), oval=oval
        )

    @property
    def butt_start(self) -> float:
        """Length at its start before the wall first gets thinner than there; inf if it never does.
        Of a tube whose wall does not change this is inf too: it has no butt to run out of."""
        return _constant_length(self.wall)

    @property
    def butt_end(self) -> float:
        """The same at its end."""
        return self.turned().butt_start


@dataclass(frozen=True)
class Raw:
    """Where the raw tube lies that a tube is cut from.

    stock:      counted from the end that lies at the tube's start
    start:      where the raw tube starts, along the tube's axis from its start, mm; mostly below 0
    trim_start: what the job wants to be cut off there, mm; None leaves it to the trim plan
    """

    stock: Stock
    start: float
    trim_start: float | None = None


def cut_from(tube: Tube, stock: Stock, trim_start: float | None = None) -> Tube:
    """The tube, with outside, wall and material of a raw tube, laid for now so that what is too
    long stands over by as much at both ends."""
    raw = Raw(stock, (tube.length - stock.length) / 2, trim_start)
    return laid(replace(tube, raw=raw), raw.start)


def laid(tube: Tube, start: float) -> Tube:
    """The tube with its raw tube moved along the axis to begin at `start`, mm.

    Raises ValueError for a tube that is not cut from a raw one.
    """
    if tube.raw is None:
        raise ValueError(f"{tube.name} is not cut from a raw tube")
    stock = tube.raw.stock
    oval = stock.oval and replace(stock.oval, across=stock.oval.across.shifted(start))
    return replace(
        tube,
        od=stock.od.shifted(start),
        wall=stock.wall.shifted(start),
        material=stock.material,
        oval=oval,
        raw=replace(tube.raw, start=start),
    )


def _constant_length(wall: Profile) -> float:
    """A measured tube may be shorter than the listed one, so that stations stand before its end."""
    first = float(wall(0.0))
    for k in range(1, len(wall.at)):
        before, after = wall.value[k - 1], wall.value[k]
        if wall.at[k] > 0.0 and after < first:
            share = max(before - first, 0.0) / (before - after)
            return max(wall.at[k - 1] + share * (wall.at[k] - wall.at[k - 1]), 0.0)
    return float("inf")
