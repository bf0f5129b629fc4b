"""Everything that is shown of a frame, made in one go, or again where something has changed."""

from collections.abc import Hashable
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path

from frame3d import load
from frame3d.fit.check import joint_report, plate_report, tube_report
from frame3d.fit.limits import gap_limit
from frame3d.fit.report import Report
from frame3d.memo import Memo
from frame3d.model import ENDS, Frame
from frame3d.share.colours import GapScale
from frame3d.share.dimensions import bicycle_dimensions, nodes_of, tube_dimension
from frame3d.share.drawing import outline_of, side_drawing
from frame3d.share.page import Version
from frame3d.share.scene import VIEW_CHORD_MM, Piece, Scene, collar_of, drawn, piece_of
from frame3d.share.shapes import ghosts_of, plate_body
from frame3d.share.spec import fit_sheet, spec_of
from frame3d.shop.all_checks import check_all, sections_of
from frame3d.solids.frame import Solids, clashes, cut_tube
from frame3d.solids.plate import finished_plate
from frame3d.surfaces.cope import Copes, copes_of


@dataclass(frozen=True, eq=False)
class Draft:
    """A frame that can be shown, its joints known, and what the rest of its check is made from."""

    version: Version
    copes: Copes
    solids: Solids


class Workbench:
    """Makes what is shown of a frame; of the next frame only what differs from the last.

    First the picture with all joints, then the rest of the check; each remembers for itself.
    """

    def __init__(self) -> None:
        self.memo = Memo()
        self.checks = Memo()

    def draft(self, job: Path) -> Draft:
        """The frame of a job file with the shop's own numbers, for live mode. Raises
        what `frame3d.load` raises; all that was made before is still known then."""
        with self.memo.round():
            frame = load(job)
            copes = copes_of(frame)
            solids = self._solids(frame, copes)
            report = self._joints(frame, copes, solids)
            version = self._version(frame, copes, solids, report, gaps=True)
            return Draft(replace(version, judged=False), copes, solids)

    def judged(self, draft: Draft) -> Version:
        """The drafted frame with its whole report."""
        with self.checks.round():
            report = self._checks(draft)
        return replace(draft.version, report=report, judged=True)

    def read(self, job: Path) -> Version:
        """Draft and judge the frame of a job file."""
        return self.judged(self.draft(job))

    def present(self, frame: Frame, gaps: bool) -> Version:
        """As `presented`."""
        with self.memo.round():
            copes = copes_of(frame)
            solids = self._solids(frame, copes)
            return self._version(frame, copes, solids, check_all(frame, copes, solids), gaps)

    def _version(
        self, frame: Frame, copes: Copes, solids: Solids, report: Report, gaps: bool
    ) -> Version:
        scene = self._scene(frame, copes, solids, report)
        colours = {part.name: part.colour for part in scene.bodies(ghosts=False)}
        outlines = [
            self.memo(("outline", part, colours[name]), partial(outline_of, part, colours[name]))
            for name, part in solids.parts.items()
        ]
        wheels = [part for part in frame.show.parts if part.kind == "wheel"]
        circles = tuple((part.centre[0], part.centre[2], part.radius) for part in wheels)
        sheets = (*spec_of(report), *((fit_sheet(report),) if gaps else ()))
        drawing = side_drawing(scene, outlines, circles)
        return Version(frame, scene, report, drawing, sheets, gaps)

    def _solids(self, frame: Frame, copes: Copes) -> Solids:
        tubes = {
            tube.name: self.memo(
                ("solid", *_finish(frame, copes, tube.name)),
                partial(cut_tube, frame, tube, copes, VIEW_CHORD_MM),
            )
            for tube in frame.tubes
        }
        plates = {
            plate.name: self.memo(("plate", plate), partial(finished_plate, plate, VIEW_CHORD_MM))
            for plate in frame.plates
        }
        return Solids(tubes, plates)

    def _joints(self, frame: Frame, copes: Copes, solids: Solids) -> Report:
        """The report of tubes, plates and joints."""
        tubes = tuple(
            self.memo(("tube", solid), partial(tube_report, solid, copes))
            for solid in solids.tubes.values()
        )
        plates = tuple(
            self.memo(("plate report", plate), partial(plate_report, plate))
            for plate in solids.plates.values()
        )
        joints = tuple(
            self.memo(
                (
                    "joint",
                    joint,
                    tuple(_finish(frame, copes, name) for name in (joint.tube, *joint.onto)),
                    gap_limit(frame, joint),
                    frame.limits,
                    frame.shop.saws,
                ),
                partial(joint_report, frame, joint, copes),
            )
            for joint in frame.joints
        )
        return Report(frame, tubes, joints, (), plates=plates)

    def _checks(self, draft: Draft) -> Report:
        """The draft's report with all that is checked besides the joints."""
        report, solids = draft.version.report, draft.solids
        frame, parts = report.frame, tuple(solids.parts.values())
        found = self.checks(
            ("clashes", parts, frame.joints, frame.limits), partial(clashes, frame, solids)
        )
        report = replace(report, clashes=tuple(found))
        # All that they depend on; repr, since the room's own limits stand in a mapping.
        of = parts, frame.show.parts, repr(frame.room), frame.fits
        key = "sections", *of, frame.holes, frame.joints, frame.process, frame.shop
        sections = self.checks(key, partial(sections_of, report, draft.copes, solids))
        return replace(report, sections=sections)

    def _scene(self, frame: Frame, copes: Copes, solids: Solids, report: Report) -> Scene:
        collars = tuple(
            self.memo(
                ("collar", copes[joint.tube, joint.end], gap_limit(frame, joint)),
                partial(collar_of, copes[joint.tube, joint.end], gap_limit(frame, joint)),
            )
            for joint in frame.joints
            if (joint.tube, joint.end) in copes
        )
        ghosts = self.memo(("parts", frame.show.parts), partial(ghosts_of, frame.show.parts))
        plates = tuple(
            self.memo(("plate body", plate, frame.show.paint), partial(plate_body, frame, plate))
            for plate in solids.plates.values()
        )
        dimensions = tuple(
            self.memo(
                ("dimension", solids.tubes[told.name]),
                partial(tube_dimension, frame.tube(told.name), copes, told.length),
            )
            for told in report.tubes
        )
        pieces = tuple(self._piece(frame, solids, tube.name) for tube in frame.tubes)
        scale = GapScale.around([collar.limit for collar in collars])
        dimensions = (*bicycle_dimensions(frame), *dimensions)
        nodes = nodes_of(frame)
        return Scene(frame.name, pieces, collars, scale, ghosts, dimensions, nodes, plates)

    def _piece(self, frame: Frame, solids: Solids, name: str) -> Piece:
        solid = solids.tubes[name]
        mesh = self.memo(("mesh", solid), partial(drawn, solid))
        coped = tuple(end for end in ENDS if frame.joint_at(name, end))
        colour = frame.show.colour(name, "")
        return self.memo(("piece", mesh, coped, colour), partial(piece_of, frame, name, mesh))


def presented(frame: Frame, gaps: bool = False) -> Version:
    """The frame with its whole report, ready for a page, a picture or a sheet; gaps: with the
    shop's own numbers."""
    return Workbench().present(frame, gaps)


def _finish(frame: Frame, copes: Copes, name: str) -> tuple[Hashable, ...]:
    """All that a finished tube depends on. Copes are remembered: equal ones are the same."""
    holes = tuple(hole for hole in frame.holes if hole.tube == name)
    ends = tuple(copes.get((name, end)) for end in ENDS)
    return (frame.tube(name), tuple(frame.shapes_of(name)), holes, ends)
