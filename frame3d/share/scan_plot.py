"""A scanned end as a picture, and its predicted gap unrolled."""

from pathlib import Path

import numpy as np

from frame3d.fit.scan.register import ScanFit
from frame3d.share.lettering import spelled


def write_scan_plot(fit: ScanFit, limit: float, path: Path) -> None:
    """Write both to one SVG or PNG file, as the suffix of `path` says."""
    from matplotlib import rc_context
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    with rc_context({"svg.hashsalt": "frame3d", "svg.fonttype": "none"}):
        figure = Figure(figsize=(9.5, 4.2), layout="constrained")
        solid = figure.add_subplot(1, 2, 1, projection="3d")
        x, y, z = fit.face.T
        reach = max(3 * fit.noise, float(np.quantile(abs(fit.left), 0.98)))
        shown = solid.scatter(x, y, z, c=fit.left, cmap="RdBu", vmin=-reach, vmax=reach, s=5)
        solid.set_aspect("equal")
        solid.set(xlabel="datum, mm", ylabel="side, mm", zlabel="outward, mm")
        figure.colorbar(
            shown,
            ax=solid,
            shrink=0.7,
            pad=0.15,
            label="missing (+), proud (−), mm",
        )
        flat = figure.add_subplot(1, 2, 2)
        _gap(flat, fit, limit)
        cope = fit.cut.target.cope
        figure.suptitle(
            spelled(
                f"{cope.tube.name}, {cope.end}, scanned: gap {fit.gap:.3f} ± {fit.gap_error:.3f} mm"
            ),
            fontsize=10,
            parse_math=False,
        )
        FigureCanvasAgg(figure)
        metadata = {"Date": None} if path.suffix == ".svg" else {"Software": None}
        figure.savefig(path, dpi=160, metadata=metadata)


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
        np.maximum(most - 2 * fit.gap_error, 0.0),
        most + 2 * fit.gap_error,
        color="#8f9aa3",
        alpha=0.4,
        label="widest, two standard errors",
    )
    axes.axhline(limit, color="#1b2530", linestyle=":", label=f"limit {limit:.3f} mm")
    axes.set(xlim=(0, 360), ylim=(0, 1.15 * max(limit, float(most.max()))), ylabel="gap, mm")
    axes.set_xticks(range(0, 361, 45))
    axes.set_xlabel("angle about the tube from its datum line, degrees")
    axes.grid(color="#d5dade", linewidth=0.6)
    axes.legend(fontsize=7)
