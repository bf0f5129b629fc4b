"""Remember what was made from equal values, from one round of work to the next.

For work that is done again and again on almost the same job, such as live mode. Outside of such
rounds nothing is remembered.
"""

from collections.abc import Callable, Hashable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from functools import partial, wraps
from typing import Any, ParamSpec, TypeVar

P = ParamSpec("P")
T = TypeVar("T")


class Memo:
    """Remembers what was made in the last good round; what a round does not ask for is forgotten.

    made: how often something had to be made, by the first word of its key.
    """

    def __init__(self) -> None:
        self._last: dict[Hashable, Any] = {}
        self._now: dict[Hashable, Any] = {}
        self.made: dict[str, int] = {}

    @contextmanager
    def round(self) -> "Iterator[Memo]":
        """One round, in which `remembered` functions remember too. One that ends in an error
        changes nothing."""
        self._now, self.made = {}, {}
        token = _ACTIVE.set(self)
        try:
            yield self
            self._last = self._now
        finally:
            _ACTIVE.reset(token)
            self._now = {}

    def __call__(self, key: tuple[Hashable, ...], make: Callable[[], T]) -> T:
        """What was made for an equal key, or else what `make` makes. key: begins with a word that
        says what it is."""
        if key not in self._now:
            if key in self._last:
                self._now[key] = self._last[key]
            else:
                self._now[key] = make()
                word = str(key[0])
                self.made[word] = self.made.get(word, 0) + 1
        found: T = self._now[key]
        return found


_ACTIVE: ContextVar[Memo | None] = ContextVar("memo", default=None)


def remembered(make: Callable[P, T]) -> Callable[P, T]:
    """Within a round, call `make` once for equal arguments. They have to be hashable values, and
    what it makes must never be changed."""

    @wraps(make)
    def from_memo(*args: P.args, **kwargs: P.kwargs) -> T:
        memo = _ACTIVE.get()
        if memo is None:
            return make(*args, **kwargs)
        key = (make.__name__, args, *sorted(kwargs.items()))
        return memo(key, partial(make, *args, **kwargs))

    return from_memo
