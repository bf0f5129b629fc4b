"""Wraps as files at 1:1: SVG and DXF one a cope, and a PDF with all of them, tiled where large."""

import math
from collections.abc import Sequence
from functools import partial
from html import escape
from itertools import pairwise
from pathlib import Path
from textwrap import wrap as wrapped

import numpy as np
from numpy.typing import NDArray

from frame3d.mesh.mesh_files import file_stems
from frame3d.mill.wraps import Wrap
from frame3d.model import Mill
from frame3d.paper.pdf_page import (
    FAINT,
    MARGIN,
    MM,
    SIZES,
    SOFT,
    Draw,
    Head,
    Page,
    in_units,
    stop_line,
    stop_words,
    write_pdf,
)

Array = NDArray[np.float64]

MM_MILL = Mill()
SCALE_BAR_MM = 100.0
HEAD_MM = 14.0  # above the cope, for "cut end up"
LAP_MM = 10.0  # tiles share this much
LABEL_MM = 24.0
LEAST_OFF_MM = 0.05  # less is not told


def write_wraps(folder: Path, wraps: Sequence[Wrap], head: Head, mill: Mill = MM_MILL) -> None:
    """wraps.pdf, and one SVG and one DXF a wrap, into an existing folder.

    mill: whose units the words on them are in; the drawings are 1:1 in any case
    """
    draws: list[Draw] = []
    stems = file_stems(list(dict.fromkeys(wrap.tube for wrap in wraps)))
    for wrap in wraps:
        name = f"wrap {stems[wrap.tube]} {wrap.end}"
        (folder / f"{name}.svg").write_text(svg_text(wrap, mill), encoding="utf-8")
        write_dxf(folder / f"{name}.dxf", wrap, mill)
        draws += _tiles(wrap, head, mill)
    if draws:
        write_pdf(folder / "wraps.pdf", head, draws, "wraps")


def _title(wrap: Wrap) -> str:
    return f"{wrap.tube}, {wrap.end}, onto {' and '.join(wrap.onto)}"


def _facts(wrap: Wrap, mill: Mill) -> str:
    """Where it goes, and what it was made for."""
    whose = "start" if wrap.rim_from == "start" else "cut"
    way = "clockwise" if wrap.clockwise else "anticlockwise"
    off = f", {wrap.off:.1f} mm sawn off it first" if wrap.off > LEAST_OFF_MM else ""
    words = (
        f"lower rim square round the tube, {wrap.rim_at:.2f} mm from the blank's {whose} end"
        f"{off}; raw tube {wrap.raw:.1f} mm; "
        f"tube {wrap.od:.2f} mm there, paper {wrap.paper:g} mm; left to right is {way} as "
        "seen from the start"
    )
    if wrap.square is not None and wrap.square > LEAST_OFF_MM:
        words += f"; {wrap.square:.1f} mm come off the other, square end"
    if wrap.warp:
        words += f"; not quite even: true to {wrap.warp:.2f} mm"
    return in_units(mill, words)


def _stop(wrap: Wrap, mill: Mill, letters: float) -> list[str]:
    """That its tube must not be cut, in two lines of so many letters at most."""
    words = stop_words(mill, wrap.tube, wrap.stop)
    return wrapped(words, int(letters), max_lines=2, placeholder=" …")


def _bar_words(mill: Mill) -> str:
    also = " (3.937 in)" if mill.units == "inch" else ""
    return f"100 mm{also}: measure it before you trust the print"


def svg_text(wrap: Wrap, mill: Mill = MM_MILL) -> str:
    """The wrap in mm, y down, with layers by group id."""
    left, bottom, right, top = wrap.box
    height = top - bottom + HEAD_MM + LABEL_MM
    base = height - LABEL_MM
    wide = max(right - left, SCALE_BAR_MM) + 4.0

    def at(point: Array) -> str:
        return f"{2.0 + point[0] - left:.4f},{base - (point[1] - bottom):.4f}"

    cope, rim = (" ".join(at(point) for point in points) for points in (wrap.curve, wrap.rim))
    lines = "".join(
        f'<path class="{label}" d="M {" L ".join(at(point) for point in line)}"/>'
        for label, line in wrap.lines
    )
    labels = "".join(
        f'<text x="{3 + line[0][0] - left:.2f}" y="{base - 2 - (line[0][1] - bottom):.2f}">{label}'
        "</text>"
        for label, line in wrap.lines
    )
    facts = wrapped(_facts(wrap, mill), int(wide / 1.15))
    stop = "".join(
        f'<text x="2" y="{8.6 + 3.2 * k:.2f}" font-size="2.6" fill="#b00">{escape(line)}</text>'
        for k, line in enumerate(_stop(wrap, mill, wide / 1.7))
    )
    small = "".join(
        f'<text x="2" y="{base + 4 + 2.6 * k:.2f}" font-size="2.2">{escape(line)}</text>'
        for k, line in enumerate(facts)
    )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide:.4f}mm" height="{height:.4f}mm" '
        f'viewBox="0 0 {wide:.4f} {height:.4f}" fill="none" stroke="#111" stroke-width="0.18">'
        f'<polyline id="cope" points="{cope}"/><polyline id="rim" points="{rim}"/>'
        f'<g id="lines" stroke-dasharray="4 1.5">{lines}</g>'
        f'<path id="scale" d="M 2,{base + 17:.4f} h {SCALE_BAR_MM:g}"/>'
        f'<g id="words" fill="#111" stroke="none" font-family="sans-serif" font-size="3.2">'
        f'<text x="2" y="5">{escape(_title(wrap))}: cut end up ↑</text>'
        f"{stop}{labels}{small}"
        f'<text x="2" y="{base + 21:.2f}">{_bar_words(mill)}</text>'
        f"</g></svg>\n"
    )


def write_dxf(path: Path, wrap: Wrap, mill: Mill = MM_MILL) -> None:
    """The wrap in mm: layers cope, rim, datum, opposite, scale, words."""
    import ezdxf
    from ezdxf import units
    from ezdxf.filemanagement import new

    # No dates, no random ids.
    ezdxf.options.write_fixed_meta_data_for_testing = True  # type: ignore[attr-defined]
    drawing = new("R2010", units=units.MM)
    space = drawing.modelspace()
    for layer, colour in (("cope", 1), ("rim", 7), ("datum", 5), ("opposite", 3), ("scale", 8)):
        drawing.layers.add(layer, color=colour)
    drawing.layers.add("words", color=8)
    left, bottom, right, top = wrap.box

    def write(words: str, height: float, where: tuple[float, float]) -> None:
        space.add_text(words, dxfattribs={"layer": "words", "height": height, "insert": where})

    space.add_lwpolyline(wrap.curve.tolist(), dxfattribs={"layer": "cope"})
    space.add_lwpolyline(wrap.rim.tolist(), dxfattribs={"layer": "rim"})
    for label, line in wrap.lines:
        for one, other in pairwise(line.tolist()):
            space.add_line(one, other, dxfattribs={"layer": label})
        write(label, 3.0, (line[0][0] + 1, line[0][1] + 1))
    bar = bottom - 18
    space.add_line((left, bar), (left + SCALE_BAR_MM, bar), dxfattribs={"layer": "scale"})
    write(f"{_title(wrap)}: cut end up", 3.0, (left, top + 6))
    for k, words in enumerate(_stop(wrap, mill, max(right - left, SCALE_BAR_MM) / 2)):
        write(words.replace("▲ ", ""), 2.5, (left, top + 16 - 3.5 * k))
    for k, words in enumerate(wrapped(_facts(wrap, mill), int(max(right - left, SCALE_BAR_MM)))):
        write(words, 2.0, (left, bottom - 5 - 3.0 * k))
    write(_bar_words(mill), 3.0, (left, bar - 5))
    for kind in sorted(drawing.entitydb.dxf_types_in_use()):
        drawing.classes.add_class(kind)  # else they come in the order of a set
    drawing.saveas(path)


def _tiles(wrap: Wrap, head: Head, mill: Mill) -> list[Draw]:
    """Pages that hold the wrap; several across and up where it is larger than the paper."""
    wide, high = (side / MM for side in SIZES[head.paper])
    room_x = wide - 2 * MARGIN / MM
    room_y = high - 2 * MARGIN / MM - LABEL_MM - HEAD_MM
    left, bottom, right, top = wrap.box
    tall = top - bottom
    columns = max(1, math.ceil((right - left - LAP_MM) / (room_x - LAP_MM)))
    rows = max(1, math.ceil((tall - LAP_MM) / (room_y - LAP_MM)))
    return [
        partial(
            _tile, wrap=wrap, room=(room_x, room_y), tile=(i, j), tiles=(columns, rows), mill=mill
        )
        for j in range(rows)
        for i in range(columns)
    ]


def _tile(
    page: Page,
    wrap: Wrap,
    room: tuple[float, float],
    tile: tuple[int, int],
    tiles: tuple[int, int],
    mill: Mill,
) -> None:
    left, low = MARGIN, MARGIN + LABEL_MM * MM
    skip = [k * (r - LAP_MM) for k, r in zip(tile, room, strict=True)]
    corner = wrap.box[:2]

    def at(point: Array) -> tuple[float, float]:
        u, v = (float(p - c - s) for p, c, s in zip(point, corner, skip, strict=True))
        return left + u * MM, low + v * MM

    canvas = page.canvas
    canvas.saveState()
    window = canvas.beginPath()
    window.rect(left - 1, low - 1, room[0] * MM + 2, room[1] * MM + 2)
    canvas.clipPath(window, stroke=0, fill=0)
    page.line([at(point) for point in wrap.curve], width=0.5)
    page.line([at(point) for point in wrap.rim], width=0.5)
    for label, line in wrap.lines:
        page.line([at(point) for point in line], width=0.4, dash=(8, 3))
        x, y = at(line[0])
        page.text(x + 4, y + 5, label, 9)
    canvas.restoreState()
    if max(tiles) > 1:
        _lap_marks(page, room, tile, tiles, (left, low))
    stop_line(page, wrap.tube, wrap.stop, mill)
    top = page.height - MARGIN - 12
    page.text(
        left, top, f"{_title(wrap)}: cut end up ↑", 13, bold=True, room=page.right - left - 110
    )
    if max(tiles) > 1:
        words = f"sheet {tile[0] + 1}.{tile[1] + 1} of {tiles[0]} × {tiles[1]}"
        page.text(page.right, top, words, 10, align="right", colour=SOFT)
    page.wrapped(left, low - 13, _facts(wrap, mill), 8.5, page.right - left)
    bar = MARGIN + 22
    page.line([(left, bar), (left + SCALE_BAR_MM * MM, bar)], width=0.8)
    for x in (left, left + SCALE_BAR_MM * MM):
        page.line([(x, bar - 4), (x, bar + 4)], width=0.8)
    page.text(left, bar - 13, _bar_words(mill), 9)


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
