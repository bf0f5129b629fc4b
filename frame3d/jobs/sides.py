"""What is said once of a pair, "seat stay", and holds for the left and the right tube or plate."""

from collections.abc import Collection, Iterator, Sequence
from typing import TypeVar

from frame3d.jobs.validation import Table

Said = TypeVar("Said", bound=Table)


def on_both_sides(
    tables: Sequence[Said], names: Collection[str], angle: str
) -> Iterator[tuple[int, Said]]:
    """Tables of tubes or plates with their numbers, those of a pair once for each side: as they
    stand for the left one, and turned over for the right one, which is its mirror image.

    names: of all tubes and plates; angle: the key that changes its sign in a mirror
    """
    for index, table in enumerate(tables):
        said = {key: getattr(table, key, None) for key in ("tube", "plate")}
        pair = {
            key: name
            for key, name in said.items()
            if name and name not in names and {f"left {name}", f"right {name}"} <= set(names)
        }
        if not pair:
            yield index, table
            continue
        for side, sign in (("left", 1.0), ("right", -1.0)):
            own: dict[str, object] = {key: f"{side} {name}" for key, name in pair.items()}
            if (turned := getattr(table, angle)) is not None:
                own[angle] = sign * turned
            yield index, table.model_copy(update=own)
