"""The command line. Each command is a module of its own, imported only when it is called."""

import os
import signal
import sys
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from importlib import import_module
from types import FrameType
from typing import Any

import click

from frame3d import __version__

from .common import WIDTH, refuse
from .plain_letters import let_all_be_told

COMMANDS = {
    "new": "start a job: a commented job file and shop file that pass as they are",
    "explain": "what each key of job, shop and tube files means: unit, range, usual value",
    "schema": "print the JSON Schema of a file or of a --json, for editors and other programs",
    "geometry": "a bicycle's numbers: jig table, angles, handling, head and fork, rider",
    "check": "check every joint of a job: does it close, where not, and what would help",
    "errors": "what this shop's errors do to each joint: chance to close, care worth taking",
    "setup": "pages for the mill: the set-up of every cut, wraps, drilling, the jig table",
    "guides": "printable guides that lead saw and file along every cope",
    "filler": "tell how much filler each joint takes, and where closed tubes need a vent",
    "measured": "tell whether the tubes measured in a job's [[measured]] tables will close",
    "make": "write what a job yields into a folder: report and meshes, or everything",
    "preview": "look at a frame: a window, pictures, or a page that follows your edits",
    "share": "a page, a sheet, pictures and meshes for the customer, in one folder",
}

# Work is shared among cores by whole joints and tubes; numpy's matrix products are small, and
# threads of their own only wait for each other. Read when numpy is first imported.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")


class LazyGroup(click.Group):
    """Commands by name from COMMANDS; `frame3d --help` imports none of them."""

    def main(self, *args: Any, **kwargs: Any) -> Any:
        let_all_be_told()
        try:
            try:
                with _ended_in_order(), warnings.catch_warnings():
                    if not sys.warnoptions:  # of libraries, for their developers
                        warnings.simplefilter("ignore")
                    return super().main(*args, **kwargs)
            finally:
                sys.stdout.flush()
        except BrokenPipeError:  # who reads has read enough
            _let_go_of_output()
            sys.exit(1)
        except OSError as error:
            _let_go_of_output()
            refuse(f"{error.filename or 'what is told'}: cannot be used: {error.strerror}")

    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        if cmd_name not in COMMANDS:
            return None
        command = import_module(f".{cmd_name}", __package__).command
        assert isinstance(command, click.Command)
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        with formatter.section("Commands"):
            formatter.write_dl(list(COMMANDS.items()))


@contextmanager
def _ended_in_order() -> Iterator[None]:
    """SIGTERM rolls back what is half written, as Ctrl-C does, and takes worker processes along."""

    def end(number: int, frame: FrameType | None) -> None:
        sys.exit(128 + number)  # as shells tell it

    before = signal.signal(signal.SIGTERM, end)
    try:
        yield
    finally:
        signal.signal(signal.SIGTERM, before)


def _let_go_of_output() -> None:
    """What still waits to be written would fail again when Python ends."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


@click.group(
    cls=LazyGroup,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": WIDTH},
)
@click.version_option(__version__, prog_name="frame3d")
def main() -> None:
    """Model a frame of tubes, check that each joint closes, and make what the shop needs.

    Exit status: 0 all well; 1 the work was done and some joint or check fails; 2 the input cannot
    be used, and nothing was written.
    """
