"""The filing of a cut end as a wrap at 1:1, to cut out and tape on the tube."""

from pathlib import Path
from textwrap import wrap
from typing import TYPE_CHECKING

import numpy as np

from frame3d.check.gap import clock
from frame3d.fonts import family
from frame3d.surfaces.surface import Array
from frame3d.tolerance.filing import Filing, words
from frame3d.view.lettering import plotted

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

MM_PER_INCH = 25.4
PAPER_MM = 0.1  # ordinary paper stands this thick around the tube
EDGE_MM = 12.0  # around the wrap
MAP_MM = 9.0  # height of the wall's map, outer edge on top, bore below
LEVELS = (0.02, 0.05, 0.1, 0.2, 0.4, 0.8)  # mm to take off
SHADES = ("#fff7e0", "#fee9b8", "#fdd28a", "#fcb45c", "#f08a3c", "#d55e00")
RULER_MM, RULER_TEXT_MM = 50.0, 20.0
NOTES_MM = 34.0
CAUTION = "Wear eye protection and gloves; hold the tube in blocks; break sharp edges."


def write_filing_wrap(found: Filing, limit: float, path: Path) -> None:
    """Write the wrap to a PDF, SVG or PNG file, as the suffix of `path` says."""
    from matplotlib import rc_context
    from matplotlib.backends.backend_agg import FigureCanvasAgg

    how = {"svg.hashsalt": "frame3d", "svg.fonttype": "none", "hatch.linewidth": 0.4}
    with rc_context({**how, "font.family": family(" ".join(_told(found, limit)))}):
        figure = wrap_figure(found, limit)
        FigureCanvasAgg(figure)
        metadata = {
            ".svg": {"Date": None},
            ".pdf": {"CreationDate": None},
        }.get(path.suffix, {"Software": None})
        figure.savefig(path, dpi=200, metadata=metadata)


def wrap_figure(found: Filing, limit: float) -> "Figure":
    """The wrap as a matplotlib figure, one millimetre of it one of paper."""
    from matplotlib.figure import Figure

    target = found.cut.target
    tube = target.cope.tube
    lines = found.cut.stop[0].reshape(len(target.theta), -1) + found.cut.seat[0]
    station = tube.length if target.cope.end == "end" else 0.0
    paper = np.pi * (float(tube.od(station)) + 2 * found.cut.setups.tube[0] + PAPER_MM)
    turn = np.append(target.theta - target.theta[0], 2 * np.pi)
    across = _across(found, turn, paper)
    edge = np.append(lines[:, -1], lines[0, -1])
    take = np.append(found.take[:, -1], found.take[0, -1])
    low, high = float(edge.min()) - MAP_MM - 6.0, float(edge.max()) + 3.0
    width = max(paper, RULER_MM + RULER_TEXT_MM) + 2 * EDGE_MM
    height = high - low + 2 * EDGE_MM + NOTES_MM
    figure = Figure(figsize=(width / MM_PER_INCH, height / MM_PER_INCH))
    axes = figure.add_axes(
        (EDGE_MM / width, (EDGE_MM + NOTES_MM) / height, paper / width, (high - low) / height)
    )
    axes.set(xlim=(0, paper), ylim=(low, high))
    axes.set_axis_off()
    depth = np.vstack([found.square, found.square[:1]])
    _map(axes, across, edge, depth, target.depth)
    axes.plot(across, edge, color="#1b2530", linewidth=0.9)
    axes.plot(across, edge - take, color="#d55e00", linewidth=0.9, linestyle=(0, (4, 2)))
    for at in (0.0, paper):
        axes.plot([at, at], [low, high], color="#1b2530", linewidth=0.5, clip_on=False)
    _clocks(axes, found, paper, low)
    _notes(figure, found, limit, height)
    _ruler(figure, width, height)
    return figure


def _across(found: Filing, turn: Array, paper: float) -> Array:
    """Place on the paper, seen from outside with the end upwards: there angles run to the right
    at a tube's end and to the left at its start."""
    share = turn / (2 * np.pi)
    return np.asarray(paper * (share if found.cut.target.cope.end == "end" else 1 - share))


def _map(axes: "Axes", across: Array, edge: Array, depth: Array, wall: Array) -> None:
    """Depth contours over the wall, opened out below the edge: outer edge on top, bore below."""
    x = np.repeat(across[:, None], len(wall), axis=1)
    y = edge[:, None] - 1.5 - (1 - wall) * MAP_MM
    axes.plot(across, y[:, 0], color="#8f9aa3", linewidth=0.4)
    axes.plot(across, y[:, -1], color="#8f9aa3", linewidth=0.4)
    if depth.max() <= LEVELS[0]:
        return
    axes.contourf(x, y, depth, levels=[*LEVELS, 10.0], colors=SHADES)
    drawn = axes.contour(x, y, depth, levels=LEVELS, colors="#1b2530", linewidths=0.4)
    axes.clabel(drawn, [level for level in LEVELS if level >= 0.1], fontsize=5, fmt="%g")


def _clocks(axes: "Axes", found: Filing, paper: float, low: float) -> None:
    cope = found.cut.target.cope
    first = found.cut.target.theta[0]
    sense = 1.0 if cope.end == "start" else -1.0
    for hour in range(12):
        theta = sense * hour * np.pi / 6
        at = float(_across(found, np.asarray((theta - first) % (2 * np.pi)), paper))
        axes.plot([at, at], [low, low + 1.5], color="#1b2530", linewidth=0.5)
        axes.text(at, low + 2.0, clock(cope, theta).removesuffix(":00"), fontsize=6, ha="center")


def _told(found: Filing, limit: float) -> list[str]:
    """What is told of the cut, as it is drawn."""
    cope = found.cut.target.cope
    title = plotted(f"File to fit: {cope.tube.name}, {cope.end}")
    return [title, *(plotted(text) for text in words(found, limit))]


def _notes(figure: "Figure", found: Filing, limit: float, height: float) -> None:
    title, *texts = _told(found, limit)
    lines = [
        title,
        "line: the edge as it is; dashes: file to here; map: mm to take off over the wall, outside "
        "on top; numbers: clock seen from the tube's end, 12 at the datum line. Print at 100 %.",
        *texts,
        CAUTION,
    ]
    chars = int(figure.get_figwidth() * MM_PER_INCH * 0.78)
    text = "\n".join(part for line in lines for part in wrap(line, chars))
    figure.text(
        EDGE_MM / (figure.get_figwidth() * MM_PER_INCH),
        (NOTES_MM + EDGE_MM - 4) / height,
        text,
        fontsize=5.5,
        va="top",
        parse_math=False,
    )


def _ruler(figure: "Figure", width: float, height: float) -> None:
    from matplotlib.lines import Line2D

    left, y = EDGE_MM / width, (height - 6) / height
    right = left + RULER_MM / width
    figure.add_artist(Line2D([left, right], [y, y], color="#1b2530", linewidth=0.8))
    for x in (left, right):
        tall = 1.5 / height
        figure.add_artist(Line2D([x, x], [y - tall, y + tall], color="#1b2530", linewidth=0.8))
    figure.text(right + 2 / width, y, f"{RULER_MM:g} mm: measure it", fontsize=5.5, va="center")
