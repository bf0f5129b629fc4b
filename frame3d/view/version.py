"""A frame as it is shown: its scene, its report and its tables, for window, page or sheet."""

from dataclasses import dataclass

from frame3d.check.report import Report
from frame3d.check.verdict import verdict
from frame3d.model import Frame
from frame3d.view.scene import Scene
from frame3d.view.side_drawing import Drawing
from frame3d.view.spec_tables import Sheet, summary


@dataclass(frozen=True, eq=False)
class Version:
    """One frame on the page. gaps: show the shop's own numbers too; judged: whether the report is
    whole, or tells of tubes and joints alone so far."""

    frame: Frame
    scene: Scene
    report: Report
    drawing: Drawing
    sheets: tuple[Sheet, ...]
    gaps: bool = False
    judged: bool = True

    @property
    def verdict(self) -> str:
        """What the check comes to, as far as it is done."""
        return verdict(self.report) + ("" if self.judged else "; the rest is being checked")

    @property
    def told(self) -> str:
        """The frame in a few words, with what its check comes to: for the shop."""
        return f"{summary(self.frame, self.report)} Check: {self.verdict}."
