"""Remember what was made from equal values, from one round of work to the next.

For work that is done again and again on almost the same job, such as live mode. Outside of such
rounds nothing is remembered.
"""

from collections.abc import Callable, Hashable, Iterator, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from functools import partial, wraps
from typing import Any, ParamSpec, TypeVar

P = ParamSpec("P")
T = TypeVar("T")
K = TypeVar("K", bound=Hashable)


@dataclass(frozen=True)
class _Made:
    """What was made, and the keys that were asked for meanwhile."""

    value: Any
    asked: Sequence[Hashable]


class Memo:
    """Remembers what was made in the last good round, with all that was made for it; what a round
    does not need is forgotten.

    made: how often something had to be made, by the first word of its key.
    """

    def __init__(self) -> None:
        self._last: dict[Hashable, _Made] = {}
        self._now: dict[Hashable, _Made] = {}
        self._asked: list[Hashable] = []  # for what is being made now
        self.made: dict[str, int] = {}

    @contextmanager
    def round(self) -> "Iterator[Memo]":
        """One round, in which `remembered` functions remember too. One that ends in an error
        changes nothing."""
        self._now, self.made, self._asked = {}, {}, []
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
        self._asked.append(key)
        if key in self._last:
            self._keep(key)
        elif key not in self._now:
            around, self._asked = self._asked, []
            try:
                self._now[key] = _Made(make(), self._asked)
            finally:
                self._asked = around
            word = str(key[0])
            self.made[word] = self.made.get(word, 0) + 1
        found: T = self._now[key].value
        return found

    def _keep(self, key: Hashable) -> None:
        """Into this round what the last one made for a key, and all that it was made from."""
        if key not in self._now:
            made = self._now[key] = self._last[key]
            for part in made.asked:
                self._keep(part)

    def each(
        self,
        word: str,
        ones: Sequence[K],
        made_with: Hashable,
        make: Callable[[Sequence[K]], Sequence[T]],
    ) -> list[T]:
        """The same for each of `ones`; those that are not known are made together."""
        keys = {one: (word, one, made_with) for one in ones}
        new = [one for one, key in keys.items() if key not in self._now and key not in self._last]
        made = dict(zip(new, make(new), strict=True)) if new else {}
        return [self(keys[one], partial(made.__getitem__, one)) for one in ones]


_ACTIVE: ContextVar[Memo | None] = ContextVar("memo", default=None)


def remembered(make: Callable[P, T]) -> Callable[P, T]:
    """Within a round, call `make` once for equal arguments. They have to be hashable values, and
    what it makes must never be changed."""

    @wraps(make)
    def from_memo(*args: P.args, **kwargs: P.kwargs) -> T:
        memo = _ACTIVE.get()
        if memo is None:
            return make(*args, **kwargs)
        key = (make.__name__, make, args, *sorted(kwargs.items()))
        return memo(key, partial(make, *args, **kwargs))

    return from_memo


def each_remembered(
    word: str, ones: Sequence[K], made_with: Hashable, make: Callable[[Sequence[K]], Sequence[T]]
) -> list[T]:
    """What `make` makes of several at once; within a round, only of those that are new."""
    memo = _ACTIVE.get()
    return list(make(ones)) if memo is None else memo.each(word, ones, made_with, make)
