"""What the commands share: reading a job, writing for people, and the exit status."""

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any, NoReturn

import click

if TYPE_CHECKING:
    from rich.console import Console
    from rich.progress import Progress

    from frame3d.build import Build

WIDTH = 100
FAILS, UNUSABLE = 1, 2

job_argument = click.argument("job", type=click.Path(path_type=Path))


class Folder(click.Path):
    """A folder to write into."""

    def __init__(self) -> None:
        super().__init__(path_type=Path, file_okay=False)

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        if value == "":
            self.fail('found "", expected the name of a folder; "." is the one you are in')
        return super().convert(value, param, ctx)


def out_option(default: str = "out") -> Callable[..., Callable[..., object]]:
    """The `-o` of all commands that write a folder."""
    return click.option(
        "-o",
        "--out",
        type=Folder(),
        default=Path(default),
        show_default=True,
        help="Folder to write into; it appears whole or not at all.",
    )


def refuse(problem: str) -> NoReturn:
    """Say in one message why the input cannot be used, and stop."""
    from frame3d.letters import message

    click.echo(f"frame3d: {message(problem)}", err=True)
    sys.exit(UNUSABLE)


def open_or_refuse(job: Path) -> "Build":
    """Open a job; what cannot be used is said and ends the command."""
    import frame3d
    from frame3d.jobs import JobError

    try:
        return frame3d.open(job)
    except JobError as error:
        refuse(str(error))


@contextmanager
def whole_or_refuse(out: Path) -> Iterator[Path]:
    """A temporary folder whose contents move to `out` when all is written."""
    from frame3d.output_folder import whole_folder

    try:
        with whole_folder(out) as folder:
            yield folder
    except OSError as error:
        for place in (out.absolute(), *out.absolute().parents):
            if place.is_file():
                refuse(f"{out}: cannot be written: {place} is a file, expected a folder")
        refuse(f"{error.filename or out}: cannot be written: {error.strerror or error}")


def tell_missing_pictures() -> None:
    """Say once why all has been written but the pictures, where nothing here can draw."""
    from frame3d.view.renderer import no_renderer

    if reason := no_renderer():
        click.echo(f"frame3d: written without pictures: {reason}", err=True)


def console(*, err: bool = False) -> "Console":
    """For people: colours on a terminal only, and never wider than 100 columns."""
    from rich.console import Console

    found = Console(stderr=err, highlight=False)
    width = found.width if found.is_terminal else WIDTH
    return Console(stderr=err, highlight=False, width=min(width, WIDTH))


def counted(count: int, one: str, many: str = "") -> str:
    """A count and its noun: "1 file", "2 files"; many: a plural that is more than an s."""
    return f"{count} {one if count == 1 else many or one + 's'}"


def plain(value: float, digits: int) -> str:
    """A number with so many decimals; what rounds to zero has no sign."""
    return f"{round(value, digits) + 0.0:.{digits}f}"


@contextmanager
def progress(total: int, what: str) -> Iterator[Callable[[str], None]]:
    """A bar on the terminal that goes away when done; `advance(name)` moves it one step."""
    if not sys.stderr.isatty():
        yield lambda name: None
        return
    with _bar() as bar:
        task = bar.add_task(what, total=total)

        def advance(name: str) -> None:
            bar.update(task, advance=1, description=f"{what}: {name[:40]}")

        yield advance


@contextmanager
def progress_count(total: int, what: str) -> Iterator[Callable[[int], None]]:
    """A bar on the terminal for countless small steps; `advance(count)` moves it by so many."""
    if not sys.stderr.isatty():
        yield lambda count: None
        return
    with _bar() as bar:
        task = bar.add_task(what, total=total)
        yield lambda count: bar.advance(task, count)


def _bar() -> "Progress":
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn

    return Progress(
        TextColumn("{task.description}", markup=False),  # a tube may be named "[/]"
        BarColumn(),
        MofNCompleteColumn(),
        console=console(err=True),
        transient=True,
    )
