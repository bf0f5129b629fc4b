"""Work for many joints on all cores."""

from collections.abc import Callable, Iterable
from concurrent.futures import Executor
from dataclasses import dataclass
from typing import TypeVar

from frame3d.tolerance.simulate import Key

Found = TypeVar("Found")


@dataclass(frozen=True)
class Crew:
    """All cores; `done` hears of the set-ups that their work comes to."""

    pool: Executor
    done: Callable[[int], None] = lambda count: None

    def each(
        self, work: Callable[[Key], Found], keys: Iterable[Key], set_ups: int = 0
    ) -> dict[Key, Found]:
        def one(key: Key) -> Found:
            found = work(key)
            self.done(set_ups)
            return found

        keys = list(keys)
        return dict(zip(keys, self.pool.map(one, keys), strict=True))
