"""Everything that is shown of a frame, made in one go."""

from frame3d.fit.check import check_frame
from frame3d.model import Frame
from frame3d.share.dimensions import tube_dimensions
from frame3d.share.drawing import side_drawing
from frame3d.share.page import Version
from frame3d.share.scene import VIEW_CHORD_MM, scene_of
from frame3d.share.shapes import ghosts_of
from frame3d.share.spec import fit_sheet, spec_of
from frame3d.solids.frame import Solids, frame_solids
from frame3d.surfaces.cope import Copes, copes_of


def presented(
    frame: Frame, gaps: bool = False, copes: Copes | None = None, solids: Solids | None = None
) -> Version:
    """The frame ready for a page, a picture or a sheet; gaps: with the shop's own numbers.

    copes, solids: what has been made of the frame already.
    """
    copes = copes_of(frame) if copes is None else copes
    solids = frame_solids(frame, copes, VIEW_CHORD_MM) if solids is None else solids
    report = check_frame(frame, copes, solids)
    dimensions = tube_dimensions(frame, copes, report)
    scene = scene_of(frame, copes, solids, ghosts_of(frame.show.parts), dimensions)
    wheels = [part for part in frame.show.parts if part.kind == "wheel"]
    circles = tuple((part.centre[0], part.centre[2], part.radius) for part in wheels)
    sheets = (*spec_of(report), *((fit_sheet(report),) if gaps else ()))
    return Version(frame, scene, report, side_drawing(scene, solids, circles), sheets, gaps)
