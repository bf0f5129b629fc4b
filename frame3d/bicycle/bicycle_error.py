"""What the builder is told when the numbers of a bicycle cannot be used."""

from collections.abc import Iterable

from frame3d.jobs.validation import nearest


class BicycleError(ValueError):
    """Numbers that make no bicycle. key: the key to look at first, where one can be named."""

    def __init__(self, message: str, key: str | None = None) -> None:
        super().__init__(message)
        self.key = key


def unknown_key(key: str, known: Iterable[str], what: str) -> BicycleError:
    """The error for a key that `what` does not have, with the nearest known one."""
    return BicycleError(f'{what} has no "{key}"; {nearest(key, known)}', key)


def listed(words: Iterable[str], last: str = "and") -> str:
    """a, b and c"""
    words = list(words)
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} {last} {words[-1]}"
