"""A folder of outputs that appears whole or not at all."""

import os
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path


@contextmanager
def whole_folder(target: Path) -> Iterator[Path]:
    """A temporary folder beside `target` to write into; its contents move there when all is done.

    Files of the same names in `target` are replaced then; others are left alone. After an error
    nothing has changed.
    """
    parent = target.absolute().parent
    parent.mkdir(parents=True, exist_ok=True)
    scratch = Path(tempfile.mkdtemp(prefix=f".{target.name}-", dir=parent))
    try:
        yield scratch
        scratch.chmod(0o777 & ~_umask())  # mkdtemp makes it private
        if target.exists():
            _move_into(scratch, target)
        else:
            scratch.rename(target)
    finally:
        shutil.rmtree(scratch, ignore_errors=True)


def _move_into(source: Path, target: Path) -> None:
    target.mkdir(exist_ok=True)
    for item in source.iterdir():
        if item.is_dir():
            _move_into(item, target / item.name)
        else:
            os.replace(item, target / item.name)


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask
