"""The guide sheet: how to place, clamp, cut and file, then every guide with picture and numbers."""

import tempfile
from collections.abc import Callable, Iterable, Sequence
from io import BytesIO
from itertools import zip_longest
from pathlib import Path
from typing import TYPE_CHECKING, Any

from frame3d.check.frame_check import first_of
from frame3d.guides.clamp import Hardware
from frame3d.guides.drill import bushing
from frame3d.guides.drill_guides import PrintedDrill
from frame3d.guides.joined import DOWEL_LONG_MM, DOWEL_MM
from frame3d.guides.plan import Printed
from frame3d.guides.slicer import LAYER_MM, LINES_IN_WALL
from frame3d.paper.pdf_font import pdf_font
from frame3d.paper.pdf_page import CHECK_FIRST, SIZES, size_text, stop_words
from frame3d.view.guide_pictures import guide_pictures
from frame3d.view.lettering import drawn_otherwise, printed

if TYPE_CHECKING:
    from frame3d.check.frame_check import Judged, Stops
    from frame3d.guides.guide_files import File
    from frame3d.guides.plan import Guide, Refused
    from frame3d.guides.process_pool import Spread
    from frame3d.model import Frame, Mill, Printer

Row = tuple[str, str]

MARGIN = 42.0  # points
TITLE_LETTERS = 80  # of the line above each page, beside the page number
JOIN = (
    "A guide in several parts: stand all parts on one plate, slide pins and keys into their holes, "
    "glue, and let it set before use."
)
PLACE = (
    "Where the list of raw tubes says that a length comes off first, saw that end square before "
    "all else: SET and MARK are measured from it. Scribe the datum line along the tube, on the "
    "side that faces up in the job, and deburr the tube: a guide slides on from its end, or its "
    "halves, which keys bring together in one place, close around it.",
    "Scribe a line across the tube at the embossed distance RAW from the raw end on that guide's "
    "side (BEND: from where the bend begins), so that butts, tapers and bends come where the job "
    "has them. It shows at the side corners of the window.",
    "Slide both guides of a tube on with their copes outward. Stand the tube on a flat plate on "
    "the feet of both guides: so standing, the cuts are in phase.",
    "Turn the tube inside the guides until its datum line shows in the grooves and in the upper "
    "and lower corners of the windows.",
    "Set the first guide's window on its line. Set the second by the square edges, which face each "
    "other, the embossed distance SET apart: a rule or a stick of that length between them. Its "
    "own line then is a check, to half a millimetre. On a raw tube that is not of the list and "
    "longer than told here, scribe the first guide's line only. A guide alone is set from the "
    "tube's square end by SET, or by a line at MARK.",
    "Two guides marked JOIN are one guide for both ends of a short tube: their printed lengths and "
    "dowels set the distance and the turn between both cuts, and no SET and no second mark is "
    "needed. Put two pieces of {dowel:g} mm rod, {long:g} mm long and with broken edges, into the "
    "holes of one square edge (too tight: run a {dowel:g} mm drill through the holes by hand), "
    "push the other edge onto them until both edges touch all around, and slide the whole onto "
    "the tube. Set the start's window on its line, tighten the start, push the end against it, see "
    "that no light shows between the edges, and tighten the end. Cut and file the start first, "
    "then the end, and loosen nothing before both are done.",
    "Guides marked LINE are for a tube too short to carry both at once, and are used in turn, on "
    "one line across the raw tube at the RAW distance. Set the first guide's window on it and on "
    "the datum line, cut, take it off, and set the second guide's window on the same two lines. "
    "LINE is the distance from there to the finished tip.",
    "Tighten evenly until the bore lies on the tube all around and the guide cannot be turned by "
    "hand, without bending the tube's wall: the face is right only so. Check the distance and the "
    "standing on the plate once more.",
)
CUT = (
    "Clamp the tube by its bare middle, or the guide's flat sides lightly in a vise with soft "
    "jaws. Scribe around the guide's face, and saw a millimetre outside the line with a fine blade "
    "(32 teeth an inch in thin wall, common practice).",
    "File to the guide's face with a half-round file; let the file lie on the whole width of the "
    "face, and stop when it slides on plastic all around. Worn plastic leads wrong: print anew.",
    "Take the guide off (one marked JOIN once both ends are cut), deburr inside and outside, and "
    "try the joint on its tube before cutting the next.",
)
PRINT = (
    "Print each file as it lies, cope up, without support; PLA or PETG, {layer:g} mm layers, "
    "{lines} lines in the wall, 20 % fill or more. Scrape the first layer's burr off the setting "
    "edge. Measure the bore of the first print: if the tube does not go in, raise the clearance "
    "in the shop file; if it wobbles, lower it.",
)
CAUTIONS = (
    "Wear eye protection. Saw cuts and filed edges of thin tube are as sharp as knives; wear no "
    "gloves at turning machines. Plastic guides are for hand tools only: no abrasive disc, no "
    "power saw. Braze and weld fumes, heat and fire: follow the rules of your place and the "
    "makers' sheets. Take guides off before any heat. This sheet replaces neither local codes nor "
    "standards: have prototypes tested to ISO 4210 by licensed practice."
)


def write_guide_sheet(
    frame: "Frame",
    files: "Sequence[File]",
    refused: "Sequence[Refused]",
    judged: "Judged",
    path: Path,
    done: Callable[[str], None] = lambda name: None,
    run: "Spread" = map,
) -> None:
    """Write the PDF. files: stem, entry and print cost of each part; `done` hears the name of each
    guide, whose pictures `run` spreads over the machine's cores."""
    from reportlab.platypus import SimpleDocTemplate

    mill = frame.shop.mill
    made = dict.fromkeys(entry.of for _, entry, _ in files if entry.of is not None)
    guides = [guide for guide in made if not _told_before(guide)]
    with tempfile.TemporaryDirectory() as scratch:
        pictures = guide_pictures([guide.guide for guide in guides], Path(scratch), done, run)
        joined = any("part " in file[1].part.what for file in files)
        told = [
            stop_words(mill, tube, (why,)) for tube, whys in judged.stops.items() for why in whys
        ]
        told += [f"▲ {CHECK_FIRST.format(judged.failing)}"] if judged.failing else []
        story = [*map(_stop, told), *_how_to(frame.shop.printer, refused, joined)]
        story += _raw_tubes([g.guide for g in guides if isinstance(g, Printed)], mill)
        for guide, picture in zip_longest(guides, pictures):
            own = [file for file in files if file[1].of in _one_with(guide, made)]
            story.append(_entry(guide, own, picture, mill, _stop_of(guide, judged.stops, mill)))
        blocks = [file for file in files if file[1].of is None]
        if blocks:
            story += _blocks(blocks)
        title = f"Guides, {frame.name}"
        paper = SimpleDocTemplate(
            str(path),
            pagesize=SIZES[mill.paper],
            title=title,
            author="frame3d",
            keywords=drawn_otherwise([frame.name, *(tube.name for tube in frame.tubes)]),
            invariant=True,
            leftMargin=MARGIN,
            rightMargin=MARGIN,
            topMargin=MARGIN + 14,
            bottomMargin=MARGIN,
        )
        paper.build(story, canvasmaker=_numbered(title))


def _styles() -> dict[str, Any]:
    from reportlab.lib.styles import ParagraphStyle

    text = ParagraphStyle("text", fontName=pdf_font(), fontSize=9.5, leading=13, spaceAfter=4)
    return {
        "text": text,
        "title": ParagraphStyle(
            "title", text, fontName=pdf_font(bold=True), fontSize=14, leading=18, spaceBefore=8
        ),
        "stop": ParagraphStyle("stop", text, textColor="#b00020", fontSize=11, leading=14),
        "caution": ParagraphStyle(
            "caution", text, borderWidth=1.2, borderColor="#b02020", borderPadding=6, spaceBefore=10
        ),
    }


def _how_to(printer: "Printer", refused: "Sequence[Refused]", joined: bool) -> list[Any]:
    """The first page. joined: whether some guide comes in parts to be glued."""
    from reportlab.platypus import PageBreak, Paragraph

    style = _styles()
    grips = {
        "screws": f"two M4 x {Hardware('screws').size('long_mm'):g} screws with nuts through each "
        "pair of ears",
        "hose-clamp": "a hose clamp with a 9 mm band in the groove",
        "zip-ties": "two zip ties of 4.8 mm in the grooves",
    }
    story: list[Any] = []

    def chapter(title: str, steps: tuple[str, ...]) -> None:
        story.append(Paragraph(title, style["title"]))
        for number, step in enumerate(steps, start=1):
            count = f"{number}. " if len(steps) > 1 else ""
            story.append(Paragraph(count + step, style["text"]))

    chapter("Print", tuple(t.format(layer=LAYER_MM, lines=LINES_IN_WALL) for t in PRINT))
    if joined:
        story.append(Paragraph(JOIN, style["text"]))
    chapter("Place and clamp", tuple(t.format(dowel=DOWEL_MM, long=DOWEL_LONG_MM) for t in PLACE))
    held = f"These guides are held by {grips[printer.clamp]}; a cope of a small angle has the same "
    held += "once more next to its face, and a tube without room for two screws or ties has one."
    story.append(Paragraph(held, style["text"]))
    chapter("Cut and file", CUT)
    story.append(Paragraph(CAUTIONS, style["caution"]))
    if refused:
        chapter("Ends and holes without a guide", ())
        for end in refused:
            text = _plain(f"{end.tube}, {end.end}: {end.reason}.")
            story.append(Paragraph(text, style["text"]))
    story.append(PageBreak())
    return story


def _stop_of(guide: "Printed | PrintedDrill", stops: "Stops", mill: "Mill") -> str:
    """That its tube must not be cut, or nothing."""
    if isinstance(guide, Printed):
        place = guide.guide.place
        why = first_of(place.end, stops.get(place.tube.name, ()))
        return stop_words(mill, place.tube.name, why)
    name = guide.guide.tube.name
    return stop_words(mill, name, stops.get(name, ()))


def _raw_tubes(guides: "Sequence[Guide]", mill: "Mill") -> list[Any]:
    """What each tube is cut from, what comes off before a guide is set, and what is left."""
    from reportlab.platypus import PageBreak, Paragraph

    if not guides:
        return []
    rows: list[Row] = []
    for name, raw in {guide.place.tube.name: guide.raw for guide in guides}.items():
        kind = "raw tube of the list" if raw.listed else "raw tube, at least"
        words = [f"{kind} {_length(mill, raw.length, 1)}"]
        words += [
            f"FIRST saw {_length(mill, off, 1)} off its {end}, square" for end, off in raw.off_first
        ]
        words += [
            f"up to the tip {_length(mill, raw.off(end), 1)} come off the {end}"
            for end in raw.coped
        ]
        words.append(f"finished, tip to tip, {_length(mill, raw.finished, 1)}")
        rows.append((name, "; ".join(words)))
    style = _styles()
    start = (
        "Start and end are the job's: of a tube with unlike butts, or a taper, the list of tubes "
        "says which raw end is which."
    )
    return [
        Paragraph("Raw tubes: what comes off first", style["title"]),
        Paragraph(start, style["text"]),
        _table(rows, (130, 370)),
        PageBreak(),
    ]


def _stop(words: str) -> Any:
    from reportlab.platypus import Paragraph

    return Paragraph(_plain(words, bold=True), _styles()["stop"])


def _entry(
    guide: "Printed | PrintedDrill",
    own: "Sequence[File]",
    picture: Path | None,
    mill: "Mill",
    stop: str,
) -> Any:
    """stop: that its tube must not be cut, or nothing."""
    from reportlab.platypus import Image, KeepTogether, Paragraph

    title, rows = (
        _cope_rows(guide, mill) if isinstance(guide, Printed) else _drill_rows(guide, mill)
    )
    heading = Paragraph(_plain(title, bold=True), _styles()["title"])
    table = _table([*rows, *map(_cost_row, own)])
    # From its bytes: a file would be known by its name and time.
    image = [Image(BytesIO(picture.read_bytes()), width=330, height=211)] if picture else []
    return KeepTogether([heading, *([_stop(stop)] if stop else []), *image, table])


def _told_before(guide: "Printed | PrintedDrill") -> bool:
    """Whether it is the second of two that are joined."""
    if not isinstance(guide, Printed):
        return False
    return guide.guide.joined_to is not None and guide.guide.place.end == "end"


def _one_with(
    guide: "Printed | PrintedDrill", made: "Iterable[Printed | PrintedDrill]"
) -> "list[Printed | PrintedDrill]":
    """The guide, and the one it is joined to."""
    other = guide.guide.joined_to if isinstance(guide, Printed) else None
    names = {other.name} if other else set()
    return [guide, *(g for g in made if isinstance(g, Printed) and g.guide.name in names)]


def _cope_rows(printed_guide: Printed, mill: "Mill") -> tuple[str, list[Row]]:
    it = printed_guide.guide
    onto = " and ".join(mate.name for mate in it.place.mates)
    other = "the other guide's edge" if it.by == "edges" else "the tube's square end"
    setting = [
        ("SET, edge to " + other, _length(mill, it.setting)),
        ("MARK, from there to the line in the window", _length(mill, it.mark)),
    ]
    if it.by == "line":
        away = _length(mill, it.from_tip, 1)
        setting = [("LINE, from the finished tip to the line in the window", away)]
    if it.by == "joined":
        rods = f"two rods {DOWEL_MM:g} mm thick, {DOWEL_LONG_MM:g} mm long"
        setting = [("JOIN: both edges together, no SET, on", rods)]
    if it.place.tube.bends:
        along = "bent tube: measured with a tape along the line on top, from the datum by"
        setting.append((along, f"{it.place.line_deg:.0f}°"))
    if it.from_bend is not None:
        setting.append(
            ("BEND, from where the bend begins to the line", _length(mill, it.from_bend, 1))
        )
    if it.slides_on_from and not it.place.tube.od.is_constant:
        setting.append(("tapered: slides on from the tube's", it.slides_on_from))
    where = (f"RAW, from the raw tube's {it.place.end} to the line", _length(mill, it.from_raw, 1))
    setting.append(where)
    title, faces = f"{it.name}, onto {onto}", [("the face follows", _followed(it, mill))]
    if it.joined_to is not None:
        far = " and ".join(mate.name for mate in it.joined_to.place.mates)
        title = f"{it.place.tube.name}, one guide: start onto {onto}, end onto {far}"
        kind = "raw tube of the list" if it.raw.listed else "raw tube, at least"
        setting.append((kind, _length(mill, it.raw.length, 1)))
        faces = [
            (f"cut {order}: {one.place.end}, whose face follows", _followed(one, mill))
            for order, one in (("first", it), ("second", it.joined_to))
        ]
    return title, [
        *setting,
        *faces,
        ("foot below the tube's axis", _length(mill, it.sleeve.section.foot, 2)),
        ("clearance, a side", f"{it.sleeve.clearance:g} mm"),
    ]


def _followed(guide: "Guide", mill: "Mill") -> str:
    saws = {saw for saw in guide.place.saws if saw is not None}
    followed = [f"a {_length(mill, saw)} saw" for saw in sorted(saws)]
    followed += ["the mate itself"] if None in guide.place.saws else []
    return " and ".join(followed)


def _drill_rows(printed_guide: PrintedDrill, mill: "Mill") -> tuple[str, list[Row]]:
    it = printed_guide.guide
    holes = ", ".join(_length(mill, at) for at in it.drilling.at)
    seat, long = bushing(it.drilling.diameter)
    return f"{it.name}, {it.drilling.angle:g}° from the datum", [
        (
            f"SET, from the {it.reference}'s guide, or square end, to this edge",
            _length(mill, it.setting),
        ),
        ("holes, from the start along the axis", holes),
        *(("take care", note) for note in it.drilling.notes),
        (
            "drill, and bushing (outside x length)",
            f"{it.drilling.diameter:g}, {seat:g} x {long:g} mm",
        ),
        ("foot below the tube's axis", _length(mill, it.sleeve.section.foot, 2)),
    ]


def _length(mill: "Mill", mm: float, digits: int | None = None) -> str:
    """In the shop's units; where these are inches with the millimetres that are embossed."""
    metric = f"{mm:g} mm" if digits is None else f"{mm:.{digits}f} mm"
    return metric if mill.units == "mm" else f"{size_text(mill, mm, 1)} ({metric})"


def _blocks(files: "Sequence[File]") -> list[Any]:
    from reportlab.platypus import KeepTogether, Paragraph

    style = _styles()
    text = (
        "Close both halves on the tube in the vise; the tube's own size is bored, so that they "
        "grip before they meet. Each side has its count of grooves, 1 to 4: the next side down "
        "turns the tube by a quarter. For a vise and hand tools; for a mill use metal blocks."
    )
    heading = Paragraph("Split blocks", style["title"])
    table = _table([_cost_row(file) for file in files])
    return [KeepTogether([heading, Paragraph(text, style["text"])]), table]


def _cost_row(file: "File") -> Row:
    stem, entry, cost = file
    size = " x ".join(f"{length:.0f}" for length in entry.part.size)
    told = "" if cost.by != "estimate" else ", estimated"
    return f"{stem}.stl", f"{size} mm, {cost.minutes / 60:.1f} h, {cost.grams:.0f} g{told}"


def _table(rows: list[Row], widths: tuple[int, int] = (270, 230)) -> Any:
    from reportlab.platypus import Paragraph, Table

    style = _styles()
    cells = [[Paragraph(_plain(text), style["text"]) for text in row] for row in rows]
    return Table(cells, colWidths=widths, style=[("VALIGN", (0, 0), (-1, -1), "TOP")])


def _plain(text: str, bold: bool = False) -> str:
    """`text` as reportlab's markup."""
    from xml.sax.saxutils import escape

    text = printed(text)
    return f'<font name="{pdf_font(text, bold)}">{escape(text)}</font>'


def _numbered(title: str) -> Any:
    """A canvas that writes title and "page x of y" on every page."""
    from reportlab.pdfgen.canvas import Canvas

    title = printed(title if len(title) <= TITLE_LETTERS else title[: TITLE_LETTERS - 1] + "…")

    class Numbered(Canvas):  # type: ignore[misc]
        def __init__(self, *args: Any, **kwargs: Any) -> None:
            super().__init__(*args, **kwargs)
            self.pages: list[dict[str, Any]] = []

        def showPage(self) -> None:  # noqa: N802  reportlab's name
            self.pages.append(dict(self.__dict__))
            self._startPage()

        def save(self) -> None:
            for number, page in enumerate(self.pages, start=1):
                self.__dict__.update(page)
                width, height = self._pagesize
                self.setFont(pdf_font(title), 8)
                self.drawString(MARGIN, height - MARGIN + 4, title)
                told = f"page {number} of {len(self.pages)}"
                self.drawRightString(width - MARGIN, height - MARGIN + 4, told)
                super().showPage()
            super().save()

    return Numbered
