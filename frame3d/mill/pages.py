"""All that the shop's pages say about a job, as plain data."""

from collections.abc import Callable
from dataclasses import dataclass, replace

from frame3d.check.frame_check import Judged
from frame3d.check.trim import MEANINGS, TrimPlan
from frame3d.mill.blank import raw_blank
from frame3d.mill.drilling import DrillHole, Drilling, SlotCut, Vent, drilling
from frame3d.mill.jig import JigJoint, JigTube, jig
from frame3d.mill.measures import Arm, Measures, measures
from frame3d.mill.printed_numbers import angle, as_json, meanings, printed
from frame3d.mill.proof import doubt
from frame3d.mill.saw_alternatives import Alternative, SawChoice, saw_choices
from frame3d.mill.setting_tolerance import Care, Caring
from frame3d.mill.setup import tube_sheet
from frame3d.mill.speeds import Speed, speeds
from frame3d.mill.tube_sheet import BendRow, Cut, Seat, TubeSheet
from frame3d.model import Frame
from frame3d.surfaces.cope import Copes

FORMAT = "frame3d-shop/1"

CAUTIONS = (
    "Eye protection always; hearing protection at the mill.",
    "Clamp blocks and vise before the spindle turns; keep hands clear until it has stopped.",
    "No gloves, loose sleeves or open hair near the spindle; clear swarf with a brush.",
    "Cutting fluid on every cut. Titanium chips and dust catch fire: keep them few and wet, clear "
    "them away, have dry sand or a class D extinguisher at hand, and never water.",
    "Cut edges are hot and sharp: deburr before handling.",
    "Braze and weld with extraction: fumes, flux and coatings harm; shield eyes and skin.",
    "Vent every closed tube before heating it.",
    "A finished frame is a prototype until tested, to ISO 4210, by licensed practice. Local codes "
    "and standards come before these pages.",
)


@dataclass(frozen=True)
class TubePages:
    """One tube: its sheet, the speeds of each of its cuts, what to measure after."""

    sheet: TubeSheet = printed("", "set-up of the tube's cuts")
    speeds: tuple[tuple[Speed, ...], ...] = printed("", "speeds for each cut, in the cuts' order")
    measures: Measures = printed("", "what to measure when all its cuts are done")
    apart: float | None = printed(
        "deg", "in-phase check: angle about the tube between bars laid in both copes, start to end"
    )
    drilling: Drilling = printed("", "its holes, and where joints on it can be vented")
    care: tuple[Care, ...] = printed("", "how near each cut must be set, in the cuts' order")
    stop: tuple[str, ...] = printed(
        "", "why it must not be cut: what its trim plan and the joints at its ends fail on"
    )

    def care_of(self, cut: Cut) -> list[str]:
        """What to take care of at a cut: all that its tube's sheet says, but for other cuts."""
        other = "start" if cut.end == "end" else "end"
        saw = f"{cut.end}, {cut.saw:g} mm saw"
        return self._coarse(cut) + [
            words
            for words in self.sheet.warnings
            if not words.startswith((f"{other},", f"{other}:"))
            and (words.startswith(saw) or not words.startswith(f"{cut.end},"))
        ]

    def _coarse(self, cut: Cut) -> list[str]:
        within, step = self.care[cut.number - 1].tilt_within, self.sheet.gauge_step
        if within is None or cut.tilt == 0.0 or step / 2 <= within:
            return []
        return [
            f"the gauge's step of {step:g}° is coarser than this joint allows, ±{within:.2f}°: set "
            "the tilt by the far end's height, or a sine bar"
        ]


@dataclass(frozen=True)
class ShopPages:
    """Everything, in the order of the pages."""

    job: str
    process: str
    cautions: tuple[str, ...]
    saws: tuple[SawChoice, ...]
    tubes: tuple[TubePages, ...]
    jig_tubes: tuple[JigTube, ...]
    jig_joints: tuple[JigJoint, ...]
    trim: TrimPlan | None  # of the tubes that come from the tube list
    failing: str  # what `frame3d check` fails on besides what these pages tell; "" where nothing

    @property
    def warnings(self) -> dict[str, list[str]]:
        """What to know before tubes go into the vise, each with the tubes that it is said of."""
        found: dict[str, list[str]] = {}
        for tube in self.tubes:
            for words in tube.sheet.warnings:
                found.setdefault(words, []).append(tube.sheet.tube)
        return found

    @property
    def conflicts(self) -> list[str]:
        """What holes run into, each with its tube."""
        return [f"{t.sheet.tube}: {words}" for t in self.tubes for words in t.drilling.conflicts]

    @property
    def stopped(self) -> list[str]:
        """Tubes that must not be cut, and why."""
        return [f"{t.sheet.tube}: {words}" for t in self.tubes for words in t.stop]

    def as_json(self) -> dict[str, object]:
        """Every number of every page under its name with its unit, and what each name means."""
        kinds = (
            *(SawChoice, Alternative, TubePages, TubeSheet, BendRow, Seat, Cut),
            *(Speed, Measures, Arm, Drilling, DrillHole, SlotCut, Vent, Care, JigTube, JigJoint),
        )
        body = as_json(replace(self, trim=None))
        body["trim"] = self.trim.as_json() if self.trim else None
        return {"format": FORMAT, **body, "meaning": {**meanings(*kinds), **MEANINGS}}


def _apart(sheet: TubeSheet) -> float | None:
    """Between the last cuts at both ends, 0 up to 180; None where one end is not cut here, and of
    a bent tube, whose ends have no common axis."""
    ends = {cut.end: cut.line_up for cut in sheet.cuts}
    if len(ends) < 2 or sheet.bends:
        return None
    apart = angle((ends["end"] - ends["start"]) % 180.0)
    return 0.0 if apart >= 180.0 else apart


def shop_pages(
    frame: Frame, copes: Copes, told: Judged, done: Callable[[str], None] = lambda name: None
) -> ShopPages:
    """The pages of a frame and its ends. told: what its check says; done hears of each tube that
    is set up."""
    caring = Caring(frame, copes)
    tubes = []
    for tube in frame.tubes:
        sheet = tube_sheet(frame, tube, copes, raw_blank(tube))
        pace = tuple(
            speeds(frame.shop.mill, frame.shop.saw(c.saw), tube.material, tube.wall.greatest, c.run)
            for c in sheet.cuts
        )
        holes = drilling(frame, tube, copes, sheet.start_from_sawn)
        lengths = measures(frame, tube, copes)
        care, doubts = caring.of(sheet), doubt(frame, sheet, copes)
        stop = (*((doubts,) if doubts else ()), *told.stops.get(tube.name, ()))
        tubes.append(TubePages(sheet, pace, lengths, _apart(sheet), holes, care, stop))
        done(tube.name)
    jig_tubes, jig_joints = jig(frame)
    return ShopPages(
        frame.name,
        frame.process,
        CAUTIONS,
        saw_choices(frame),
        tuple(tubes),
        jig_tubes,
        jig_joints,
        told.trim,
        told.failing,
    )
