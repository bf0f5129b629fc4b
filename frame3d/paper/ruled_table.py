"""Ruled tables on a page."""

from collections.abc import Sequence

from frame3d.paper.pdf_page import FAINT, MARGIN, Page

Column = tuple[str, float, str]  # heading, share of the width, alignment
ROW = 17.0


def table(page: Page, y: float, columns: Sequence[Column], rows: Sequence[Sequence[str]]) -> float:
    """Headings at `y`, rows below; the y below the last row."""
    edges = [MARGIN]
    for _, share, _ in columns:
        edges.append(edges[-1] + share * (page.right - MARGIN))

    def row(texts: Sequence[str], *, bold: bool) -> None:
        for (_, _, align), left, right, words in zip(
            columns, edges[:-1], edges[1:], texts, strict=True
        ):
            x = left if align == "left" else right
            page.text(x, y, words, 10, bold=bold, align=align, room=right - left - 8)

    row([heading for heading, _, _ in columns], bold=True)
    for texts in rows:
        page.line([(MARGIN, y - 5), (page.right, y - 5)], width=0.4, colour=FAINT)
        y -= ROW
        row(texts, bold=False)
    return y - ROW
