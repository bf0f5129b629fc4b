"""frame3d preview: see a frame, in a window, as a picture, or on a page that follows the files."""

import re
import time
from pathlib import Path
from typing import TYPE_CHECKING

import click

from .common import console, job_argument, open_or_refuse, refuse
from .verdict import end_with

if TYPE_CHECKING:
    from frame3d.view.scene import Collar
    from frame3d.view.stage import Shown
    from frame3d.view.version import Version
    from frame3d.web.live import Live

VIEWS = ("three-quarter", "side", "front", "top")
PICTURE, WINDOW = (1600, 1000), (1280, 860)  # pixels
MOST_PIXELS = 6000  # smooth edges take more inside; at 8000 the software renderer draws nothing


def _size(
    ctx: click.Context, parameter: click.Parameter, value: str | None
) -> tuple[int, int] | None:
    if value is None:
        return None
    found = re.fullmatch(r"(\d{2,5})x(\d{2,5})", value)
    if not found or max(int(found[1]), int(found[2])) > MOST_PIXELS:
        expected = f"expected pixels such as 1600x1000, {MOST_PIXELS} at most either way"
        raise click.BadParameter(f"found {value!r}, {expected}")
    return int(found[1]), int(found[2])


def _png(ctx: click.Context, parameter: click.Parameter, value: Path | None) -> Path | None:
    if value is not None and value.suffix.lower() != ".png":
        raise click.BadParameter(f'found "{value}", expected a file name that ends in .png')
    return value


@click.command("preview")
@job_argument
@click.option(
    "--png",
    type=click.Path(path_type=Path, dir_okay=False),
    callback=_png,
    help="Draw a picture into this file.",
)
@click.option("--view", type=click.Choice(VIEWS), default=VIEWS[0], help="From where to look.")
@click.option("--joint", metavar="TUBE:END", help='One joint close up, e.g. "top tube:start".')
@click.option("--gaps", is_flag=True, help="Colour each joint by its gap, with the scale in mm.")
@click.option("--apart", is_flag=True, help="Draw each coped end back, so that its cope shows.")
@click.option("--section", is_flag=True, help="Cut the frame open along its middle.")
@click.option("--dimensions", is_flag=True, help="Write lengths, and a bicycle's measures.")
@click.option("--nodes", is_flag=True, help="Write at each crossing of axes which tubes meet.")
@click.option("--names", is_flag=True, help="Write the tubes' names on them.")
@click.option("--no-parts", is_flag=True, help="Leave out wheels and other parts.")
@click.option("--transparent", is_flag=True, help="No background in the picture.")
@click.option("--size", callback=_size, help="In pixels; 1600x1000 for a picture.")
@click.option(
    "--live", is_flag=True, help="Follow the job and shop files, in the window and on a local page."
)
@click.option("--port", type=click.IntRange(0, 65535), default=0, help="Of the local page.")
def command(
    job: Path,
    png: Path | None,
    view: str,
    joint: str | None,
    gaps: bool,
    apart: bool,
    section: bool,
    dimensions: bool,
    nodes: bool,
    names: bool,
    no_parts: bool,
    transparent: bool,
    size: tuple[int, int] | None,
    live: bool,
    port: int,
) -> None:
    """Show JOB: all tubes with their real walls and copes, and the gap of each joint in colour.

    Opens a window; its keys stand in it. With --png it draws a picture instead, which needs no
    display. With --live it redraws on every save; a bad edit is told, the last good frame stays.
    Exit status 1 where a joint fails; the picture is drawn all the same.
    """
    from frame3d.view.renderer import has_display
    from frame3d.view.stage import Shown

    shown = Shown(
        gaps=gaps or joint is not None or png is None,
        ghosts=not no_parts,
        dimensions=dimensions,
        nodes=nodes,
        names=names,
        explode=1.0 if apart else 0.0,
        section=section,
    )
    if png is not None:
        if live:
            refuse("--live draws no file: expected --png or --live, not both")
        _picture(job, png, view, joint, shown, size or PICTURE, transparent)
        return
    if transparent:
        refuse("--transparent is for a picture: expected --png FILE with it")
    if not live and not has_display():
        open_or_refuse(job)
        refuse(
            "there is no display to open a window on; draw a picture with "
            f'"frame3d preview {job} --png frame.png", or follow the files in a browser with --live'
        )
    if live:
        _live(job, port, view, joint, shown, size or WINDOW)
        return
    from frame3d.view.window import Window, run

    version = open_or_refuse(job).version(gaps=True)
    window = Window(version, shown, view, size or WINDOW)  # type: ignore[arg-type]
    if joint is not None:
        window.pick_joint(_collar(version, joint))
    run(window)
    end_with([version])


def _picture(
    job: Path,
    png: Path,
    view: str,
    joint: str | None,
    shown: "Shown",
    size: tuple[int, int],
    transparent: bool,
) -> None:
    import os
    import tempfile

    from frame3d.view.pictures import close_up, picture
    from frame3d.view.renderer import NoRendererError

    version = open_or_refuse(job).version()
    scene = version.scene
    collar = None if joint is None else _collar(version, joint)
    try:
        png.absolute().parent.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(suffix=".png", dir=png.absolute().parent)
        os.close(handle)
        scratch = Path(name)
        try:
            if collar is not None:
                close_up(scene, collar, scratch, shown, size, transparent)
            else:
                picture(scene, scratch, view, shown, size, transparent)  # type: ignore[arg-type]
            scratch.chmod(0o644)
            os.replace(scratch, png)
        finally:
            scratch.unlink(missing_ok=True)
    except OSError as error:
        refuse(f"{png}: cannot be written: {error.strerror}")
    except NoRendererError as error:
        refuse(str(error))
    console().print(f"written to {png}", markup=False)
    end_with([version])


def _collar(version: "Version", joint: str) -> "Collar":
    """The gap strip of the joint that --joint names, as check --end names an end."""
    known = {f"{c.tube}:{c.end}": c for c in version.scene.collars}
    found = known.get(joint)
    if found is None:
        refuse(f'--joint: found "{joint}", expected one of: {"; ".join(known) or "none"}')
    return found


def _live(
    job: Path, port: int, view: str, joint: str | None, shown: "Shown", size: tuple[int, int]
) -> None:
    from frame3d.jobs import JobError
    from frame3d.view.renderer import has_display
    from frame3d.view.window import Window, run
    from frame3d.web.live import Live
    from frame3d.web.server import served

    try:
        live = Live(job)
    except JobError as error:
        refuse(str(error))
    people = console()
    try:
        with served(live, port) as address:
            text = f"follows {job} at {address} (this machine only); Ctrl-C ends it"
            people.print(text, markup=False)
            people.print(live.version.verdict, markup=False)
            if has_display():
                window = Window(live.version, shown, view, size)  # type: ignore[arg-type]
                if joint is not None:
                    window.pick_joint(_collar(live.version, joint))

                def news() -> bool:
                    fresh = _told(live)
                    if fresh:
                        window.replace(live.version, live.fault)
                    return fresh

                run(window, news)
                return
            while True:
                _told(live)
                time.sleep(0.01)
    except KeyboardInterrupt:
        return
    except OSError as error:
        refuse(f"--port {port}: cannot be used: {error.strerror}")


def _told(live: "Live") -> bool:
    """Look at the files, and say what is new on the terminal; a frame once all is checked."""
    began = time.perf_counter()
    if not live.look():
        return False
    spent = time.perf_counter() - began
    people = console()
    if live.fault:
        people.print(live.fault, markup=False)
    elif live.version.judged:
        people.print(f"checked in {spent:.2f} s: {live.version.verdict}", markup=False)
    else:
        people.print(f"redrawn in {spent:.2f} s", markup=False)
    return True
