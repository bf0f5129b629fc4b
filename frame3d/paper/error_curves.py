"""The error budget of a frame as curves: worst gap of each joint against each error alone."""

from pathlib import Path
from textwrap import fill
from typing import TYPE_CHECKING

import numpy as np

from frame3d.fonts import family
from frame3d.tolerance.budget import Budget
from frame3d.tolerance.budget_text import JointBudget, words
from frame3d.tolerance.setup_errors import unit
from frame3d.view.lettering import plotted

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

INCHES = 11.69, 8.27  # A4, landscape
ACROSS = 4
CURVE, LIMIT, SHADE = "#0072b2", "#1b2530", "#d5dade"


def write_error_curves(budget: Budget, path: Path) -> None:
    """Write a PDF with a page for each joint."""
    from matplotlib import rc_context
    from matplotlib.backends.backend_pdf import PdfPages

    how = {"pdf.fonttype": 42, "font.family": family(_names(budget))}
    with rc_context(how), PdfPages(path, metadata={"CreationDate": None}) as pages:
        for key in budget.joints:
            pages.savefig(curves_figure(budget, key))


def _names(budget: Budget) -> str:
    """Every name on the pages, as it is drawn."""
    return plotted(" ".join(tube.name for tube in budget.frame.tubes))


def curves_figure(budget: Budget, key: tuple[str, str]) -> "Figure":
    """One joint's page as a matplotlib figure."""
    from matplotlib.figure import Figure

    joint = budget.joints[key]  # type: ignore[index]
    errors = joint.errors
    down = -(-(len(errors) + 1) // ACROSS)
    figure = Figure(figsize=INCHES, layout="constrained")
    panels = figure.subplots(down, ACROSS, sharey=True, squeeze=False).ravel()
    top = 1.15 * max(
        joint.chance.limit, *(float(error.gap.max()) for error in errors if error.size)
    )
    for axes, which in zip(panels, range(len(errors)), strict=False):
        _curve(axes, budget, joint, which)
        axes.set_ylim(-0.02 * top, top)  # a gap of nothing is seen beside the frame's line
    for axes in panels[len(errors) :]:
        axes.set_axis_off()
    for axes in panels[::ACROSS]:
        axes.set_ylabel("worst gap, mm")
    told = " ".join(f"{text[0].upper()}{text[1:]}." for text in words(joint, budget.wanted))
    figure.suptitle(
        plotted(f"{key[0]}, {key[1]}: worst gap against each error alone, all others nil; ")
        + "grey: 19 of 20 errors; dotted: the limit\n"
        + fill(plotted(told), 130),
        fontsize=9,
        parse_math=False,
    )
    return figure


def _curve(axes: "Axes", budget: Budget, joint: JointBudget, which: int) -> None:
    error = joint.errors[which]
    bound = error.size
    axes.axvspan(-bound if error.at[0] < 0 else 0.0, bound, color=SHADE, alpha=0.6, linewidth=0)
    axes.plot(error.at, error.gap, color=CURVE, linewidth=1.6)
    axes.axhline(joint.chance.limit, color=LIMIT, linestyle=":", linewidth=1.0)
    share = f"{100 * error.share:.0f} % of the budget" if error.size else "taken as nil"
    axes.set_title(f"{error.name}\n{share}", fontsize=7.5)
    axes.set_xlabel(unit(error.name), fontsize=7)
    axes.set_xlim(float(error.at[0]), float(error.at[-1]))
    axes.set_xticks(np.linspace(error.at[0], error.at[-1], 5))
    axes.xaxis.set_major_formatter(lambda value, _: f"{value:.2g}")
    axes.tick_params(labelsize=6.5)
    axes.grid(color=SHADE, linewidth=0.5)
