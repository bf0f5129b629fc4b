"""One job, evaluated once: its frame, and all that follows from it.

Each result is worked out when it is first asked for, and kept; commands, pages, pictures and Python
read the same ones. Of an edited job only what the edit touches is worked out again.
"""

from collections.abc import Callable, Hashable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from functools import cached_property, partial
from pathlib import Path
from typing import TYPE_CHECKING

from frame3d.bicycle.bought_part_fits import part_fits
from frame3d.bicycle.facts import BicycleFacts, facts
from frame3d.bicycle.from_job import bicycle_frame, read_plan
from frame3d.bicycle.wheels import with_wheels
from frame3d.cache import Cache
from frame3d.check.frame_check import Judged, judged, sections_of
from frame3d.check.gap_limit import gap_limit
from frame3d.check.joint_report import joint_report, plate_report, tube_report
from frame3d.check.report import JointReport, Report
from frame3d.check.saw_choice import with_shop_saws
from frame3d.jobs import frame_of, read_tables
from frame3d.jobs.measurement_checks import check_measured_saws
from frame3d.model import ENDS, End, Frame
from frame3d.solids.facets import CHORD_MM
from frame3d.solids.finished_plate import finished_plate
from frame3d.solids.frame_solids import Solids, clashes, cut_tube
from frame3d.surfaces.cope import Copes, copes_of

if TYPE_CHECKING:
    from frame3d.guides.plan import Printed, Refused
    from frame3d.mill.pages import ShopPages
    from frame3d.scan.registration import ScanFit
    from frame3d.tolerance.budget import Budget
    from frame3d.view.scene import Piece, Scene
    from frame3d.view.side_drawing import Drawing
    from frame3d.view.version import Version

Done = Callable[[str], None]


def _nobody(name: str) -> None:
    """Nobody hears how far the work is."""


class Build:
    """A frame and all that follows from it.

    frame: tubes and joints, with how each end is cut
    facts: what a bicycle's numbers come to, None of a job without [bicycle]
    chord: chord error of the solids that the report measures, mm
    """

    def __init__(
        self,
        frame: Frame,
        facts: BicycleFacts | None = None,
        chord: float = CHORD_MM,
        cache: Cache | None = None,
    ) -> None:
        self.frame = frame
        self.facts = facts
        self.chord = chord
        self.cache = Cache() if cache is None else cache

    @classmethod
    def of_job(
        cls, job: str | Path, after: "Build | None" = None, chord: float | None = None
    ) -> "Build":
        """Read a job file, and the shop and tube files that it names.

        after: the build of the same job before an edit. Raises JobError for a file that cannot be
        used.
        """
        cache = Cache(after.cache if after else None)
        with cache.active():
            frame, told = _read(job)
        chord = chord or (after.chord if after else CHORD_MM)
        return cls(frame, told, chord, cache)

    @cached_property
    def copes(self) -> Copes:
        """The exact shapes of all ends that are coped, by tube and end."""
        with self.cache.active():
            return copes_of(self.frame)

    def solids(self, chord: float | None = None, done: Done = _nobody) -> Solids:
        """Every tube and plate as a finished solid. chord: chord error of the facets, mm; done
        hears the name of each tube."""
        chord = self.chord if chord is None else chord
        with self._made() as made:
            tubes = {}
            for tube in self.frame.tubes:
                key = ("solid", *self._finish(tube.name), chord)
                tubes[tube.name] = made(key, partial(cut_tube, self.frame, tube, self.copes, chord))
                done(tube.name)
            plates = {
                plate.name: made(("plate", plate, chord), partial(finished_plate, plate, chord))
                for plate in self.frame.plates
            }
        return Solids(tubes, plates)

    @cached_property
    def joints(self) -> tuple[JointReport, ...]:
        """The fit of every joint."""
        frame = self.frame
        with self._made() as made:
            return tuple(
                made(
                    (
                        "joint",
                        joint,
                        tuple(self._finish(name) for name in (joint.tube, *joint.onto)),
                        gap_limit(frame, joint),
                        frame.limits,
                        frame.shop.saws,
                    ),
                    partial(joint_report, frame, joint, self.copes),
                )
                for joint in frame.joints
            )

    @cached_property
    def draft(self) -> Report:
        """The report of tubes, plates and joints, before all else is checked."""
        solids = self.solids()
        with self._made() as made:
            tubes = tuple(
                made(("tube", solid), partial(tube_report, solid, self.copes))
                for solid in solids.tubes.values()
            )
            plates = tuple(
                made(("plate report", plate), partial(plate_report, plate))
                for plate in solids.plates.values()
            )
        return Report(self.frame, tubes, self.joints, (), plates=plates, facts=self.facts)

    @cached_property
    def report(self) -> Report:
        """All that is checked of the frame."""
        frame, solids = self.frame, self.solids()
        parts = tuple(solids.parts.values())
        with self._made() as made:
            key = "clashes", parts, frame.joints, frame.limits
            found = made(key, partial(clashes, frame, solids))
            report = replace(self.draft, clashes=tuple(found))
            # All that they depend on, but for names.
            of = parts, frame.show.parts, frame.room, frame.fits
            all_of = "sections", *of, frame.holes, frame.joints, frame.process, frame.shop
            sections = made(all_of, partial(sections_of, report, self.copes, solids))
        return replace(report, sections=sections)

    @cached_property
    def judged(self) -> Judged:
        """What stands against cutting each tube, and what else the check fails on."""
        return judged(self.report)

    def pages(self, done: Done = _nobody) -> "ShopPages":
        """All numbers of the mill's pages; done hears the name of each tube."""
        from frame3d.mill.pages import shop_pages

        with self._made() as made:
            make = partial(shop_pages, self.frame, self.copes, self.judged, done)
            return made(("pages", self.frame), make)

    def odds(self, samples: int = 10000, seed: int = 1) -> "Budget":
        """The chance that each joint closes, of so many set-ups drawn at random with the shop's
        errors, and what to halve. Raises ValueError where no joint can be drawn."""
        from frame3d.tolerance.budget import error_budget
        from frame3d.tolerance.setup_errors import spreads_in

        spreads = spreads_in(self.frame.shop)
        return error_budget(self.frame, self.copes, spreads, samples, seed)

    def scanned(self, scan: str | Path, tube: str, end: End) -> "ScanFit":
        """The fit of a coped end as it was scanned. Raises ScanError where the scan does not show
        it, KeyError for an end that is not coped."""
        from frame3d.scan.read import read_scan
        from frame3d.scan.registration import fit_scan

        whole = read_scan(Path(scan))
        return fit_scan(whole.points, self.copes[tube, end], whole.part)

    def guides(self) -> "tuple[list[Printed], list[Refused]]":
        """Printable guides of all coped ends, and the ends without one. Raises GuideError where
        the printer's settings cannot be used."""
        from frame3d.guides.plan import printed_guides

        return printed_guides(self.frame)

    def write_meshes(self, folder: str | Path) -> None:
        """Write meshes/<part>.stl, frame.3mf and frame.glb into a folder that is there."""
        from frame3d.mesh.mesh_files import write_meshes

        write_meshes(self.solids(), Path(folder), self.frame.show)

    @cached_property
    def scene(self) -> "Scene":
        """What is to be seen of the frame."""
        from frame3d.view.colours import GapScale
        from frame3d.view.dimensions import bicycle_dimensions, nodes_of, tube_dimension
        from frame3d.view.part_bodies import ghosts_of, plate_body
        from frame3d.view.scene import VIEW_CHORD_MM, Scene, collar_of

        frame, copes, solids = self.frame, self.copes, self.solids(VIEW_CHORD_MM)
        with self._made() as made:
            collars = tuple(
                made(
                    ("collar", copes[joint.tube, joint.end], gap_limit(frame, joint)),
                    partial(collar_of, copes[joint.tube, joint.end], gap_limit(frame, joint)),
                )
                for joint in frame.joints
                if (joint.tube, joint.end) in copes
            )
            shown = frame.show.parts
            ghosts = made(("parts", shown), partial(ghosts_of, shown))
            plates = tuple(
                made(("plate body", plate, frame.show.paint), partial(plate_body, frame, plate))
                for plate in solids.plates.values()
            )
            dimensions = tuple(
                made(
                    ("dimension", self._finish(told.name)),
                    partial(tube_dimension, frame.tube(told.name), copes, told.length),
                )
                for told in self.draft.tubes
            )
            pieces = tuple(
                self._piece(solids, name) for name in solids.tubes if name in solids.metal
            )
        scale = GapScale.around([collar.limit for collar in collars])
        if self.facts:
            dimensions = (*bicycle_dimensions(self.facts), *dimensions)
        nodes = nodes_of(frame)
        return Scene(frame.name, pieces, collars, scale, ghosts, dimensions, nodes, plates)

    @cached_property
    def drawing(self) -> "Drawing":
        """The frame from the side, with its dimensions."""
        from frame3d.view.scene import VIEW_CHORD_MM
        from frame3d.view.side_drawing import outline_of, side_drawing

        scene, solids = self.scene, self.solids(VIEW_CHORD_MM)
        colours = {part.name: part.colour for part in scene.bodies(ghosts=False)}
        with self._made() as made:
            outlines = [
                made(("outline", part, colours[name]), partial(outline_of, part, colours[name]))
                for name, part in solids.metal.items()
            ]
        wheels = [part for part in self.frame.show.parts if part.kind == "wheel"]
        circles = tuple((part.centre[0], part.centre[2], part.radius) for part in wheels)
        return side_drawing(scene, outlines, circles)

    def version(self, gaps: bool = False, judged: bool = True) -> "Version":
        """The frame for a page, a window or a sheet. gaps: with the shop's own numbers; judged:
        with all that is checked, or with the joints alone so far."""
        from frame3d.view.spec_tables import fit_sheet, spec_of
        from frame3d.view.version import Version

        report = self.report if judged else self.draft
        sheets = (*spec_of(report), *((fit_sheet(report),) if gaps else ()))
        found = Version(self.frame, self.scene, report, self.drawing, sheets, gaps, judged)
        if judged:
            self.cache.finish()
        return found

    def _piece(self, solids: Solids, name: str) -> "Piece":
        from frame3d.view.scene import drawn, piece_of

        frame, solid = self.frame, solids.tubes[name]
        mesh = self.cache(("mesh", solid), partial(drawn, solid))
        coped = tuple(end for end in ENDS if frame.joint_at(name, end))
        colour = frame.show.colour(name, "")
        return self.cache(("piece", mesh, coped, colour), partial(piece_of, frame, name, mesh))

    def _finish(self, name: str) -> tuple[Hashable, ...]:
        """All that a finished tube depends on. Copes are cached: equal ones are the same."""
        frame = self.frame
        holes = tuple(hole for hole in frame.holes if hole.tube == name)
        ends = tuple(self.copes.get((name, end)) for end in ENDS)
        return (frame.tube(name), tuple(frame.shapes_of(name)), holes, ends)

    @contextmanager
    def _made(self) -> Iterator[Cache]:
        with self.cache.active():
            yield self.cache


def _read(job: str | Path) -> tuple[Frame, BicycleFacts | None]:
    """A job's frame, with how each end is cut, and what a bicycle's numbers say."""
    read = read_tables(job)
    if read.tables.bicycle is None and read.tables.rider is None:
        frame = with_shop_saws(frame_of(read))
        check_measured_saws(read, frame.joints)
        return frame, None
    plan = read_plan(read)
    frame = with_shop_saws(bicycle_frame(read, plan))
    check_measured_saws(read, frame.joints)
    fits = part_fits(plan.bicycle, frame.tubes, frame.plates)
    frame = replace(with_wheels(frame, plan.bicycle), fits=fits)
    return frame, facts(plan, frame.tubes)
