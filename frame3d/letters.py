"""Which letters a font has, and what stands for the others."""

import unicodedata
from collections.abc import Set
from functools import cache
from pathlib import Path

NOT_JOINED = "\u200c"  # keeps two Arabic letters apart; it is not seen
# Unicode Technical Standard no. 51: emoji modifiers, Fitzpatrick types 1-2 to 6.
SKIN_TONES = "".join(map(chr, range(0x1F3FB, 0x1F400)))


def dejavu(bold: bool = False) -> Path:
    """DejaVu Sans, which comes with matplotlib: Latin, Greek, Cyrillic, Hebrew, Arabic."""
    from matplotlib import get_data_path

    name = "DejaVuSans-Bold.ttf" if bold else "DejaVuSans.ttf"
    return Path(get_data_path()) / "fonts" / "ttf" / name


@cache
def letters_of(font: Path) -> frozenset[int]:
    """Code points that a font can draw."""
    from matplotlib.ft2font import FT2Font

    return frozenset(FT2Font(str(font)).get_charmap())


def spelled(text: str, letters: Set[int]) -> str:
    """`text` as a font with those letters can draw it, accents joined to what they stand on.

    Of an emoji that is put together from several, each part is drawn by itself (a family as its
    people, a flag as its letters), without the marks that join and tint them. Any other character
    that the font lacks becomes its Unicode name: "[thai character ko kai]".
    """
    return "".join(_spelled(letter, letters) for letter in unicodedata.normalize("NFC", text))


def _spelled(letter: str, letters: Set[int]) -> str:
    kind = unicodedata.category(letter)
    if letter in SKIN_TONES or (kind in ("Cf", "Cs", "Mn", "Me") and letter != NOT_JOINED):
        return ""
    if kind == "Cc":
        return " "
    if ord(letter) in letters:
        return letter
    return f"[{unicodedata.name(letter, f'U+{ord(letter):04X}').lower()}]"
