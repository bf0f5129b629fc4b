"""Everything that is shown of a frame, made in one go, or again where something has changed."""

from collections.abc import Callable, Hashable
from functools import partial
from typing import Any, TypeVar

from frame3d.fit.check import joint_report, tube_report
from frame3d.fit.limits import gap_limit
from frame3d.fit.report import Report
from frame3d.model import ENDS, End, Frame
from frame3d.share.colours import GapScale
from frame3d.share.dimensions import tube_dimension
from frame3d.share.drawing import side_drawing
from frame3d.share.page import Version
from frame3d.share.scene import VIEW_CHORD_MM, Scene, collar_of, piece_of
from frame3d.share.shapes import ghosts_of, plates_of
from frame3d.share.spec import fit_sheet, spec_of
from frame3d.solids.frame import Solids, clashes, cut_tube
from frame3d.solids.plate import finished_plate
from frame3d.surfaces.cope import Copes, cope_of, too_parallel

T = TypeVar("T")


class Memo:
    """Remembers what was made in the last round; what a round does not ask for is forgotten."""

    def __init__(self) -> None:
        self._last: dict[Hashable, Any] = {}
        self._now: dict[Hashable, Any] = {}

    def turn(self) -> None:
        """Begin a new round."""
        self._last, self._now = self._now, {}

    def __call__(self, key: Hashable, make: Callable[[], T]) -> T:
        if key not in self._now:
            self._now[key] = self._last[key] if key in self._last else make()
        found: T = self._now[key]
        return found


class Workbench:
    """Makes what is shown of a frame; of the next frame only what differs from the last."""

    def __init__(self) -> None:
        self._memo = Memo()

    def present(self, frame: Frame, gaps: bool = False) -> Version:
        """The frame ready for a page, a picture or a sheet; gaps: with the shop's own numbers."""
        self._memo.turn()
        copes = self._copes(frame)
        solids = self._solids(frame, copes)
        report = self._report(frame, copes, solids)
        scene = self._scene(frame, copes, solids, report)
        wheels = [part for part in frame.show.parts if part.kind == "wheel"]
        circles = tuple((part.centre[0], part.centre[2], part.radius) for part in wheels)
        sheets = (*spec_of(report), *((fit_sheet(report),) if gaps else ()))
        return Version(frame, scene, report, side_drawing(scene, solids, circles), sheets, gaps)

    def _copes(self, frame: Frame) -> Copes:
        return {
            (joint.tube, joint.end): self._memo(
                _end_key(frame, joint.tube, joint.end), partial(cope_of, frame, joint)
            )
            for joint in frame.joints
            if not too_parallel(frame, joint)
        }

    def _solids(self, frame: Frame, copes: Copes) -> Solids:
        tubes = {}
        for tube in frame.tubes:
            tubes[tube.name] = self._memo(
                ("solid", _tube_key(frame, tube.name)),
                partial(cut_tube, frame, tube, copes, VIEW_CHORD_MM),
            )
        plates = {plate.name: finished_plate(plate, VIEW_CHORD_MM) for plate in frame.plates}
        return Solids(tubes, plates)

    def _report(self, frame: Frame, copes: Copes, solids: Solids) -> Report:
        tubes = [
            self._memo(("tube", _tube_key(frame, name)), partial(tube_report, solid, copes))
            for name, solid in solids.tubes.items()
        ]
        joints = []
        for joint in frame.joints:
            around = tuple(_tube_key(frame, name) for name in (joint.tube, *joint.onto))
            key = ("joint", joint, around, frame.limits, frame.process, frame.shop)
            joints.append(self._memo(key, partial(joint_report, frame, joint, copes)))
        return Report(frame, tuple(tubes), tuple(joints), tuple(clashes(frame, solids)))

    def _scene(self, frame: Frame, copes: Copes, solids: Solids, report: Report) -> Scene:
        pieces = tuple(
            self._memo(
                ("piece", _tube_key(frame, tube.name), frame.show.colour(tube.name, "")),
                partial(piece_of, frame, tube, solids),
            )
            for tube in frame.tubes
        )
        collars = tuple(
            self._memo(
                ("collar", _end_key(frame, joint.tube, joint.end), gap_limit(frame, joint)),
                partial(collar_of, copes[joint.tube, joint.end], gap_limit(frame, joint)),
            )
            for joint in frame.joints
            if (joint.tube, joint.end) in copes
        )
        ghosts = self._memo(("parts", frame.show.parts), partial(ghosts_of, frame.show.parts))
        ghosts = (*ghosts, *plates_of(frame, solids))
        scale = GapScale.around([collar.limit for collar in collars])
        dimensions = tuple(
            self._memo(
                ("dimension", _tube_key(frame, told.name)),
                partial(tube_dimension, frame.tube(told.name), copes, told.length),
            )
            for told in report.tubes
        )
        return Scene(frame.name, pieces, collars, scale, ghosts, dimensions)


def presented(frame: Frame, gaps: bool = False) -> Version:
    """The frame ready for a page, a picture or a sheet; gaps: with the shop's own numbers."""
    return Workbench().present(frame, gaps)


def _end_key(frame: Frame, tube: str, end: End) -> Hashable:
    """All that the shape of an end depends on; None for a square one."""
    joint = frame.joint_at(tube, end)
    if joint is None or too_parallel(frame, joint):
        return None
    return ("end", joint, frame.tube(tube), tuple(frame.tube(name) for name in joint.onto))


def _tube_key(frame: Frame, name: str) -> Hashable:
    """All that a finished tube depends on."""
    holes = tuple(hole for hole in frame.holes if hole.tube == name)
    shapes = (*frame.shapes_of(name), *holes)
    return (frame.tube(name), shapes, *(_end_key(frame, name, end) for end in ENDS))
