"""A folder of outputs that appears whole or not at all."""

import os
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from errno import EISDIR
from pathlib import Path


@contextmanager
def whole_folder(target: Path) -> Iterator[Path]:
    """A temporary folder to write into; its contents move to `target` when all is done.

    Files of the same names in `target` are replaced then; others are left alone. After an error
    nothing has changed. The temporary folder stands beside `target`, or in it where it is there
    already: it may be a disk of its own, to whose root nothing can be moved from outside.
    """
    parent = target.absolute() if target.is_dir() else target.absolute().parent
    parent.mkdir(parents=True, exist_ok=True)
    scratch = Path(tempfile.mkdtemp(prefix=f".{target.name}-", dir=parent))
    try:
        yield scratch
        scratch.chmod(0o777 & ~_umask())  # mkdtemp makes it private
        if target.exists():
            _move_into(scratch, target.absolute())
        else:
            scratch.rename(target)
    finally:
        shutil.rmtree(scratch, ignore_errors=True)


def _move_into(source: Path, target: Path) -> None:
    """Move all files of `source` to the same places in `target`, or, where one of them cannot be
    replaced (on Windows, because a program holds it open), none."""
    with tempfile.TemporaryDirectory(
        prefix=f".{target.name}-old-", dir=target, ignore_cleanup_errors=True
    ) as kept:
        moved: list[tuple[Path, Path | None]] = []  # what is in its place, and what was there
        made: list[Path] = []  # folders
        try:
            for number, item in enumerate(sorted(source.rglob("*"))):
                place = target / item.relative_to(source)
                if item.is_dir():
                    if not place.is_dir():
                        place.mkdir()
                        made.append(place)
                elif place.is_dir():
                    raise IsADirectoryError(EISDIR, os.strerror(EISDIR), str(place))
                else:
                    old = Path(kept) / str(number) if place.exists() else None
                    if old:
                        os.replace(place, old)
                        moved.append((place, old))
                    os.replace(item, place)
                    if not old:
                        moved.append((place, None))
        except BaseException:
            for place, old in reversed(moved):
                if old:
                    os.replace(old, place)
                else:
                    place.unlink()
            for place in reversed(made):
                place.rmdir()
            raise


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask
