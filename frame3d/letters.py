"""Which letters a font has, and what stands for the others."""

import unicodedata
from collections.abc import Set
from functools import cache
from pathlib import Path

# Without a mark of their own, but words need them: the two joiners, as in Persian and in emoji that
# are put together from several (Unicode Standard, 23.2), and the tags of regional flags (23.9).
JOINERS = frozenset(map(chr, (0x200C, 0x200D, *range(0xE0020, 0xE0080))))
MOST_LETTERS = 1_000  # of a message: well within a screen of 80 by 24
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


def message(text: str) -> str:
    """`text` as one that a terminal shows and does not obey, no longer than a screen: control
    characters and bidirectional marks are written as in TOML, "\\u001B"."""
    if len(text) > MOST_LETTERS:
        text = f"{text[: 2 * MOST_LETTERS // 3]} ... {text[-MOST_LETTERS // 3 :]}"
    return "".join(c if c.isprintable() or c in JOINERS else _escape(ord(c)) for c in text)


def _escape(code: int) -> str:
    return f"\\u{code:04X}" if code < 0x10000 else f"\\U{code:08X}"


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
