"""The spec table: geometry, tubes and mass, as texts for a page or a sheet."""

from dataclasses import dataclass

from frame3d.bicycle.facts import Figure, figures
from frame3d.check.report import Report, TubeReport
from frame3d.model import Frame, Tube

# What a customer is told of a [bicycle].
MEASURES = (
    "stack", "reach", "effective_top_tube", "top_tube_length", "top_tube_slope",
    "seat_tube_length", "seat_tube_centre_to_centre", "seat_tube_angle",
    "head_tube_length", "head_tube_angle", "chain_stay_length", "bb_drop",
    "shell_height", "front_centre", "wheelbase", "fork_length", "rake",
)  # fmt: skip


@dataclass(frozen=True)
class Sheet:
    """A table: title, column headings, and rows of as many texts. private: for the shop only."""

    title: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    private: bool = False


def spec_of(report: Report) -> tuple[Sheet, ...]:
    """What a customer is told. No gaps, saws or prices."""
    sheets = (
        geometry_sheet(report),
        parts_sheet(report),
        rider_sheet(report),
        tube_sheet(report),
        plate_sheet(report),
        angle_sheet(report),
    )
    return tuple(sheet for sheet in sheets if sheet.rows)


def geometry_sheet(report: Report) -> Sheet:
    """The measures of a [bicycle]."""
    rows = []
    if report.facts is not None:
        values = {**report.facts.geometry.values, **report.facts.own_axes}
        steering = report.facts.handling
        told = {
            **{name: values[name] for name in MEASURES},
            "trail": steering.trail,
            "wheel_flop": steering.wheel_flop,
            "standover": steering.standover,
        }
        rows = [_measure(figure) for figure in figures(told)]
    return Sheet("Geometry", ("measure", "value"), tuple(rows))


def parts_sheet(report: Report) -> Sheet:
    """The parts that a [bicycle] is made for, and the wheels' size over the tyre."""
    rows: list[tuple[str, str]] = []
    if report.facts is not None:
        parts, values = report.facts.parts, report.facts.geometry
        for wheel, name in (("front wheel", parts.front_wheel), ("rear wheel", parts.rear_wheel)):
            over = 2 * values[f"{wheel.replace(' ', '_')}_radius"]
            rows += [(wheel, name)] if name else []
            rows.append((f"{wheel} over the tyre", f"{over:.1f} mm"))
        named = (
            ("front hub", parts.front_hub),
            ("rear hub", parts.rear_hub),
            ("shell", parts.shell),
            ("headset", parts.headset),
        )
        rows += [(part, name) for part, name in named if name]
        rows += [_measure(figure) for figure in figures({"seat_post": parts.seat_post})]
    return Sheet("Parts it is made for", ("part", "size"), tuple(rows))


def rider_sheet(report: Report) -> Sheet:
    """Where the rider sits on a [bicycle] that is made for one."""
    rows = []
    if report.facts is not None and (rider := report.facts.rider) is not None:
        stem = {"stem_length": rider.cockpit.stem_length, "spacers": rider.cockpit.spacers}
        rows = [_measure(figure) for figure in figures({**vars(rider.placed), **stem})]
    return Sheet("Rider", ("measure", "value"), tuple(rows))


def _measure(figure: Figure) -> tuple[str, str]:
    words = figure.name.replace("_", " ").replace("bb ", "BB ")
    value = figure.value
    return words, f"{value:.2f}°" if figure.unit == "deg" else f"{value:.1f} mm"


def tube_sheet(report: Report) -> Sheet:
    """Every tube with its sizes and mass, and the mass of all tubes last."""
    rows = [_tube_row(report.frame.tube(tube.name), tube) for tube in report.tubes]
    total = sum(tube.mass for tube in report.tubes)
    rows.append(("all tubes", "", "", "", "", f"{total:.0f}"))
    columns = ("tube", "material", "outside, mm", "wall, mm", "length, mm", "mass, g")
    return Sheet("Tubes", columns, tuple(rows))


def plate_sheet(report: Report) -> Sheet:
    """Dropouts and tabs, and the mass of all metal last."""
    rows = [(p.name, p.material, f"{p.thickness:g}", f"{p.mass:.0f}") for p in report.plates]
    if rows:
        rows.append(("all tubes and plates", "", "", f"{report.mass:.0f}"))
    return Sheet("Plates", ("plate", "material", "thickness, mm", "mass, g"), tuple(rows))


def angle_sheet(report: Report) -> Sheet:
    """The angle at which each tube meets another, of a frame whose geometry is not told."""
    if report.facts is not None:
        return Sheet("Angles between tubes", (), ())
    rows = [
        (f"{joint.joint.tube} to {mate.tube}", f"{mate.angle:.2f}°")
        for joint in report.joints
        for mate in joint.mates
    ]
    return Sheet("Angles between tubes", ("tubes", "angle"), tuple(rows))


def fit_sheet(report: Report) -> Sheet:
    """Shop-private: every joint's gap, limit and saws."""
    rows = []
    for joint in report.joints:
        saws = ", ".join("none" if mate.saw is None else f"{mate.saw:g}" for mate in joint.mates)
        gap = f"{joint.gap.widest.value:.3f}" if joint.gap else "none"
        onto = ", ".join(joint.joint.onto)
        verdict = "pass" if joint.passes else "; ".join(joint.reasons)
        rows.append(
            (joint.joint.tube, joint.joint.end, onto, saws, gap, f"{joint.limit:.3f}", verdict)
        )
    columns = ("tube", "end", "onto", "saw, mm", "gap, mm", "limit, mm", "verdict")
    return Sheet("Joints (shop-private)", columns, tuple(rows), private=True)


def details(tube: Tube, report: TubeReport) -> str:
    """One line about a tube, for a label."""
    return (
        f"{sizes(tube.od.value)} mm outside, {sizes(tube.wall.value)} mm wall, "
        f"{report.length:.1f} mm long, {report.mass:.0f} g, {tube.material}"
    )


def sizes(values: tuple[float, ...]) -> str:
    """Changing sizes along a tube, without repetition: "0.9 / 0.6 / 0.9"."""
    told: list[str] = []
    for value in values:
        text = f"{value:.3f}".rstrip("0").rstrip(".")
        if not told or told[-1] != text:
            told.append(text)
    return " / ".join(told)


def _tube_row(tube: Tube, report: TubeReport) -> tuple[str, ...]:
    return (
        tube.name,
        tube.material,
        sizes(tube.od.value),
        sizes(tube.wall.value),
        f"{report.length:.1f}",
        f"{report.mass:.0f}",
    )


def summary(frame: Frame, report: Report) -> str:
    """The frame in a sentence."""
    parts = [(frame.tubes, "tube"), (report.plates, "plate"), (frame.joints, "joint")]
    told = [f"{len(ones)} {one}{'' if len(ones) == 1 else 's'}" for ones, one in parts if ones]
    return f"{', '.join(told)}; {report.mass:.0f} g."
