"""A scanned end as a picture, and its predicted gap unrolled."""

from pathlib import Path

import numpy as np

from frame3d.fonts import family
from frame3d.scan.registration import ScanFit
from frame3d.view.lettering import plot_facts, plotted

LEAST_HIGH = 0.6  # of the end's width: room for its numbers upright


def write_scan_plot(fit: ScanFit, limit: float, path: Path) -> None:
    """Write both to one SVG or PNG file, as the suffix of `path` says."""
    from matplotlib import rc_context
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    cope = fit.cut.target.cope
    said = f"{cope.tube.name}, {cope.end}, scanned: gap {fit.gap:.3f} ± {fit.gap_error:.3f} mm"
    title = plotted(said)
    how = {"svg.hashsalt": "frame3d", "svg.fonttype": "none", "font.family": family(title)}
    with rc_context(how):
        figure = Figure(figsize=(9.5, 5.2), layout="constrained")
        parts = figure.subplot_mosaic(
            [["end", "gap"], ["end", "left"]],
            per_subplot_kw={"end": {"projection": "3d"}},
            height_ratios=[2.2, 1.0],
        )
        _end(figure, parts["end"], fit, limit)
        _gap(parts["gap"], fit, limit)
        _left(parts["left"], fit)
        figure.suptitle(
            title,
            fontsize=10,
            parse_math=False,
        )
        FigureCanvasAgg(figure)
        metadata = plot_facts(path, said)
        figure.savefig(path, dpi=160, metadata=metadata)


def _end(figure, axes, fit: ScanFit, limit: float) -> None:  # type: ignore[no-untyped-def]
    """The scanned points of the cut face, coloured by the gap that is predicted there."""
    from matplotlib.ticker import MaxNLocator

    target = fit.cut.target
    gaps = fit.cut.gaps()[0].reshape(len(target.theta), -1).max(axis=1)
    x, y, z = fit.face.T
    here = np.interp(np.arctan2(y, x), target.theta, gaps, period=2 * np.pi)
    most = max(limit, float(gaps.max()))
    shown = axes.scatter(x, y, z, c=here, cmap="YlOrRd", vmin=0.0, vmax=most, s=9)
    # Close ticks stand on each other: on a thin tube, and upright where the end is nearly flat.
    middle, reach = (z.max() + z.min()) / 2, max(np.ptp(z), LEAST_HIGH * np.ptp(x)) / 2
    axes.set_zlim(middle - reach, middle + reach)
    axes.set_aspect("equal")
    for axis in (axes.xaxis, axes.yaxis, axes.zaxis):
        axis.set_major_locator(MaxNLocator(3, integer=True))
    axes.set(xlabel="datum, mm", ylabel="side, mm")
    axes.set_zlabel("outward, mm", labelpad=12)
    bar = figure.colorbar(shown, ax=axes, shrink=0.6, pad=0.18, label="predicted gap, mm")
    bar.ax.axhline(limit, color="#1b2530", linewidth=2)


def _left(axes, fit: ScanFit) -> None:  # type: ignore[no-untyped-def]
    """What neither tilt, place and size of the cut nor waves around it explain: noise, if all is
    well."""
    degrees = np.degrees(np.arctan2(fit.face[:, 1], fit.face[:, 0])) % 360
    axes.plot(degrees, fit.left, ".", color="#0072b2", markersize=2)
    axes.axhline(0.0, color="#1b2530", linewidth=0.6)
    reach = max(4 * fit.noise, float(np.quantile(abs(fit.left), 0.99)))
    axes.set(xlim=(0, 360), ylim=(-reach, reach), ylabel="left over, mm")
    axes.set_xticks(range(0, 361, 45))
    axes.set_xlabel("angle about the tube from its datum line, degrees")
    axes.set_title("scan against the cut found in it: missing +, proud −", fontsize=7)
    axes.grid(color="#d5dade", linewidth=0.6)


def _gap(axes, fit: ScanFit, limit: float) -> None:  # type: ignore[no-untyped-def]
    target = fit.cut.target
    gaps = fit.cut.gaps()[0].reshape(len(target.theta), -1)
    degrees = np.degrees(target.theta % (2 * np.pi))
    order = np.argsort(degrees)
    order = np.concatenate([order[-1:], order, order[:1]])
    degrees = degrees[order] + np.concatenate([[-360.0], np.zeros(len(order) - 2), [360.0]])
    for name, which, colour, dash in (
        ("outer edge", -1, "#0072b2", "-"),
        ("inner edge", 0, "#d55e00", (0, (6, 2))),
    ):
        gap = gaps[order, which]
        axes.plot(degrees, gap, color=colour, linestyle=dash, linewidth=1.6, label=name)
    most = gaps.max(axis=1)[order]
    axes.fill_between(
        degrees,
        np.maximum(most - 2 * fit.around[order], 0.0),
        most + 2 * fit.around[order],
        color="#8f9aa3",
        alpha=0.4,
        label="widest, two standard errors",
    )
    axes.axhline(limit, color="#1b2530", linestyle=":", label=f"limit {limit:.3f} mm")
    axes.set(xlim=(0, 360), ylim=(0, 1.15 * max(limit, float(most.max()))), ylabel="gap, mm")
    axes.set_xticks(range(0, 361, 45))
    axes.grid(color="#d5dade", linewidth=0.6)
    axes.legend(fontsize=7)
