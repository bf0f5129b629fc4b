"""What was made from equal values is made once.

A cache belongs to one build of a job. The build of the same job after an edit begins with what the
last one made, so that only what the edit touches is made again.
"""

from collections import Counter
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


class Cache:
    """Values by keys that are equal where they would be the same.

    made: how often something had to be made, by the first word of its key.
    """

    def __init__(self, last: "Cache | None" = None) -> None:
        """last: the cache of the build before an edit; what it holds is at hand, and kept where
        it is asked for."""
        self._last: dict[Hashable, _Made] = {} if last is None else last._left()
        self._now: dict[Hashable, _Made] = {}
        self._asked: list[Hashable] = []  # for what is being made now
        self._finished = False
        self.made: Counter[str] = Counter()

    def finish(self) -> None:
        """All of the build is made: what it did not ask for is forgotten by the next one."""
        self._finished = True
        self._last = {}

    def _left(self) -> dict[Hashable, _Made]:
        return {**self._last, **self._now}

    @contextmanager
    def active(self) -> Iterator[None]:
        """Meanwhile `cached` functions use this cache."""
        token = _ACTIVE.set(self)
        try:
            yield
        finally:
            _ACTIVE.reset(token)

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
            self.made[str(key[0])] += 1
        found: T = self._now[key].value
        return found

    def _keep(self, key: Hashable) -> None:
        """What the last build made for a key, and all that it was made from."""
        if key not in self._now and key in self._last:
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


_ACTIVE: ContextVar[Cache | None] = ContextVar("cache", default=None)


def cached(make: Callable[P, T]) -> Callable[P, T]:
    """While a cache is active, call `make` once for equal arguments. They have to be hashable
    values, and what it makes must never be changed."""

    @wraps(make)
    def from_cache(*args: P.args, **kwargs: P.kwargs) -> T:
        cache = _ACTIVE.get()
        if cache is None:
            return make(*args, **kwargs)
        key = (make.__name__, make, args, *sorted(kwargs.items()))
        return cache(key, partial(make, *args, **kwargs))

    return from_cache


def each_cached(
    word: str, ones: Sequence[K], made_with: Hashable, make: Callable[[Sequence[K]], Sequence[T]]
) -> list[T]:
    """What `make` makes of several at once; while a cache is active, only of those that are new."""
    cache = _ACTIVE.get()
    return list(make(ones)) if cache is None else cache.each(word, ones, made_with, make)
