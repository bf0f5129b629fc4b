"""What the builder is told when the numbers of a bicycle cannot be used."""

import difflib
import re
from collections.abc import Iterable


class BicycleError(ValueError):
    """Numbers that make no bicycle. key: the key to look at first, where one can be named."""

    def __init__(self, message: str, key: str | None = None) -> None:
        super().__init__(message)
        self.key = key


def unknown_key(key: str, known: Iterable[str], what: str) -> BicycleError:
    """The error for a key that `what` does not have, with the nearest known one: the same words and
    numbers in another order, else the likest."""
    known = list(known)
    turned = [other for other in known if _words(other) == _words(key)]
    near = turned or difflib.get_close_matches(key, known, n=1, cutoff=0.5)
    hint = f'; did you mean "{near[0]}"?' if near else f"; it has {', '.join(known)}"
    return BicycleError(f'{what} has no "{key}"{hint}', key)


def _words(key: str) -> list[str]:
    return sorted(re.findall(r"\d+(?:\.\d+)?|[a-z]+", key.lower()))


def listed(words: Iterable[str], last: str = "and") -> str:
    """a, b and c"""
    words = list(words)
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} {last} {words[-1]}"
