"""The page of one cut: a drawing to scale, and the numbers in the order of the machine."""

from collections.abc import Sequence
from dataclasses import replace

from frame3d.check.frame_check import first_of
from frame3d.mill.pages import TubePages
from frame3d.mill.saw_alternatives import SawChoice
from frame3d.model import Mill
from frame3d.paper.cut_steps import Step, bend_words, steps
from frame3d.paper.cut_views import View, end_view, side_view
from frame3d.paper.gap_strip import GapCurve, draw_gap
from frame3d.paper.pdf_page import MARGIN, SOFT, Page, exact_text, in_units, size_text, stop_line

VIEW = 0.25  # height of the drawings, of the page's
MOST_STEPS = 10
NOTES = 3  # lines kept for what to take care of
NOTE, LINE = 9.0, 11.8
STEP = 17.0  # height of a step's large type
CAUTION = "Eye protection; blocks and vise tight; hands off until the spindle stands still."


def cut_page(
    page: Page,
    pages: TubePages,
    index: int,
    mill: Mill,
    choice: SawChoice | None,
    gap: GapCurve | None,
) -> None:
    """Draw and write the cut number `index` of a tube."""
    sheet, cut = pages.sheet, pages.sheet.cuts[index]
    top = page.height - MARGIN
    stop_line(page, sheet.tube, first_of(cut.end, pages.stop), mill)
    page.text(MARGIN, top - 18, f"{sheet.tube}: {cut.end}", 22, bold=True, room=330)
    order = f"cut {cut.number} of {len(sheet.cuts)}"
    page.text(page.right, top - 18, order, 18, bold=True, align="right")
    seen = sheet.start_is if cut.end == "start" else sheet.end_is
    page.text(MARGIN, top - 36, f"its {seen} end, for {cut.onto}", 13, colour=SOFT, room=330)
    saw = f"saw {exact_text(mill, cut.saw, 2)}"
    page.text(page.right, top - 36, saw, 13, bold=True, align="right")
    height = VIEW * page.height
    if choice is not None:
        room = page.right - MARGIN
        best_few = (replace(choice, alternatives=choice.alternatives[:n]) for n in (3, 2, 1))
        lines = (in_units(mill, saw_words(few, mill)) for few in best_few)
        words = next((one for one in lines if len(page.lines(one, NOTE, room)) == 1), None)
        if words is not None:  # the cover's pages tell all of them
            page.text(page.right, top - 48, words, NOTE, align="right", room=room)
    floor = top - 54 - height
    middle = MARGIN + (page.right - MARGIN) * 0.62
    view = View.of(sheet, index)
    side_view(page, view, mill, (MARGIN, floor, middle - 8, floor + height))
    split = floor if gap is None else floor + 0.42 * height
    end_view(page, view, (middle, split + (6 if gap else 0), page.right, floor + height))
    if gap is not None:
        draw_gap(page, gap, (middle, floor, page.right, split), mill)
    notes = [in_units(mill, words) for words in pages.care_of(cut)]
    bottom = _care(page, [*notes, bend_words(sheet, mill)] if sheet.bends else notes)
    _write(page, steps(pages, index, mill), floor - 22, bottom)
    page.text(MARGIN, MARGIN - 3, CAUTION, 9, colour=SOFT, room=page.right - MARGIN)


def saw_words(choice: SawChoice, mill: Mill) -> str:
    """The gap that an end's saws leave, and what others would."""
    others = [f"{saw_names(o.saws, mill)} would leave {o.gap:.3f} mm" for o in choice.alternatives]
    leave = "leaves" if len(choice.saws) == 1 else "leave"
    chosen = "the end is not cut whole"
    if choice.gap is not None:
        chosen = f"{saw_names(choice.saws, mill)} {leave} {choice.gap:.3f} mm"
    return "; ".join([chosen, *(others or ["no other saw of the shop is near"])])


def saw_names(saws: Sequence[float | None], mill: Mill) -> str:
    """In the shop's units, to as many digits as in the heading of a cut's page."""
    return " and ".join("by hand" if saw is None else size_text(mill, saw, 2) for saw in saws)


def _write(page: Page, rows: list[Step], y: float, bottom: float) -> None:
    """Steps at even distances, so that a step stands where it always does; where a note takes more
    lines than that leaves, each by its own height."""
    column = MARGIN + 90
    room = y + 16 - bottom
    high = [STEP + LINE * len(page.lines(note, NOTE, page.right - column)) for *_, note in rows]
    pitches = [room / MOST_STEPS] * len(rows)
    if max(high) > pitches[0]:
        spare = (room - sum(high)) / len(rows)
        pitches = [own + spare for own in high]
    for (label, value, note), pitch in zip(rows, pitches, strict=True):
        page.text(MARGIN, y, label, 12, bold=True, colour=SOFT, room=86)
        page.text(column, y, value, 15.5, bold=True, room=page.right - column)
        page.wrapped(column, y - 12.5, note, NOTE, page.right - column)
        y -= pitch


def _care(page: Page, notes: list[str]) -> float:
    """What to take care of, at the foot of the page; the y above it."""
    lines = [
        line for words in notes for line in page.lines(f"▲ {words}", NOTE, page.right - MARGIN)
    ]
    y = MARGIN + 12 + LINE * (max(len(lines), NOTES) - 1)
    above = y + LINE
    for line in lines:
        page.text(MARGIN, y, line, NOTE, bold=True, room=page.right - MARGIN)
        y -= LINE
    return above
