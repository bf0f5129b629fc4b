"""How a guide grips its tube: ears with screws, or grooves for a hose clamp or zip ties."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from manifold3d import CrossSection, Manifold, OpType

from frame3d.guides.guide_section import Section, rectangle
from frame3d.guides.place import Array
from frame3d.model.printer import Clamp
from frame3d.tables import row

SLIT_MM = 2.0  # what the clamp can close
EAR_OUT_MM = 11.0  # how far an ear stands out from the sleeve
EAR_THICK_MM = 8.0
EAR_PER_SCREW_MM = 14.0
SCREW_OUT_MM = 5.5
FIRST_BAND_MM = 16.0  # above the setting edge, clear of the mark window
BETWEEN_BANDS_MM = 2.5


@dataclass(frozen=True)
class Hardware:
    """One row of tables/guide_hardware.csv, mm. kind: what grips; fewer: how many of the row's
    screws or bands are left out."""

    kind: Clamp
    fewer: int = 0

    def size(self, column: str) -> float:
        return float(row("guide_hardware", self.kind)[column])

    @property
    def screws(self) -> bool:
        return self.kind == "screws"

    @property
    def count(self) -> int:
        return int(row("guide_hardware", self.kind)["count"]) - self.fewer

    @property
    def ear_height(self) -> float:
        """Ears reach from the setting edge to this height; 0 without ears."""
        return self.count * EAR_PER_SCREW_MM if self.screws else 0.0

    def bands(self, lean: float) -> list[tuple[float, float, float]]:
        """Grooves: lower side, upper side at its depth, upper side at the outside, mm."""
        if self.screws:
            return []
        wide, roof = self.size("band_wide_mm"), self.size("band_deep_mm") * lean
        step = wide + roof + BETWEEN_BANDS_MM
        lows = [FIRST_BAND_MM + k * step for k in range(self.count)]
        return [(low, low + wide, low + wide + roof) for low in lows]

    @property
    def groove_deep(self) -> float:
        """Wall that grooves take, mm."""
        return 0.0 if self.screws else self.size("band_deep_mm")


@dataclass(frozen=True)
class Grip:
    """The clamps of one guide. lean: rise over run of roofs; sides: +1 and/or -1 along x; raised:
    how far each clamp, the lowest first, stands above its place next to the setting edge, mm."""

    hardware: Hardware
    section: Section
    lean: float
    sides: tuple[int, ...]
    raised: tuple[float, ...] = (0.0,)

    @property
    def height(self) -> float:
        """Where the highest clamp ends above the setting edge, mm."""
        return self.spans[-1][1]

    @property
    def spans(self) -> tuple[tuple[float, float], ...]:
        """Where each clamp grips, from and to above the setting edge, mm."""
        bands = self.hardware.bands(self.lean)
        low, high = (bands[0][0], bands[-1][2]) if bands else (0.0, self.hardware.ear_height)
        return tuple((low + up, high + up) for up in self.raised)

    @property
    def beside_letters(self) -> bool:
        """Whether it leaves one side of the guide to the letters, over the whole height."""
        return self.hardware.screws and len(self.sides) == 1

    @property
    def slope(self) -> float:
        """What a clamp that does not begin at the bed takes below where it grips, mm."""
        if not self.hardware.screws:
            return BETWEEN_BANDS_MM
        return (EAR_OUT_MM + self.section.radius - self._root) * self.lean

    @property
    def _root(self) -> float:
        """Where an ear's upper side comes out of the sleeve, x in mm."""
        half = SLIT_MM / 2 + EAR_THICK_MM
        return float(np.sqrt(max(self.section.radius**2 - half**2, 0.01)))

    def ears(self) -> Manifold:
        """The ears, without their holes; empty where bands grip."""
        return _all([self._mirrored(self._ears, side) for side in self.sides])

    def openings(self, height: float) -> Manifold:
        """Slits over the whole `height`, and the screws' holes or the bands' grooves."""
        cuts = [self._mirrored(self._slit(height), side) for side in self.sides]
        if self.hardware.screws:
            cuts += [self._mirrored(self._holes, side) for side in self.sides]
        bands = self.hardware.bands(self.lean)
        grooves = [self._groove(*(z + up for z in band)) for up in self.raised for band in bands]
        return _all(cuts + grooves)

    def ear_corners(self, side: int = 1) -> tuple[tuple[float, float], tuple[float, float]]:
        """Cross-section of the ear on one side: lower and upper corner."""
        half, far = SLIT_MM / 2 + EAR_THICK_MM, self.section.radius + EAR_OUT_MM
        return (min(side * far, 0.0), -half), (max(side * far, 0.0), half)

    @cached_property
    def _ears(self) -> Manifold:
        """Those at +x. One above the bed stands on a slope out of the sleeve's wall."""
        if not self.hardware.screws:
            return Manifold()
        low, high = self.ear_corners()
        ear = rectangle(low, high).extrude(self.hardware.ear_height)
        root = rectangle(low, (self._root, high[1])).extrude(self.slope)
        raised = Manifold.batch_hull([ear, root.translate((0.0, 0.0, -self.slope))])
        placed = [(raised if up > 0 else ear).translate((0.0, 0.0, up)) for up in self.raised]
        return _all(placed).trim_by_plane((0.0, 0.0, 1.0), 0.0)

    def _slit(self, height: float) -> Manifold:
        far = self.section.radius + EAR_OUT_MM + 1.0
        flat = rectangle((0.0, -SLIT_MM / 2), (far, SLIT_MM / 2))
        return flat.extrude(height + 2.0).translate((0.0, 0.0, -1.0))

    @cached_property
    def _holes(self) -> Manifold:
        """Through each pair of ears a screw's hole with a roof, and below it a nut's seat."""
        hardware, thick = self.hardware, SLIT_MM / 2 + EAR_THICK_MM
        hole = roofed_hole(hardware.size("hole_mm") / 2, self.lean)
        nut = _nut(hardware.size("nut_across_mm") / 2, self.lean)
        high = hardware.size("nut_high_mm")
        cuts = []
        heights = [
            up + (k + 0.5) * EAR_PER_SCREW_MM for up in self.raised for k in range(hardware.count)
        ]
        for z in heights:
            at = (self.section.radius + SCREW_OUT_MM, 0.0, z)
            cuts.append(along_y(hole, -thick - 1.0, thick + 1.0).translate(at))
            cuts.append(along_y(nut, -thick - 1.0, -thick + high).translate(at))
        return _all(cuts)

    def _groove(self, low: float, deep_top: float, top: float) -> Manifold:
        inner = self.section.points(-self.hardware.groove_deep)
        outer = self.section.points()
        roof = np.concatenate([_at(inner, deep_top), _at(outer, top)])
        core = _all([_column(inner, low - 1.0, deep_top), Manifold.hull_points(roof)])
        return _column(self.section.points(1.0), low, top) - core

    @staticmethod
    def _mirrored(body: Manifold, side: int) -> Manifold:
        return body if side > 0 else body.mirror((1.0, 0.0, 0.0))


def roofed_hole(radius: float, lean: float) -> CrossSection:
    """A lying hole that needs no support: a circle under a roof, upright in the section's y."""
    apex = radius * np.sqrt(1.0 + lean**2)  # where both tangents of this lean meet
    around = CrossSection.circle(radius, 48).to_polygons()[0]
    return CrossSection.hull_points(np.concatenate([around, [[0.0, apex]]]))


def _nut(half_across: float, lean: float) -> CrossSection:
    """A hexagon held by two upright flats, under a roof."""
    corner = half_across / np.sqrt(3.0)
    low = [[half_across, -corner], [0.0, -2 * corner], [-half_across, -corner]]
    high = [[half_across, corner], [0.0, corner + half_across * lean], [-half_across, corner]]
    return CrossSection.hull_points(np.array(low + high))


def along_y(section: CrossSection, start: float, stop: float) -> Manifold:
    """A section whose x, y are the guide's x, z, carried along y from `start` to `stop`."""
    # Turned by a quarter about x, the extrusion runs along -y.
    return section.extrude(stop - start).rotate((90.0, 0.0, 0.0)).translate((0.0, stop, 0.0))


def _column(points: Array, low: float, high: float) -> Manifold:
    return CrossSection([points]).extrude(high - low).translate((0.0, 0.0, low))


def _at(points: Array, z: float) -> Array:
    return np.column_stack([points, np.full(len(points), z)])


def _all(bodies: list[Manifold]) -> Manifold:
    return Manifold.batch_boolean(bodies, OpType.Add) if bodies else Manifold()
