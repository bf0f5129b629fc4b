"""Wraps as files at 1:1: SVG and DXF one a cope, and a PDF with all of them, tiled where large."""

import math
from collections.abc import Sequence
from functools import partial
from html import escape
from pathlib import Path

from frame3d.share.lettering import printed
from frame3d.share.meshes import file_stems
from frame3d.share.paper import (
    FAINT,
    MARGIN,
    MM,
    SIZES,
    SOFT,
    Draw,
    Head,
    Page,
    write_pdf,
)
from frame3d.shop.wraps import Wrap

SCALE_BAR_MM = 100.0
HEAD_MM = 14.0  # above the cope, for "cut end up"
LAP_MM = 10.0  # tiles share this much
LABEL_MM = 24.0


def write_wraps(folder: Path, wraps: Sequence[Wrap], head: Head) -> None:
    """wraps.pdf, and one SVG and one DXF a wrap, into an existing folder."""
    draws: list[Draw] = []
    stems = file_stems(list(dict.fromkeys(wrap.tube for wrap in wraps)))
    for wrap in wraps:
        name = f"wrap {stems[wrap.tube]} {wrap.end}"
        (folder / f"{name}.svg").write_text(svg_text(wrap), encoding="utf-8")
        write_dxf(folder / f"{name}.dxf", wrap)
        draws += _tiles(wrap, head)
    if draws:
        write_pdf(folder / "wraps.pdf", head, draws, "wraps")


def _title(wrap: Wrap) -> str:
    return f"{wrap.tube}, {wrap.end}, onto {' and '.join(wrap.onto)}"


def _lines(wrap: Wrap) -> list[tuple[str, float, float]]:
    """Lines along the tube up to the cope: label, place across, where they stop."""
    middle = len(wrap.curve) // 2
    return [
        ("datum", 0.0, float(wrap.curve[0, 1])),
        ("opposite", wrap.width / 2, float(wrap.curve[middle, 1])),
    ]


def _facts(wrap: Wrap) -> str:
    way = "clockwise" if wrap.clockwise else "anticlockwise"
    return (
        f"tube {wrap.od:g} mm, paper {wrap.paper:g} mm; left to right is {way} from the start; "
        f"lower rim {-wrap.foot:g} mm inward of the {wrap.end} point"
    )


def svg_text(wrap: Wrap) -> str:
    """The wrap in mm, y down, with layers by group id."""
    height = wrap.top - wrap.foot + HEAD_MM + LABEL_MM
    base = height - LABEL_MM
    wide = max(wrap.width, SCALE_BAR_MM) + 4.0

    def at(u: float, v: float) -> str:
        return f"{2.0 + u:.4f},{base - (v - wrap.foot):.4f}"

    cope = " ".join(at(u, v) for u, v in wrap.curve)
    rim = " ".join(
        (
            at(0, wrap.curve[0][1]),
            at(0, wrap.foot),
            at(wrap.width, wrap.foot),
            at(wrap.width, wrap.curve[-1][1]),
        )
    )
    lines = "".join(
        f'<path class="{label}" d="M {at(u, wrap.foot)} L {at(u, v)}"/>'
        for label, u, v in _lines(wrap)
    )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide:.4f}mm" height="{height:.4f}mm" '
        f'viewBox="0 0 {wide:.4f} {height:.4f}" fill="none" stroke="#111" stroke-width="0.18">'
        f'<polyline id="cope" points="{cope}"/><polyline id="rim" points="{rim}"/>'
        f'<g id="lines" stroke-dasharray="4 1.5">{lines}</g>'
        f'<path id="scale" d="M 2,{base + 16:.4f} h {SCALE_BAR_MM:g}"/>'
        f'<g id="words" fill="#111" stroke="none" font-family="sans-serif" font-size="3.2">'
        f'<text x="2" y="5">{escape(printed(_title(wrap)))}: cut end up ↑</text>'
        f'<text x="3" y="{base - 2:.2f}">datum</text>'
        f'<text x="{3 + wrap.width / 2:.2f}" y="{base - 2:.2f}">opposite</text>'
        f'<text x="2" y="{base + 6:.2f}" font-size="2.2">{escape(_facts(wrap))}</text>'
        f'<text x="2" y="{base + 21:.2f}">100 mm: measure it before you trust the print</text>'
        f"</g></svg>\n"
    )


def write_dxf(path: Path, wrap: Wrap) -> None:
    """The wrap in mm: layers cope, rim, datum, opposite, scale, words."""
    from ezdxf import units
    from ezdxf.filemanagement import new

    drawing = new("R2010", units=units.MM)
    space = drawing.modelspace()
    for layer, colour in (("cope", 1), ("rim", 7), ("datum", 5), ("opposite", 3), ("scale", 8)):
        drawing.layers.add(layer, color=colour)
    drawing.layers.add("words", color=8)

    def write(words: str, height: float, where: tuple[float, float]) -> None:
        space.add_text(words, dxfattribs={"layer": "words", "height": height, "insert": where})

    space.add_lwpolyline([(u, v) for u, v in wrap.curve], dxfattribs={"layer": "cope"})
    rim = [(0, wrap.curve[0][1]), (0, wrap.foot), (wrap.width, wrap.foot)]
    rim.append((wrap.width, wrap.curve[-1][1]))
    space.add_lwpolyline(rim, dxfattribs={"layer": "rim"})
    for label, u, v in _lines(wrap):
        space.add_line((u, wrap.foot), (u, v), dxfattribs={"layer": label})
        write(label, 3.0, (u + 1, wrap.foot + 1))
    bar = wrap.foot - 10
    space.add_line((0, bar), (SCALE_BAR_MM, bar), dxfattribs={"layer": "scale"})
    for words, height, v in (
        (f"{_title(wrap)}: cut end up", 3.0, wrap.top + 6),
        (_facts(wrap), 2.0, wrap.foot - 5),
        ("100 mm: measure it before you trust the print", 3.0, bar - 5),
    ):
        write(words, height, (0.0, v))
    drawing.saveas(path)


def _tiles(wrap: Wrap, head: Head) -> list[Draw]:
    """Pages that hold the wrap; several across and up where it is larger than the paper."""
    wide, high = (side / MM for side in SIZES[head.paper])
    room_x = wide - 2 * MARGIN / MM
    room_y = high - 2 * MARGIN / MM - LABEL_MM - HEAD_MM
    tall = wrap.top - wrap.foot
    columns = max(1, math.ceil((wrap.width - LAP_MM) / (room_x - LAP_MM)))
    rows = max(1, math.ceil((tall - LAP_MM) / (room_y - LAP_MM)))
    return [
        partial(_tile, wrap=wrap, room=(room_x, room_y), tile=(i, j), tiles=(columns, rows))
        for j in range(rows)
        for i in range(columns)
    ]


def _tile(
    page: Page, wrap: Wrap, room: tuple[float, float], tile: tuple[int, int], tiles: tuple[int, int]
) -> None:
    left, low = MARGIN, MARGIN + LABEL_MM * MM
    skip = [k * (r - LAP_MM) for k, r in zip(tile, room, strict=True)]

    def at(u: float, v: float) -> tuple[float, float]:
        return left + (u - skip[0]) * MM, low + (v - wrap.foot - skip[1]) * MM

    canvas = page.canvas
    canvas.saveState()
    window = canvas.beginPath()
    window.rect(left - 1, low - 1, room[0] * MM + 2, room[1] * MM + 2)
    canvas.clipPath(window, stroke=0, fill=0)
    page.line([at(u, v) for u, v in wrap.curve], width=0.5)
    rim = [(0, wrap.curve[0][1]), (0, wrap.foot), (wrap.width, wrap.foot)]
    rim.append((wrap.width, wrap.curve[-1][1]))
    page.line([at(u, v) for u, v in rim], width=0.5)
    for label, u, v in _lines(wrap):
        page.line([at(u, wrap.foot), at(u, v)], width=0.4, dash=(8, 3))
        x, y = at(u, wrap.foot)
        page.text(x + 4, y + 5, label, 9)
    canvas.restoreState()
    if max(tiles) > 1:
        _lap_marks(page, room, tile, tiles, (left, low))
    top = page.height - MARGIN - 12
    page.text(
        left, top, f"{_title(wrap)}: cut end up ↑", 13, bold=True, room=page.right - left - 110
    )
    if max(tiles) > 1:
        words = f"sheet {tile[0] + 1}.{tile[1] + 1} of {tiles[0]} × {tiles[1]}"
        page.text(page.right, top, words, 10, align="right", colour=SOFT)
    page.text(left, low - 14, _facts(wrap), 8.5, room=page.right - left)
    bar = MARGIN + 22
    page.line([(left, bar), (left + SCALE_BAR_MM * MM, bar)], width=0.8)
    for x in (left, left + SCALE_BAR_MM * MM):
        page.line([(x, bar - 4), (x, bar + 4)], width=0.8)
    page.text(left, bar - 13, "100 mm: measure it before you trust the print", 9)


def _lap_marks(
    page: Page,
    room: tuple[float, float],
    tile: tuple[int, int],
    tiles: tuple[int, int],
    corner: tuple[float, float],
) -> None:
    """Lines at which the next sheet's edge is laid."""
    x0, y0 = corner
    x1, y1 = x0 + room[0] * MM, y0 + room[1] * MM
    lap = LAP_MM * MM
    if tile[0] > 0:
        page.line([(x0 + lap, y0), (x0 + lap, y1)], width=0.4, colour=FAINT, dash=(2, 2))
    if tile[0] < tiles[0] - 1:
        page.line([(x1, y0), (x1, y1)], width=0.4, colour=FAINT, dash=(2, 2))
        page.line([(x1 - lap, y0), (x1 - lap, y1)], width=0.4, colour=FAINT, dash=(2, 2))
    if tile[1] > 0:
        page.line([(x0, y0 + lap), (x1, y0 + lap)], width=0.4, colour=FAINT, dash=(2, 2))
    if tile[1] < tiles[1] - 1:
        page.line([(x0, y1 - lap), (x1, y1 - lap)], width=0.4, colour=FAINT, dash=(2, 2))
