"""A folder of outputs that appears whole or not at all."""

import json
import os
import re
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from errno import EISDIR
from pathlib import Path

from filelock import FileLock, Timeout

LOCK = "lock"  # whoever writes holds it
NEW, OLD = "new", "old"  # what is to move into the target, and what stood there
RECORD = "moving.json"  # what the move makes that was not there; stands while it goes on


@contextmanager
def whole_folder(target: Path) -> Iterator[Path]:
    """An empty folder to write into; its contents move to `target` when all is done.

    Files of the same names in `target` are replaced then; others are left alone. After an error or
    an interrupt nothing has changed. A process that is killed leaves its temporary folder, and may
    leave a move half done: the next call with the same target puts back what was there and removes
    the leftover. The temporary folder stands beside `target`, or in it where it is there already:
    it may be a disk of its own, to whose root nothing can be moved from outside.

    Raises OSError, which names a file by its place in `target`.
    """
    goal = target.absolute()
    parent = goal if goal.is_dir() else goal.parent
    parent.mkdir(parents=True, exist_ok=True)
    with _told_as(target):
        scratch, lock = _scratch(goal, parent)
        try:
            _tidy(goal, scratch)
            (scratch / NEW).mkdir()
            yield scratch / NEW
            _move(scratch, goal)
        finally:  # the disk says what is still to do
            _put_back(scratch, goal)
            _remove(scratch, lock)


@contextmanager
def _told_as(target: Path) -> Iterator[None]:
    """Name a file that cannot be used by its place in `target`, not in a hidden folder."""
    try:
        yield
    except OSError as error:
        if error.errno is None:
            raise
        named = Path(error.filename2 or error.filename or target)
        goal, ours = target.absolute(), _names(target.absolute())
        hidden = [k for k, part in enumerate(named.parts) if ours.fullmatch(part)]
        if hidden:
            inside = named.parts[hidden[0] + 1 :]
            named = target.joinpath(*inside[1:]) if inside[:1] == (NEW,) else target
        elif named.is_relative_to(goal):
            named = target / named.relative_to(goal)
        raise OSError(error.errno, error.strerror, str(named)) from error


def _names(goal: Path) -> "re.Pattern[str]":
    """The names of temporary folders, as mkdtemp makes them."""
    return re.compile(re.escape(f".{goal.name}-") + "[a-z0-9_]{8}")


def _scratch(goal: Path, parent: Path) -> tuple[Path, FileLock]:
    """A new hidden folder in `parent` and the lock that is held while it is in use."""
    while True:
        scratch = Path(tempfile.mkdtemp(prefix=f".{goal.name}-", dir=parent))
        lock = FileLock(scratch / LOCK)
        with suppress(FileNotFoundError):
            lock.acquire()
        if (scratch / LOCK).exists():  # else another process was quicker, and has removed it
            return scratch, lock
        lock.release()


def _tidy(goal: Path, own: Path) -> None:
    """Remove what killed processes of this user have left, once what they half moved is back."""
    user, ours = own.stat().st_uid, _names(goal)
    places = [place for place in {own.parent, goal.parent} if os.access(place, os.R_OK)]
    for scratch in [path for place in places for path in place.iterdir()]:
        if scratch == own or not ours.fullmatch(scratch.name):
            continue
        with suppress(OSError):
            scratch.rmdir()  # killed before it had a lock
        lock = FileLock(scratch / LOCK)
        try:
            if not (scratch / LOCK).exists() or scratch.stat().st_uid != user:
                continue
            lock.acquire(timeout=0)
        except (Timeout, OSError):  # somebody works there
            continue
        _put_back(scratch, goal)
        _remove(scratch, lock)


def _remove(scratch: Path, lock: FileLock) -> None:
    for part in (NEW, OLD, "."):  # the lock last, by which a leftover is known
        shutil.rmtree(scratch / part, ignore_errors=True)
    lock.release()
    shutil.rmtree(scratch, ignore_errors=True)  # Windows removes no file that is open


def _move(scratch: Path, goal: Path) -> None:
    """Move all files of scratch/new to the same places in `goal`, and end with its record removed;
    until then `_put_back` undoes whatever has been done. On Windows a file cannot be replaced while
    a program holds it open."""
    if not goal.exists():
        (scratch / NEW).rename(goal)
        return
    items = [path.relative_to(scratch / NEW) for path in sorted((scratch / NEW).rglob("*"))]
    fresh = [item.as_posix() for item in items if not os.path.lexists(goal / item)]
    (scratch / OLD).mkdir()
    draft = scratch / f"{RECORD}~"
    draft.write_text(json.dumps(fresh), encoding="utf-8")
    draft.replace(scratch / RECORD)
    for item in items:
        new, old, place = scratch / NEW / item, scratch / OLD / item, goal / item
        try:
            if new.is_dir():
                old.mkdir()
                place.mkdir(exist_ok=True)
            elif place.is_dir():
                raise IsADirectoryError(EISDIR, os.strerror(EISDIR), str(place))
            else:
                if os.path.lexists(place):
                    _keep(place, old)
                new.replace(place)
        except OSError as error:
            raise OSError(error.errno, error.strerror, str(place)) from error
    (scratch / RECORD).unlink()


def _keep(place: Path, old: Path) -> None:
    """Give a file a second name, so that it never goes from its place; where the disk has no such
    thing, it goes."""
    try:
        os.link(place, old, follow_symlinks=False)
    except (OSError, NotImplementedError):
        place.replace(old)


def _put_back(scratch: Path, goal: Path) -> None:
    """Undo a move that has not come to its end. It may be broken off anywhere and begun again."""
    if not (scratch / RECORD).exists():
        return
    for old in sorted((scratch / OLD).rglob("*")):
        if old.is_symlink() or not old.is_dir():
            old.replace(goal / old.relative_to(scratch / OLD))
    for name in reversed(json.loads((scratch / RECORD).read_text(encoding="utf-8"))):
        new, place = scratch / NEW / name, goal / name
        if new.is_dir():
            with suppress(OSError):  # not made yet, or somebody has put something in it
                place.rmdir()
        elif not new.exists():
            place.unlink(missing_ok=True)
    (scratch / RECORD).unlink()
