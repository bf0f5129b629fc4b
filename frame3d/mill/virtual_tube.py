"""The virtual mill's raw tube: what a builder holds in the hand before the first cut.

Built from the printed numbers alone, with arithmetic of its own. x runs along the axis from the raw
blank's start end, y to the datum line, z a quarter turn clockwise from it as seen from the start;
round a bend the section goes along, so at each end these are that end's own directions. mm.
"""

from collections.abc import Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Sheet = Mapping[str, Any]


class Fresh:
    """A raw tube."""

    def __init__(self, sheet: Sheet) -> None:
        self.sheet = sheet
        self.length: float = sheet["blank_mm"]
        turn = np.radians(sheet["oval_deg"])
        self.od_way = np.array([np.cos(turn), np.sin(turn)])
        self.across_way = np.array([-np.sin(turn), np.cos(turn)])

    @property
    def is_oval(self) -> bool:
        return bool(self.sheet["across_od_mm"])

    def semi(self, at: float | Array, bore: bool = False) -> tuple[Array, Array]:
        """Half the diameters along od_way and across_way."""
        od = _along(self.sheet["od_mm"], at)
        across = _along(self.sheet["across_od_mm"], at) if self.is_oval else od
        off = _along(self.sheet["wall_mm"], at) if bore else 0.0
        return od / 2 - off, across / 2 - off

    def radius(self, at: float, way: Array) -> float:
        """From the axis to the outside along a unit direction (2,)."""
        a, b = self.semi(at)
        return float(1.0 / np.hypot((way @ self.od_way) / a, (way @ self.across_way) / b))

    def half_width(self, at: float, way: Array, bore: bool = False) -> float:
        """From the axis to the plane square to a unit direction (2,) that touches the outside."""
        a, b = self.semi(at, bore)
        return float(np.hypot(a * (way @ self.od_way), b * (way @ self.across_way)))

    def girth(self, at: float, angle: float) -> float:
        """Around the outside from the datum line to a line at an angle, clockwise from the start;
        degrees. By small chords."""
        turn = np.radians(np.linspace(0.0, angle, 20001))
        way = np.stack([np.cos(turn), np.sin(turn)], axis=1)
        a, b = self.semi(at)
        radius = 1.0 / np.hypot((way @ self.od_way) / a, (way @ self.across_way) / b)
        return float(np.linalg.norm(np.diff(radius[:, None] * way, axis=0), axis=1).sum())

    def along(self, way: Array, begin: float, sign: float, distance: float) -> float:
        """The place that a rule reaches, laid on the outside along a unit direction (2,) from a
        place towards one end of the tube, on its straight. By small steps."""
        profiles = [self.sheet[key] for key in ("od_mm", "across_od_mm")]
        corners = [sign * (at - begin) for stations in profiles for at, _ in stations]
        gone = np.concatenate([np.linspace(0.0, distance, 401), corners])
        gone = np.unique(gone[(gone >= 0.0) & (gone <= distance)])
        a, b = self.semi(begin + sign * gone)
        radius = 1.0 / np.hypot((way @ self.od_way) / a, (way @ self.across_way) / b)
        climbed = np.concatenate([[0.0], np.cumsum(np.hypot(np.diff(gone), np.diff(radius)))])
        return float(begin + sign * np.interp(distance, climbed, gone))

    def straight(self, end: str) -> tuple[float, float]:
        """From where to where the axis is straight behind an end."""
        bends = self.sheet["bends"]
        if not bends:
            return 0.0, self.length
        if end == "start":
            return 0.0, bends[0]["at_mm"]
        return self.turned(-1), self.length

    def turned(self, number: int) -> float:
        """Where a bend ends along the axis."""
        bend = self.sheet["bends"][number]
        return float(bend["at_mm"] + _arc(bend))

    def path(self, at: float) -> Array:
        """Place and directions (4, 3) at a distance along the axis: point, x, y, z of the section,
        in the coordinates of the start end."""
        point, frame, here = np.zeros(3), np.eye(3), 0.0
        for bend in self.sheet["bends"]:
            run = min(bend["at_mm"], at) - here
            point = point + run * frame[0]
            here += run
            turned = min(max(at - here, 0.0), _arc(bend)) if at > bend["at_mm"] else 0.0
            if turned > 0.0:
                plane = np.radians(bend["plane_deg"])
                inside = np.cos(plane) * frame[1] + np.sin(plane) * frame[2]
                centre = point + bend["radius_mm"] * inside
                spin = _rotation(np.cross(frame[0], inside), turned / bend["radius_mm"])
                point = centre + spin @ (point - centre)
                frame = frame @ spin.T
                here += turned
        return np.vstack([point + (at - here) * frame[0], frame])


def _arc(bend: Sheet) -> float:
    return float(bend["radius_mm"] * np.radians(bend["angle_deg"]))


def _rotation(axis: Array, angle: float) -> Array:
    """Rodrigues' formula."""
    k = np.array([[0, -axis[2], axis[1]], [axis[2], 0, -axis[0]], [-axis[1], axis[0], 0]])
    return np.asarray(np.eye(3) + np.sin(angle) * k + (1 - np.cos(angle)) * k @ k)


def _along(stations: list[tuple[float, float]], at: float | Array) -> Array:
    places, values = zip(*stations, strict=True)
    return np.asarray(np.interp(at, places, values))
