"""What `frame3d measured --json` prints."""

from collections.abc import Iterable
from typing import Literal

from pydantic import Field

from frame3d.check.report_section import number
from frame3d.document import Document, Part
from frame3d.model import Frame
from frame3d.tolerance.measured_fit import MeasuredFit


class MeasuredEnd(Part):
    """How an end that is cut will close; null where there is no such number."""

    tube: str
    end: Literal["start", "end"]
    gap_mm: float | None = Field(description="widest gap as measured")
    limit_mm: float | None = Field(description="widest gap that passes")
    tilt_deg: float | None = Field(description="how far the cut is off the job's angle")
    centring_mm: float | None = Field(description="how far the saw was beside the axis")
    short_mm: float | None = Field(description="how much the tube lacks")
    verdict: Literal["pass", "fail"]
    notes: tuple[str, ...]
    remedies: tuple[str, ...] = Field(description="where to file how much, and what a new cut does")


class MeasuredDocument(Document):
    """The ends of a job that were measured."""

    format: Literal["frame3d-measured/1"] = "frame3d-measured/1"
    job: str = Field(description="the job's name")
    ends: tuple[MeasuredEnd, ...]


def measured_document(frame: Frame, fits: Iterable[MeasuredFit]) -> MeasuredDocument:
    return MeasuredDocument(job=frame.name, ends=tuple(_end(fit) for fit in fits))


def _end(fit: MeasuredFit) -> MeasuredEnd:
    return MeasuredEnd(
        tube=fit.measured.tube,
        end=fit.measured.end,
        gap_mm=number(fit.gap),
        limit_mm=number(fit.limit),
        tilt_deg=number(fit.tilt),
        centring_mm=number(fit.centring),
        short_mm=number(2 * fit.short),
        verdict="pass" if fit.passes else "fail",
        notes=tuple(fit.notes),
        remedies=tuple(fit.remedies),
    )
