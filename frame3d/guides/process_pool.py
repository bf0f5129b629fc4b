"""Work spread over the machine's cores: each item to a process of its own, results in order."""

import copyreg
import os
import sys
import threading
import warnings
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import ProcessPoolExecutor
from contextlib import contextmanager
from multiprocessing import get_context, parent_process
from typing import Any, TypeVar

from manifold3d import CrossSection, Manifold

from frame3d.solids.rings import arrays, solid

FEW = 4  # items that are done before other processes have started
MOST = 61  # processes of one pool: Windows waits for no more (concurrent.futures)
Item = TypeVar("Item")
Result = TypeVar("Result")
# As the builtin `map` over one iterable. The function and all it holds must be picklable.
Spread = Callable[[Callable[[Any], Any], Iterable[Any]], Iterator[Any]]


@contextmanager
def spread(items: int) -> Iterator[Spread]:
    """A `map` over all cores; the builtin one where there is one core or few `items`.

    Processes are started anew rather than forked, which works everywhere and with the kernel's own
    threads; a script that calls this needs the usual `if __name__ == "__main__":`.
    """
    cores = min(os.cpu_count() or 1, items, MOST)
    if cores == 1 or items <= FEW:
        yield map
        return
    pool = ProcessPoolExecutor(cores, mp_context=get_context("spawn"), initializer=_ready)
    try:
        yield pool.map
    finally:
        pool.shutdown(cancel_futures=True)


def _ready() -> None:
    """Reading this module has told the process how solids travel; it ends with its parent, even
    with a killed one."""
    if not sys.warnoptions:  # of libraries, for their developers
        warnings.simplefilter("ignore")
    threading.Thread(target=_end_with_parent, daemon=True).start()


def _end_with_parent() -> None:
    if parent := parent_process():
        parent.join()
        os._exit(1)


def _no_solid() -> Manifold:
    return Manifold()


def _pack_solid(body: Manifold) -> tuple[Callable[..., Manifold], tuple[Any, ...]]:
    if body.is_empty():
        return _no_solid, ()
    return solid, arrays(body)


def _pack_section(section: CrossSection) -> tuple[type[CrossSection], tuple[Any, ...]]:
    return CrossSection, (section.to_polygons(),)


copyreg.pickle(Manifold, _pack_solid)
copyreg.pickle(CrossSection, _pack_section)
